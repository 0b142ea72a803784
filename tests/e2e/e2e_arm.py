#!/usr/bin/env python3
"""`arm` as one conversation at a terminal: from a fresh ledger to begin and dark, a repeat in two presses, leaving in the middle in
every way, a daemon started anew, what is recorded and exported; narrow terminals; scripts."""
import json, os, re, select, signal, socket, subprocess, sys, threading, time
import wet
from terminal import Terminal

TANK = "direct-positive-fibre-tank"
d = wet.Daemon()
c = d.start()
CLIENT = [wet.BUILD + "/client/wetside", "--socket", d.socket]


def run(*args, status=0):
    done = subprocess.run([*CLIENT, *args], capture_output=True, text=True)
    assert done.returncode == status, (args, done)
    return done.stdout + done.stderr


def conversation(*args, columns=80, person="Ada"):
    return Terminal([*CLIENT, "arm", *args, "--person", person], columns)


def say_number(t, heard):
    """Nobody tells a test what was said: it names one after the other, and a wrong one is played again."""
    for number in "23456":
        t.key(number)
        if t.until(heard, "listen again") == heard:
            return
    raise AssertionError(t.text)


def walk(t, to=99, skip=(), first=1):
    """Item by item, all that is asked; returns how many."""
    if first == 1:
        t.until("Armed as tank.")
    items = [i["how"] for i in c.call("checklist.get", run="tank")["items"]]
    for at, how in enumerate(items[first - 1:to], first):
        t.until(f"{at} of {len(items)}.")
        if how == "readings":
            answer_readings(t)
        if at in skip:
            t.key("s")
            t.until("Skipped")
        elif how == "number":
            say_number(t, "Heard.")
        elif how == "emergency":
            t.key("\n")
            t.until("The emergency key is e")
            t.key("e")
            t.until("Found.")
        else:
            t.key("\n")
            t.until("Yes.")
    return len(items)


def answer_readings(t):
    typed = {"developer": (("68F", "Developer 68 F"),), "first-fixer": (("cold", "temperature"), ("24C", "First fixer 24 C"))}
    for bath in c.call("checklist.get", run="tank")["baths"]:
        t.until(f"{bath['name']}, {bath['place']}")
        t.until("?")
        for text, back in typed.get(bath["key"], (("", ""),)):
            t.line(text)
            if back:
                t.until(back)
    t.until("more than 3 C apart")


def answers(number):
    return {a["key"]: a for a in c.call("record.get", run=number)["checklist"]}


def stays_black(t, before):
    """Cleared to black before begin, and not a byte after. A key that would leave does nothing: the shell would write."""
    t.read(0.3)
    black = re.sub(r"\033(\[[0-9;?]*[a-zA-Z]|\(B)", "", t.text[before:])
    assert black == "" and "\033[2J" in t.text[before:], t.text[before:]
    before = len(t.text)
    t.key("q")
    t.read(0.3)
    os.kill(t.pid, signal.SIGTERM)
    assert t.end() == -signal.SIGTERM and t.text[before:] == "", t.text[before:]


# From nothing to begin. The note stands in full, once; in the dark nothing more is written.
t = conversation(TANK, "--pieces", "6")
t.until("Enter: I have read it")
assert "Causes serious eye irritation" in " ".join(t.text.split())
t.key("\n")
count = walk(t, skip=(5,))
t.until("Skipped, and so recorded: - Other lights off")
t.until("begins. q: not yet")
before = len(t.text)
t.key("\n")
wet.until(lambda: c.call("status.get")["runs"][0]["phase"] == "handling", "it has begun")
stays_black(t, before)
got = answers(1)
assert len(got) == count and got["other-lights"]["answer"] == "skipped" and got["sound"]["answer"] == "confirmed", got
assert {a["answer"] for a in got.values()} == {"confirmed", "skipped"} and {a["person"] for a in got.values()} == {"Ada"}
run("abandon", "--run", "tank", "--held")
text = run("record", "1")
assert "Other lights off" in text and "skipped by Ada" in text, text

