"""Pieces into cameras and out of them, and the notebook, through the real socket and client: nothing is shot twice, what was
typed is shown as it was understood, and a correction loses nothing."""
import json, subprocess
from wet import BUILD, Daemon, Refused

d = Daemon()
c = d.start()


def client(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout if status == 0 else p.stderr


for name in ("tin-box-one", "tin-box-two", "tin-box-three"):
    client("camera", "add", name, "--pinhole", "0.3mm", "--distance", "72mm", "--format", "9x12cm")

# -- loading ------------------------------------------------------------------------------------------------------------------
assert "--size 9x12cm" in client("camera", "load", "tin-box-one", "--piece", "7", status=1)  # nobody cut it
text = client("camera", "load", "tin-box-one", "--piece", "7", "--size", "9x12cm", "--box", "creek-box", "--emulsion", "towards", "--safelight", "90s")
assert text.startswith("Piece 7 is in tin-box-one, from creek-box; its emulsion faces the light"), text
assert "AWAY" in client("camera", "load", "tin-box-two", "--piece", "8", "--size", "9x12cm", "--box", "creek-box", "--emulsion", "away")
assert "holds piece 7" in client("camera", "load", "tin-box-one", "--piece", "9", "--size", "9x12cm", status=1)
assert "piece 7 is in tin-box-one" in client("camera", "load", "tin-box-three", "--piece", "7", status=1)
assert "camera of the shelf" in client("camera", "load", "tin-box-nine", "--piece", "9", "--size", "9x12cm", status=1)
assert "towards" in client("camera", "load", "tin-box-three", "--piece", "9", "--size", "9x12cm", "--emulsion", "up", status=2)
assert "which piece" in client("camera", "load", "tin-box-three", status=2)
assert "as in 7" in client("camera", "load", "tin-box-three", "--piece", "07", "--size", "9x12cm", status=2)  # no second 7
first = c.call("camera.load", name="tin-box-three", piece="9", size="9x12cm", box="creek-box", token="once")
assert c.call("camera.load", name="tin-box-three", piece="9", size="9x12cm", box="creek-box", token="once") == first  # asked again after a lost reply
assert len(c.call("piece.list")["pieces"]) == 3

# -- out again: was it exposed? -------------------------------------------------------------------------------------------------
assert "--exposed" in client("camera", "unload", "tin-box-three", status=1)
assert "not exposed" in client("camera", "unload", "tin-box-three", "--unexposed")
assert "is empty" in client("camera", "unload", "tin-box-three", status=1)
client("camera", "load", "tin-box-three", "--piece", "9")
assert "exposed: into the dark" in client("camera", "unload", "tin-box-three", "--exposed")
assert "never twice" in client("camera", "load", "tin-box-three", "--piece", "9", status=1)
client("camera", "load", "tin-box-three", "--piece", "10", "--size", "9x12cm", "--box", "creek-box")
assert "fogged" in client("note", "10", "--fogged")
client("camera", "unload", "tin-box-three", "--unexposed")
assert "is fogged" in client("camera", "load", "tin-box-three", "--piece", "10", status=1)
client("note", "10", "--sound")
client("camera", "load", "tin-box-three", "--piece", "10")
assert "left open" in client("note", "10", "--left-open")

# -- the notebook ---------------------------------------------------------------------------------------------------------------
assert "told once" in client("note", "7", "8s", "tin-box-one", "bright 12s, shaded 60s", "mud", "bank", "with", "posts,", "overcast")  # no meter yet
assert "one entry" not in client("note", "7", "--history")
assert "has its entry" in client("note", "7", "9s", status=1)
assert "one at f/128 index 10" in client("note", "--meter", "f/128 index 10")
assert "as in f/128" in client("note", "--meter", "bright", status=1)
text = client("note", "7", "--change", "bright: 12s, shaded: 60s, doubt: the tin may have moved")
assert "given 8 s in tin-box-one; bright 12s; shaded 60s (meter at f/128 index 10); weather: overcast; subject: mud bank with posts" in " ".join(text.split()), text
assert "IN DOUBT: the tin may have moved" in " ".join(text.split()), text
history = c.call("note.history", piece="7")["revisions"]
assert [r["revision"] for r in history] == [1, 2] and history[0]["doubt"] == "" and history[1]["given_ms"] == 8000, history
assert history[0]["typed"] == '8s tin-box-one "bright 12s, shaded 60s" mud bank with posts, overcast', history[0]["typed"]
# The camera is that of the load; another one is a mistake, of the note or of the load.
assert "loaded into tin-box-two" in client("note", "8", "8s", "tin-box-one", status=1)
note = c.call("note.put", piece="8", text='wind pump? 0:20 "bright EV 11, shaded EV 9" hazy')["note"]
assert (note["camera"], note["given_ms"], note["subject"], note["weather"], note["doubt"]) == ("tin-box-two", 20000, "wind pump", "hazy", "?"), note
assert note["bright_ev100"] is not None
assert "one time" in client("note", "9", "8s", "9s", status=1)
assert "the number of a piece" in client("note", "99", "8s", status=1)
assert "which piece" in client("note", "9", status=2) and "no option" in client("note", "--nothing", status=2)
found = client("note", "--find", "wind", "creek-box")
assert "wind pump" in found and "mud bank" not in found, found
assert "LEFT OPEN" in client("note") and "No entry" in client("note", "--find", "submarine")
assert json.loads(client("note", "--find", "mud", "--json"))["notes"][0]["piece"] == "7"
# A piece that its note says is exposed comes out as exposed, without being asked.
assert "exposed: into the dark" in client("camera", "unload", "tin-box-one")
assert client("note", "9", "camera: -, subject: reeds").startswith("subject: reeds")
once = c.call("note.put", piece="9", text="subject: sluice", change=True, token="note-once")["text"]
assert "sluice" in once and c.call("note.put", piece="9", text="subject: sluice", change=True, token="note-once")["text"] == once
assert "Example: wetside note 7" in client("note", "--help")

# -- boxes ------------------------------------------------------------------------------------------------------------------------
client("camera", "box", "creek-box", "--paper", "creek direct", "--direct-positive", "--paper-index", "3", "--safelight", "deep red", "--tested", "1min")
boxes = c.call("box.list")["boxes"]
assert len(boxes) == 1 and boxes[0]["load_s"] == 90 and boxes[0]["is_past"] and boxes[0]["most_s"] == 90, boxes
assert "PASSED" in client("camera", "boxes")
assert "not both" in client("camera", "box", "x", "--negative", "--direct-positive", status=2)

# An index is set at a meter: by its figures, not in powers of ten.
text = client("judge", "7", "0.5 stop lighter", "--dry")
index = c.call("judgement.suggest")["suggestion"]["index"]
said = float(text.split("the next at index ")[1].split()[0].rstrip("."))
assert index > 100 and "e+" not in text and abs(said / index - 1) < 0.05, (text, index)

# -- out and in again ----------------------------------------------------------------------------------------------------------------
assert "run 0" not in client("cut", "--list") and "cut before" in client("cut", "--list")
client("record", "--export", d.dir + "/all.jsonl")
pieces = c.call("piece.list")
d.kill()
c = d.start()
assert c.call("piece.list") == pieces
other = Daemon()
c2 = other.start()
subprocess.run([f"{BUILD}/client/wetside", "--socket", other.socket, "record", "--import", d.dir + "/all.jsonl"], check=True, capture_output=True)
assert c2.call("note.list") == c.call("note.list") and c2.call("box.list") == c.call("box.list")
for one in (d, other):
    one.stop()
    one.clean()
print("noted")
