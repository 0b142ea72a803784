"""rehearsal.py: a rehearsed creek session, what was planned of it, and what a recording holds of it."""

MS = {"ALARM": 1200, "CHANGE": 900, "POUR_OUT": 800, "ATTEND": 700, "ANSWER": 120, "REFUSED": 260, "TURN": 340,
      "REST": 340, "BEAT": 60}
UNPLANNED = ("answer", "refused")  # those sound as soon as they can
RATES = {"handling": "25", "develop": "4", "rinse": "4"}


def length_ms(cue):
    if cue["tone"] == "COUNT":
        return 100 + 2 * 250  # spaced as the developer's rate of 4 has it
    return MS.get(cue["tone"]) or 90 + 280 * (cue["pips"] - 1)


def rehearse(c):
    """Rehearses the tank to its end. Gives every cue in the order of time and when each bath began (boot time, us)."""
    c.call("changes.follow")
    state = c.call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=6, rate="200", rates=RATES)["run"]
    cues, begin = {}, {}
    while True:
        for cue in state["cues"]:
            cues[cue["seq"]] = cue
        if state["stage_name"] and state["aim_us"] > 0:
            begin.setdefault(state["stage_name"], state["begin_us"])
        if state["outcome"]:
            break
        state = (c.news.pop(0) if c.news else c.line())["params"]
    seqs = sorted(cues)
    assert seqs == list(range(seqs[0], seqs[-1] + 1)), "a follower missed a cue"
    heard = sorted((cues[s] for s in seqs), key=lambda cue: cue["at_us"])
    told = [cue["text"] for cue in heard if cue["word"] in ("sound", "order", "alarm")]
    assert not told, f"nothing went wrong, yet the person was told: {told}"
    planned = [cue["seq"] for cue in heard if cue["word"] not in UNPLANNED]
    assert planned == sorted(planned), "planned cues out of order"
    return heard, begin


def check_developer(heard, begin):
    """The plan: minutes of the developer at rate 4, as the recipe and the tank (fill 20 s, drain 20 s) make them."""
    dev = begin["Developer"]
    got = [(cue["word"], round((cue["at_us"] - dev) * 4 / 1e6)) for cue in heard if dev < cue["at_us"] <= dev + 30.5e6]
    want = [("turn", 20), ("rest", 30), ("beat", 45), ("turn", 60), ("rest", 70), ("next", 80), ("pour-out", 100),
            ("change", 120)]
    assert got == want, f"{got} instead of {want}"


def judge(heard, pcm, frame_of, slack):
    """Looks for each cue in the samples. frame_of: boot time in us to a frame, not rounded. slack: how many frames an
    onset may be away from its due frame and still be looked for; planned sound further away is extra.

    Gives, of each planned cue whose onset can be seen alone, by how many frames it is late; and the frames of sound
    where none is due."""
    quiet = bytearray(len(pcm))
    late = []
    for cue in heard:
        due = frame_of(cue["at_us"])
        first, length = round(due), length_ms(cue)
        planned = cue["word"] not in UNPLANNED
        # Two changes so fast after each other may overlap: a change is never left out. Their onset can't be seen alone.
        clear_us = 2000 + 2 * slack * 1e6 / 48000
        alone = all(not (0 <= cue["at_us"] - o["at_us"] <= length_ms(o) * 1000 + clear_us) for o in heard if o is not cue)
        if planned:
            on = next((i for i in range(max(0, first - slack), min(len(pcm), first + slack + 1)) if pcm[i]), None)
            assert on is not None, f"{cue['word']} (cue {cue['seq']}) does not sound at its time"
            if alone:
                late.append(on - due)
        before, after = (slack, slack) if planned else (2400, 2400)
        for i in range(max(0, first - before), min(len(pcm), first + length * 48 + after)):
            quiet[i] = 1
    return late, [i for i in range(len(pcm)) if pcm[i] and not quiet[i]]