# What was skipped then does not stand: item by item once more, the note in one line.
t = conversation(TANK, "--pieces", "6")
t.until("Safety note: read and acknowledged")
walk(t)
t.until("All of the list is confirmed.", "begins. q: not yet")
t.key("q")
t.until("tank stays ready")
assert t.end() == 1
assert c.call("status.get")["runs"][0]["phase"] == "ready"
run("abandon", "--run", "tank")

# All was confirmed within this day: two presses, the number and Enter. Enter alone, from habit, begins nothing.
t = conversation(TANK, "--pieces", "6")
t.until("From then stands:")
t.until("Press it: that says")
t.key("\n")
t.until("Press it: that says")
say_number(t, "begins. q: not yet")
before = len(t.text)
t.key("\n")
wet.until(lambda: c.call("status.get")["runs"][0]["phase"] == "handling", "it has begun")
stays_black(t, before)
got = answers(3)
assert {a["answer"] for a in got.values()} == {"stands", "confirmed"}, got
assert got["vessel"]["answer"] == "confirmed" and got["gloves"]["since_ms"] < got["gloves"]["wall_ms"], got
run("abandon", "--run", "tank", "--held")

# Begin is refused after the screen was made black, as the sound is to be heard of the next daemon: at the second Enter it is black too.
t = conversation(TANK, "--pieces", "6")
t.until("Press it: that says")
say_number(t, "begins. q: not yet")
d.kill()
c = d.start()
t.key("\n")
hows = [i["how"] for i in c.call("checklist.get", run="tank")["items"]]
walk(t, first=hows.index("number") + 1)
t.until("begins. q: not yet")
before = len(t.text)
t.key("\n")
wet.until(lambda: c.call("status.get")["runs"][0]["phase"] == "handling", "it has begun")
stays_black(t, before)
run("abandon", "--run", "tank", "--held")

# Another's hands, another room, another vessel: nothing stands.
for other in (("--room", "cellar"), ("--fill", "25s", "--drain", "20s", "--vessel", "other")):
    t = conversation(TANK, "--pieces", "6", *other)
    t.until("Armed as tank.")
    t.until("1 of ")
    assert "From then stands" not in t.text
    os.kill(t.pid, signal.SIGINT)
    t.until("tank stays ready")
    assert t.end() == 1
    run("abandon", "--run", "tank")

# Left in the middle, whatever way: the run is ready, the answers are kept, and it goes on where it was.
for way in ("hang-up", "kill", "term", "daemon"):
    t = conversation(TANK, "--pieces", "6", "--room", way)
    walk(t, to=4)
    t.until("5 of ")
    if way == "hang-up":
        t.hang_up()
    elif way == "kill":
        os.kill(t.pid, signal.SIGKILL)
        assert t.end() == -signal.SIGKILL
    elif way == "term":
        os.kill(t.pid, signal.SIGTERM)
        assert t.end() == 1
    else:  # the daemon, under it: the conversation goes on with the next one, and the sound is heard anew
        d.kill()
        c = d.start()
        t.key("\n")
        t.until("Yes.")
        t.until("6 of ")
        t.key("q")
        assert t.end() == 1
    assert c.call("status.get")["runs"][0]["phase"] == "ready"
    t = Terminal([*CLIENT, "arm", "--go-on", "tank", "--person", "Ada"])
    t.until("4 of " if way == "daemon" else "5 of ")
    os.kill(t.pid, signal.SIGQUIT)
    t.until("Go on: wetside arm --go-on tank.")
    assert t.end() == 1
    run("abandon", "--run", "tank")
assert "needs a terminal" in run("arm", "--go-on", "tank", status=2)

# A real emergency in the middle is one: at a key, big or small, and in a line that is being typed, at once; not within a word.
for before, keys in (("1 of ", "e"), ("1 of ", "E"), ("one band?", "e"), ("one band?", "21E")):
    t = conversation(TANK, "--pieces", "6", "--room", "e")
    t.until("1 of ")
    if before != "1 of ":
        t.key("\n")
        t.until(before)
        t.line("20 degrees of heat")
        t.until("needed: 20 degrees of heat")
    t.key(keys)
    t.until("Lights on. Get out")
    t.end()
    assert c.call("status.get")["runs"][0]["phase"] == "interrupted"
    run("abandon", "--run", "tank")

