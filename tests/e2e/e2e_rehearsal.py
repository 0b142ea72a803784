"""A rehearsed creek session through the real socket with the real binaries; its WAV file, read back here, has every cue
within one sample of its due position, in order, none missing, none extra; and the developer's cues are those of the plan."""
import array, re, sys
from wet import Daemon

d = Daemon()
wav = d.dir + "/session.wav"
d.sound = "file:" + wav
c = d.start()
c.call("changes.follow")
run = c.call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=6, rate="200",
             rates={"handling": "25", "develop": "4", "rinse": "4"})["run"]
cues, begin = {}, {}
state = run
while True:
    for cue in state["cues"]:
        cues[cue["seq"]] = cue
    if state["stage_name"] and state["aim_us"] > 0:
        begin.setdefault(state["stage_name"], state["begin_us"])
    if state["outcome"]:
        break
    m = c.line() if not c.news else c.news.pop(0)
    state = m["params"]
d.stop()

seqs = sorted(cues)
assert seqs == list(range(seqs[0], seqs[-1] + 1)), "a follower missed a cue"
heard = sorted((cues[s] for s in seqs), key=lambda c_: c_["at_us"])
planned_seqs = [c_["seq"] for c_ in heard if c_["word"] not in ("answer", "refused")]
assert planned_seqs == sorted(planned_seqs), "planned cues out of order"

# The plan: minutes of the developer at rate 4, as the recipe and the tank (fill 20 s, drain 20 s) make them.
dev = begin["Developer"]
got = [(c_["word"], round((c_["at_us"] - dev) * 4 / 1e6)) for c_ in heard if dev < c_["at_us"] <= dev + 30.5e6]
want = [("turn", 20), ("rest", 30), ("beat", 45), ("turn", 60), ("rest", 70), ("next", 80), ("pour-out", 100), ("change", 120)]
assert got == want, f"{got} instead of {want}"

data = open(wav, "rb").read()
origin = int(re.search(rb"origin_boot_ns=(\d+)", data).group(1))
at = data.index(b"data")
size = int.from_bytes(data[at + 4:at + 8], "little")
pcm = array.array("h", data[at + 8:at + 8 + size])
ms = {"ALARM": 1200, "CHANGE": 900, "POUR_OUT": 800, "ATTEND": 700, "ANSWER": 120, "REFUSED": 260, "TURN": 340, "REST": 340, "BEAT": 60}
quiet = bytearray(len(pcm))
worst = 0.0
checked = 0


def length_ms(cue):
    if cue["tone"] == "COUNT":
        return 100 + 2 * 250  # spaced as the developer's rate of 4 has it
    return ms.get(cue["tone"]) or 90 + 280 * (cue["pips"] - 1)


for cue in heard:
    due = (cue["at_us"] * 1000 - origin) * 48000 / 1e9
    first, length = round(due), length_ms(cue)
    planned = cue["word"] not in ("answer", "refused")  # those sound as soon as they can
    # Two changes so fast after each other may overlap: a change is never left out. Their onset can't be seen alone.
    alone = all(not (0 <= cue["at_us"] - o["at_us"] <= length_ms(o) * 1000 + 2000) for o in heard if o is not cue)
    if planned and alone:
        on = next(i for i in range(max(0, first - 40), first + 4800) if pcm[i])
        worst = max(worst, abs(on - due))
        checked += 1
    for i in range(max(0, first - (0 if planned else 2400)), min(len(pcm), first + length * 48 + (2 if planned else 2400))):
        quiet[i] = 1
extra = [i for i in range(len(pcm)) if pcm[i] and not quiet[i]]
print(f"{checked} planned cues, worst onset {worst:.2f} samples, {len(extra)} samples of extra sound")
assert checked > 18
assert worst <= 1.5, "an onset is off by more than a sample (and the microsecond's rounding)"
assert not extra, f"sound where none is due, from sample {extra[0]}"
d.clean()
