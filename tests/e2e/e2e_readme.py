"""README's own commands, from a fresh ledger, word for word."""
import shlex
from wet import *

text = open(SOURCE + "/README.md").read().split("## What do I mix?")[1].split("\n## ")[0]
lines = [line.strip() for line in text.splitlines() if line.startswith("    wetside ")]
assert len(lines) > 5 and any("wetside plan" in line for line in lines), lines
d = Daemon()
d.start()


def run(words):
    return subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket] + words, capture_output=True, text=True,
                          stdin=subprocess.DEVNULL)


for line in lines:
    said = run(shlex.split(line)[1:])
    assert said.returncode == 0 and not said.stderr, (line, said)
assert "2 loads of 3" in said.stdout and "hot water of 50 C" in said.stdout and "Kept as evening." in said.stdout, said.stdout
assert run(["bath", "list", "--size", "9x12cm"]).returncode == 0
d.stop()
d.clean()
print(f"{len(lines)} commands of README's plan")