# Somebody else's paper lies open in the room by then: a key is answered by nothing, but the emergency key by its words.
for key, words in (("s", False), ("e", True)):
    t = conversation(TANK, "--pieces", "6", "--room", "ours")
    t.until("1 of ")
    t.until("Washing aid.")  # its last words: what comes behind them is the key's
    c.call("run.arm", recipe=TANK, pieces=1, person="Ada", run="theirs", room="ours")
    c.call("run.begin", run="theirs", unheard=True)
    before = len(t.text)
    t.key(key)
    t.end()
    assert ("Lights on. Get out" in t.text[before:]) == words and (words or t.text[before:].strip() == ""), t.text[before:]
    for name in ("theirs", "tank"):
        c.call("run.abandon", run=name, held=True)

# The daemon is gone when a key is answered: that is said, and the conversation ends.
t = conversation(TANK, "--pieces", "6", "--room", "gone")
t.until("1 of ")
d.kill()
t.key("\n")
t.until("start it: wetsided", "tank stays ready")
assert t.end() == 1, t.text
c = d.start()

# It goes on Enter, after the screen was made black: whether it has begun nobody knows. Not a byte is written until a daemon says it; the
# emergency key has its words.
def relay(path, loses):
    """Between the client and the daemon; when begin comes it goes, with what it was told or without."""
    server = socket.socket(socket.AF_UNIX)
    server.bind(path)
    server.listen()

    def carry():
        while True:
            client, _ = server.accept()
            daemon = socket.socket(socket.AF_UNIX)
            daemon.connect(d.socket)
            while True:
                ready = select.select([client, daemon], [], [])[0]
                data = ready[0].recv(65536)
                if b"run.begin" in data:
                    if not loses:
                        daemon.sendall(data)
                        daemon.recv(65536)
                    os.unlink(path)
                    client.close()
                    server.close()
                    return
                if not data:
                    break
                (daemon if ready[0] is client else client).sendall(data)
    threading.Thread(target=carry, daemon=True).start()


for loses, is_emergency in ((True, False), (False, False), (True, True)):
    if c.call("status.get")["runs"][0]["outcome"]:
        c.call("run.arm", recipe=TANK, person="Ada", run="tank")
    for item in c.call("checklist.get", run="tank")["items"]:
        c.call("checklist.answer", run="tank", key=item["key"], answer="skipped")
    relay(d.dir + "/between", loses)
    t = Terminal([CLIENT[0], "--socket", d.dir + "/between", "arm", "--go-on", "tank", "--person", "Ada"])
    t.until("begins. q: not yet")
    before = len(t.text)
    t.key("\n")
    wet.until(lambda: not os.path.exists(d.dir + "/between"), "begin")
    t.key("x")
    t.read(0.5)
    t.read(0.5)
    black = len(t.text)
    assert re.sub(r"\033(\[[0-9;?]*[a-zA-Z]|\(B)", "", t.text[before:]) == "", t.text[before:]
    if is_emergency:
        t.key("e")
        t.until("Lights on. Get out")
        t.end()
    else:
        os.symlink(d.socket, d.dir + "/between")
        wet.until(lambda: c.call("status.get")["runs"][0]["phase"] == "handling", "it has begun")
        t.key("q")
        t.read(0.5)
        assert t.text[black:] == "", t.text[black:]
        os.kill(t.pid, signal.SIGTERM)
        t.end()
        os.unlink(d.dir + "/between")
    run("abandon", "--run", "tank", "--held")

# The same at the watch's page, where another key came behind it before the end of the daemon was seen.
c.call("run.arm", recipe=TANK, person="Ada", run="tank")
for item in c.call("checklist.get", run="tank")["items"]:
    c.call("checklist.answer", run="tank", key=item["key"], answer="skipped")
relay(d.dir + "/between", False)
t = Terminal([CLIENT[0], "--socket", d.dir + "/between", "watch", "--run", "tank"])
t.until("? keys")
before = len(t.text)
os.write(t.fd, b" w")
wet.until(lambda: not os.path.exists(d.dir + "/between"), "begin")
for _ in range(5):
    t.read(0.2)
