"""The watch as lines that only append, for ears: no escape, no carriage return but the line's end, each value labelled, and what nobody
asked for at most twice a minute, however busy the run; a key is answered at once. In a pipe every cue is a line, as ever."""
import re, subprocess, time
from screens import TANK, Terminal, press_until
from wet import BUILD, Daemon, until

d = Daemon()
c = d.start()
c.call("run.rehearse", recipe=TANK, run="creek", rate="10", mine=True)
lines = []  # (when, text)
t = Terminal(d.socket, "--plain", "watch", "--run", "creek")
waiting = b""


def read():
    global waiting
    got = t.read()
    assert b"\033" not in got and b"\b" not in got, got
    assert b"\r" not in got.replace(b"\r\n", b""), got
    waiting += got
    *whole, waiting = waiting.split(b"\n")
    lines.extend((time.monotonic(), line.decode().strip()) for line in whole if line.strip())
    return lines


def seen(*texts):
    until(lambda: any(all(text in line for text in texts) for _, line in read()), texts)


seen("creek: Camera one")
state = re.compile(r"Run: creek\. Stage: [^.]+\.( In it for: \d+:\d\d\.)? Now: .* Then: ")
for _ in range(2):
    before = len([line for _, line in read() if ". Answer: " in line])
    press_until(lambda: t.key(b" "), lambda: len([line for _, line in read() if ". Answer: " in line]) > before, "a key's answer")
    time.sleep(0.2)
t.key(b"w")
seen("Answer: Developer, bottle one")
t.key(b"z")
seen("Refused: That key does nothing here.")
press_until(lambda: t.key(b" "), lambda: any("Developer begins now" in line for _, line in read()), "the developer begins")
until(lambda: len([1 for _, line in read() if state.match(line)]) >= 1, "a line that nobody asked for", 60)
unasked = [(when, line) for when, line in lines if state.match(line) or line.startswith("creek: ")]
for (earlier, _), (later, line) in zip(unasked, unasked[1:]):
    assert later - earlier > 29, (later - earlier, line)
asked = [line for _, line in lines if re.match(r"Time: -?\d+:\d\d\. (Answer|Refused|[A-Z][a-z-]+): ", line)]
known = len(asked) + len(unasked)
assert known + 2 >= len(lines), [line for _, line in lines if line not in asked and not state.match(line)]  # and what the keys are
assert "Pour out in: " in unasked[-1][1] or "Done in: " in unasked[-1][1] or "Now: " in unasked[-1][1]
t.key(b"q")
assert t.end()[0] == 0

piped = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "rehearse", TANK, "--rate", "500", "--pieces", "1", "--run", "pond"],
                       capture_output=True, text=True, stdin=subprocess.DEVNULL)
assert piped.returncode == 0 and "\033" not in piped.stdout and "stage       Second fixer" in piped.stdout, piped.stdout
d.stop()
d.clean()
print(f"{len(lines)} lines, {len(unasked)} of them that nobody asked for")
