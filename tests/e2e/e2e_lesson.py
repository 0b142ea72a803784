#!/usr/bin/env python3
"""`sound`: the list and its rules; the lesson that plays and names each, asks in random order, repeats what was missed and ends with the
score; without a terminal; and never while somebody goes by what sounds."""
import json, os, re, signal, subprocess
import wet
from terminal import Terminal

d = wet.Daemon(sound="none")
c = d.start()
CLIENT = [wet.BUILD + "/client/wetside", "--socket", d.socket]


def run(*args, status=0):
    done = subprocess.run([*CLIENT, *args], capture_output=True, text=True)
    assert done.returncode == status, (args, done)
    return done.stdout + done.stderr


text = run("sound")
assert "Two rules: rising is do it" in text and "wetside sound --teach" in text, text
tones = c.call("sound.play")["tones"]
assert all(t["name"] in text and t["text"] in text for t in tones)
assert len({t["sound"] for t in tones}) == 7, "seven sounds"
assert "the long last note" in run("sound", "pour-out") and "ATTEND" not in run("sound", "pour-out")
assert "--teach stands alone" in run("sound", "--teach", "CHANGE", status=2)
taught = [t for t in tones if t["is_taught"]]

# Each is played and named; then the learner answers, wrong on purpose with two of them, and hears those again.
t = Terminal([*CLIENT, "sound", "--teach"])
keys = {}
for tone in taught:
    name = tone["name"].lower().replace("_", " ")
    t.until(f"{name}: {tone['text']}.")
    keys[re.findall(rf"^(\d)  {name}:", t.text, re.M)[0]] = name
    if len(keys) == 3:
        t.key("x")  # any other key: once more
        t.until(f"{name}: {tone['text']}.")
    t.key("\n")
assert len(keys) == len(taught) == 10, keys
t.until("Now the other way round")
first, asked, said = {}, 0, ""
while said != "right at first hearing.":
    t.key("1")
    said = t.until("Right:", "No:")
    t.until(".")
    key, name = re.findall(r"(?:Right|No): (\d), ([a-z ]+)\.", t.text)[-1]
    assert keys[key] == name and (said == "Right:") == (key == "1")
    first.setdefault(name, said == "Right:")
    asked += 1
    if asked == len(taught) + 2:  # of those that were missed; and that is enough
        t.key("q")
        said = t.until("right at first hearing.")
assert len(first) == len(taught) and list(first.values()).count(True) == 1, first
t.end()
assert t.status == 0 and "1 of 10 right at first hearing. Missed:" in " ".join(t.text.split()), t.text
assert "Once more, what was missed:" in t.text

# It is left at any time, and gives the terminal back.
for way in ("q", "\x03"):
    t = Terminal([*CLIENT, "sound", "--teach"])
    t.until("1 ")
    t.until(".")
    t.key(way)
    assert t.end() == 0

# With nobody to ask, and for programs.
done = subprocess.Popen([*CLIENT, "--no-input", "sound", "--teach"], stdout=subprocess.PIPE, text=True, bufsize=1)
assert done.stdout.readline().startswith("Two rules")
done.send_signal(signal.SIGTERM)
done.wait(20)

# Not while a picture lies in the bath; and where one begins in the middle of it nothing more is written.
t = Terminal([*CLIENT, "sound", "--teach"])
t.until("1 ")
t.until("no sound was asked for")
c.call("safety.acknowledge", name="direct-positive-fibre-tank", person="Ada")
c.call("run.arm", recipe="direct-positive-fibre-tank", pieces=1, person="Ada")
c.call("run.begin", unheard=True)
before = len(t.text)
t.key("\n")
assert t.end() == 1 and t.text[before:] == "", t.text[before:]
assert "Not while a run is live" in run("sound", "--teach", status=1)
assert "ATTEND" in run("sound"), "the list may be read"
d.stop()
d.clean()