black = re.sub(r"\033(\[[0-9;?]*[a-zA-Z]|\(B)", "", t.text[before:])
assert black == "" and c.call("status.get")["runs"][0]["phase"] == "handling", t.text[before:]
os.kill(t.pid, signal.SIGKILL)
t.end()
run("abandon", "--run", "tank", "--held")

# A line that is left: q, or too long; what is too much of it answers nothing.
t = conversation(TANK, "--pieces", "6", "--room", "q")
t.until("1 of ")
t.key("\n")
t.until("one band?")
t.line("2" * 70 + "21C")
t.until("too long")
t.line("q")
t.until("tank stays ready")
assert t.end() == 1 and "21 C" not in t.text, t.text
run("abandon", "--run", "tank")

# Narrow and plain: no line is wider than the terminal, no byte moves the cursor, and no word is lost.
for columns in (40, 80):
    t = conversation(TANK, "--pieces", "6", "--room", "narrow", columns=columns, person=f"Jo{columns}")
    t.until("Enter: I have read it")
    t.key("s")
    t.key("q")
    assert t.end() == 1, "a note that must be read was not"
    assert "Armed" not in t.text, t.text
    assert all(len(line) < columns for line in t.text.split("\n")), t.text
    assert "\x1b" not in t.text and "\b" not in t.text
    page = c.call("safety.get", name=TANK)["note"]
    assert set(page.split()) <= set(t.text.split()), set(page.split()) - set(t.text.split())

# Scripts are asked nothing.
text = run("arm", TANK, "--pieces", "6", "--person", "Ada", "--yes")
assert "[ ] Vessel dry and complete" in text and "Assumed, as of --yes" in text and "Safety note: read" in text, text
got = answers(c.call("status.get")["runs"][0]["id"])
assert {a["answer"] for a in got.values()} == {"assumed"} and "sound" not in got, got
run("begin", "--run", "tank", "--unheard")
got = answers(c.call("status.get")["runs"][0]["id"])
assert got["sound"]["answer"] == "skipped", got
run("abandon", "--run", "tank", "--held")
t = Terminal([*CLIENT, "--no-input", "arm", TANK, "--pieces", "6", "--person", "Ada"])
assert t.end() == 0 and "wetside begin --run tank --heard N" in " ".join(t.text.split()), t.text
run("abandon", "--run", "tank")
for bad in ([dict(answer="confirmed", key="sound")], [dict(answer="stands", key="gloves")], [dict(answer="confirmed", key="tide")],
            [dict(answer="confirmed")], [dict(answer="maybe", key="gloves")]):
    c.call("run.arm", recipe=TANK, pieces=1, person="Ada", run="bad")
    try:
        c.call("checklist.answer", run="bad", **bad[0])
        raise AssertionError(bad)
    except wet.Refused:
        pass
    c.call("run.abandon", run="bad")

# Out and in again: the answers go with their run, and twice is once.
file = d.dir + "/creek.jsonl"
run("record", "--export", file)
rows = [json.loads(line) for line in open(file)]
assert sum(r.get("row") == "check" for r in rows) > 3 * count
other = wet.Daemon()
c2 = other.start()
there = ["--socket", other.socket, "record"]
for new in (True, False):
    done = subprocess.run([CLIENT[0], "--json", *there, "--import", file], capture_output=True, text=True)
    assert done.returncode == 0, done
    assert (json.loads(done.stdout)["new"]["run"] > 0) == new, done
assert c2.call("record.get", run=1)["checklist"] == c.call("record.get", run=1)["checklist"]
file2 = d.dir + "/again.jsonl"
subprocess.run([CLIENT[0], *there, "--export", file2], check=True, capture_output=True)
assert [r for r in map(json.loads, open(file2)) if r.get("row") == "check"] == [r for r in rows if r.get("row") == "check"]
other.stop()
d.stop()
subprocess.run([wet.BUILD + "/daemon/wetsided", "--ledger", d.ledger, "--check"], check=True)
d.clean()
other.clean()
