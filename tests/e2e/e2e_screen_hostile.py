"""Names and sentences as bad as the wire lets them through, told by a daemon that is none of ours: every control, bidirectional and
title-setting character, by themselves and in sequences. They change no state of a terminal: of the bytes written none is
outside what the page is drawn with, and tmux and pyte have the title and the modes they had. A line that is not UTF-8 is no daemon's."""
import json, os, random, re, socket, threading
from screens import Terminal, Tmux, need_emulator, press_until
from wet import BUILD, until
import tempfile

need_emulator()
folder = tempfile.mkdtemp(prefix="wetside-e2e.")
path = folder + "/socket"
BAD = [chr(n) for n in (*range(1, 32), *range(127, 160), 0x200E, 0x200F, *range(0x2028, 0x202F), *range(0x2060, 0x2070), 0xFEFF, 0xFFF9, 0xFFFB,
                        0xE0001, 0xE0041, 0x0301, 0x20DD)]
WHOLE = ["\033]0;owned\007", "\033]2;owned\033\\", "\u009d0;owned\u009c", "\033[?1049l", "\033c", "\033[2J", "\033P+q544e\033\\", "\033[6n",
         "\033]52;c;aGk=\007", "\033[?25h", "\033(0", "\016", "\033#8", "\033[!p", "\u009b2J", "\033[8;5;5t", "\033[20h", "\033_x\033\\", "\u202e", "e\u0301" * 40,
         "\u0301", "\u6697\u5ba4" * 30, "x" * 400]
sent = answered = 0
is_broken = False


def text(r):
    return "".join(r.choice((r.choice(BAD), r.choice(WHOLE), "pour ", "4:00")) for _ in range(r.randint(1, 12)))


def run(r, number=0):
    def bad():
        return text(r)
    return {"id": 1, "name": "creek", "recipe": bad(), "phase": r.choice(["before least", "waiting", "pouring", "interrupted", bad()]),
            "outcome": "", "stage": r.randint(-1, 3), "stage_name": bad(), "doing": bad(), "hands": bad(), "next": bad(), "order": r.choice(["", bad()]),
            "doubt": bad(), "light": bad(), "room": bad(), "temperature": bad(), "warmth": bad(), "end": bad(), "number": number, "rate": r.choice([1.0, 100, -1, 1e300]),
            "now_us": 1, "begin_us": r.choice([-1, 1, 2**62]), "hands_us": r.choice([-1, 2**62, 2**63 - 1, -2**63]), "pour_out_us": r.choice([-1, 2**62]),
            "aim_us": r.choice([-1, 2**62]), "is_stored": True, "cues": [{"seq": number + 1, "at_us": 0, "word": bad(), "text": bad()}]}


def serve(client):
    r = random.Random(3)
    lines = client.makefile("rb")
    global sent, answered
    try:
        for line in lines:
            m = json.loads(line)
            answered += m["method"] == "changes.follow"
            result = {"status.get": {"runs": [run(r)], "dark": [], "dark_count": 0, "sound": {"health": text(r), "text": text(r)}},
                      "run.stages": {"stages": [{"name": text(r), "kind": text(r), "time": text(r), "is_done": False} for _ in range(5)]}}
            client.sendall(json.dumps({"jsonrpc": "2.0", "id": m["id"], "result": result.get(m["method"], {})}).encode() + b"\n")
            if m["method"] == "run.where":
                if is_broken:
                    client.sendall(b'{"jsonrpc": "2.0", "method": "run.changed", "params": {"id": 1, "doing": "\xff\xfe"}}\n')
                    continue
                for _ in range(100):
                    sent += 1
                    client.sendall(json.dumps({"jsonrpc": "2.0", "method": "run.changed", "params": run(r, sent)},
                                              ensure_ascii=sent % 2 == 0).encode() + b"\n")
    except OSError:
        pass


listener = socket.socket(socket.AF_UNIX)
listener.bind(path)
listener.listen(8)


def accept():
    while True:
        client, _ = listener.accept()
        threading.Thread(target=serve, args=(client,), daemon=True).start()


threading.Thread(target=accept, daemon=True).start()

# What the page is drawn with: movement, erasing, attributes, modes of the beginning and the end. Then characters.
DRAWN = re.compile(rb"\033\[\??[0-9;]*[ABCDGHJKPX@dhlmrt]|\033\([B0]|\033[=>]|[\r\n\b]")
t = Terminal(path, "watch")
t.draw()
titles = []
t.screen.set_title = titles.append
t.screen.set_icon_name = titles.append
all_bytes = b""
for i in range(60):
    before = sent
    t.resize(5 + i % 40, 20 + i)
    t.screen.resize(5 + i % 40, 20 + i)
    t.key(b"wx"[i % 2:i % 2 + 1] if i % 2 else b"w")
    until(lambda: sent > before or i % 2, "bad news")
    got = t.read()
    all_bytes += got
until(lambda: sent >= 2000, "enough of it")
got = t.read()
all_bytes += got
is_broken = True
before = answered
press_until(lambda: t.key(b"w"), lambda: answered > before, "another daemon is looked for, this one speaks no UTF-8")
is_broken = False
all_bytes += t.read()
t.key(b"q")
status, last = t.end()
all_bytes += last
assert status == 0, status
rest = DRAWN.sub(b"", all_bytes).decode("utf-8")
odd = sorted({c for c in rest if ord(c) < 32 or 127 <= ord(c) < 160 or c in "\u200e\u200f\u2028\u2029\ufeff" or 0x202A <= ord(c) <= 0x202E or
              0x2066 <= ord(c) <= 0x2069 or ord(c) >= 0xE0000})
assert not odd, [hex(ord(c)) for c in odd]
assert not titles, titles
assert all_bytes.count(b"\033[?1049h") == 1 and all_bytes.count(b"\033[?1049l") == 1

real = Tmux(folder)
found = real.state()
for words in ("watch", "--plain watch"):
    real.type(f"clear; {BUILD}/client/wetside --socket {path} {words}")
    until(lambda: real.state().startswith("1 0") or "Keys: space" in real.text(), "the watch")
    before = sent
    real.key("w")
    until(lambda: sent >= before + 100, "bad news")
    real.key("x")
    title = real.run("display", "-p", "-t", "w", "#{pane_title}#{window_name}")
    assert "owned" not in title, title
    real.key("q")
    until(lambda: real.state() == found, "the terminal as it was")
real.end()
print(f"{sent} hostile states; title, modes and cursor as they were")
