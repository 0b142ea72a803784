"""rules.py: what a hands-free rehearsal of a closed-tank recipe must sound like, from the recipe file, the vessel's times and
when it was begun. A second implementation of the rules of cues, short and for the whole session at once; it shares nothing
with daemon/process but the words of the rules: README.md, "What you hear", and include/wetside/{cues,tones}.h.

A closed tank, without readings (each law then runs at its reference), without acts but the rehearsal's own keys."""
import json, re

RANK = {"ALARM": 0, "CHANGE": 1, "POUR_OUT": 2, "COUNT": 3, "ATTEND": 4, "ANSWER": 5, "PIPS": 5, "TURN": 6, "REST": 7, "BEAT": 8}
LENGTH_MS = {"ALARM": 1200, "CHANGE": 900, "POUR_OUT": 800, "ATTEND": 700, "ANSWER": 120, "REFUSED": 260, "TURN": 340, "REST": 340,
             "BEAT": 60}
GAP_MS, BEAT_CLEAR_MS = 200, 3000
QUIET_KINDS = ("wash", "washing-aid")


def seconds(text):
    """"1:30", "90 s", "3 min", "20:00", "34012 ms"."""
    if ":" in text:
        total = 0.0
        for part in text.split(":"):
            total = total * 60 + float(part)
        return total
    unit = {"ms": 0.001, "s": 1, "min": 60, "h": 3600}
    return sum(float(number) * unit[name] for number, name in re.findall(r"([\d.]+) ?(ms|min|s|h)\b", text))


def spacing_ms(rate):
    """Of the pips of a count-down: a second of the run's time, never under 150 ms."""
    return max(150.0, 1000.0 / rate)


def length_ms(tone, pips, rate):
    if tone == "COUNT":
        return 2 * spacing_ms(rate) + 100
    return (pips - 1) * 280 + 90 if tone == "PIPS" else LENGTH_MS[tone]


class Cue:
    def __init__(self, at, tone, why, rate, pips=1):
        self.at, self.tone, self.why, self.rate, self.pips = at, tone, why, rate, pips
        self.length = length_ms(tone, pips, rate) / 1000

    def __repr__(self):
        return f"{self.why} ({self.tone}{self.pips if self.pips > 1 else ''}) at {self.at:.3f}"


def agitation(text):
    """(opening, burst) in seconds of each minute; None: none; "continuous"."""
    if text in ("none", "continuous"):
        return None if text == "none" else text
    opening, burst = re.fullmatch(r"(.+), then (.+) each minute", text).groups()
    return seconds(opening), seconds(burst)


class Session:
    """Walks through the stages in run time and notes each cue in real seconds since begin."""

    def __init__(self, recipe, pieces, rate_of, fill=None, drain=None):
        assert recipe["vessel"]["kind"] == "closed-tank"
        self.recipe, self.pieces, self.rate_of = recipe, pieces, rate_of
        self.fill = seconds(recipe["vessel"]["fill"]) if fill is None else fill
        self.drain = seconds(recipe["vessel"]["drain"]) if drain is None else drain
        self.now, self.rate, self.cues = 0.0, 1, []
        stages = recipe["stages"]
        self.began = []  # (name of the bath, when)
        for i, stage in enumerate(stages):
            following = stages[i + 1] if i + 1 < len(stages) else None
            if stage["kind"] == "handling":
                self.handle(stage, stages[i + 1])
            else:
                self.bath(stage, following)
        self.cues.sort(key=lambda cue: cue.at)

    def add(self, run_after, tone, why, pips=1):
        self.cues.append(Cue(self.now + run_after / self.rate, tone, why, self.rate, pips))

    def handle(self, stage, following):
        """Ten seconds an act, of the run's time."""
        self.rate = self.rate_of("handling")
        self.add(1, "ATTEND", "handle")
        each = self.pieces if stage["each"] == "piece" else 1
        for piece in range(1, each + 1):
            self.now += 10 / self.rate
            if piece < each:
                # Too fast to be counted before the next key: a plain answer.
                can = length_ms("PIPS", piece, 1) + GAP_MS <= 10000 / self.rate
                self.add(0, "PIPS" if can else "ANSWER", "key", piece if can else 1)
        self.add(0, "ANSWER", "key")  # into the next stage
        if following["kind"] == "handling":
            return
        if stage.get("lid_on"):
            self.add(2, "ATTEND", "lights")
        self.add(5, "ATTEND", "stand-by")
        self.now += 20 / self.rate
        self.next_begin = "key"

    def bath(self, stage, following):
        """From the begin to the end of a bath, and into the next one if that goes straight on."""
        self.rate = self.rate_of(stage["kind"])
        is_quiet, in_tank = stage["kind"] in QUIET_KINDS, not stage.get("in_washer")
        fill, drain = (self.fill, self.drain) if in_tank else (0, 0)
        aim = self.aim(stage, fill + drain)
        waits = following is None or following["kind"] == "handling" or following["begin"] == "on-go"
        pour_out = aim if waits else aim - drain
        self.add(0, "CHANGE" if self.next_begin == "change" else "ANSWER", self.next_begin)
        self.began.append((stage["name"], self.now))
        end = aim + (10 if waits else 0)  # the rehearsal's own key
        self.agitate(agitation(stage["agitation"]), fill, pour_out)
        if not is_quiet and self.rate <= 5:
            at = 15
            while at < (end if waits else pour_out):
                self.add(at, "BEAT", "beat")
                at += 15
        if aim > 180:
            self.add(pour_out - 60, "ATTEND", "last-minute")
        if waits:
            at = aim
            while at < end:
                self.add(at, "ATTEND", "pour-ready")
                at += 60
        else:
            self.add(pour_out - (10 if aim < 90 else 20), "ATTEND", "next")
            self.add(pour_out - 3, "COUNT", "count")
            self.add(pour_out, "POUR_OUT", "pour-out")
        self.now += end / self.rate
        self.next_begin = "key" if waits else "change"
        if following is None:
            self.rate = 1
            self.add(0, "ANSWER", "key")

    def aim(self, stage, change_over):
        """Raised to fit fill and drain, where nothing decides how long the bath must be."""
        aim = seconds(stage["aim"])
        if stage["kind"] in ("develop", "redevelop") and stage.get("law") != "none":
            return aim
        return min(max(aim, change_over + 20), seconds(stage["most"]))

    def agitate(self, plan, fill, pour_out):
        """What the fill leaves of the opening, at least ten seconds; minutes from the start; rest before pour-out."""
        last = pour_out - 10
        if plan is None:
            return
        if plan == "continuous":
            if 0 < fill < last:
                self.add(fill, "TURN", "turn")
            return
        opening, burst = plan
        turn = fill if fill > 0 else 2
        rest = max(opening, turn + 10)
        if rest <= last:
            self.add(turn, "TURN", "turn")
            self.add(rest, "REST", "rest")
        minute = 60
        while minute + burst <= last:
            if minute >= rest + burst:
                self.add(minute, "TURN", "turn")
                self.add(minute + burst, "REST", "rest")
            minute += 60

    def heard(self):
        """Without what a higher one leaves out: within its length and 0.2 s; a beat within 3 s of anything."""
        kept = []
        for cue in sorted(self.cues, key=lambda c: (RANK[c.tone], c.at)):
            if not any(self.in_the_way(cue, other) for other in kept):
                kept.append(cue)
        return sorted(kept, key=lambda cue: cue.at)

    def in_the_way(self, cue, kept):
        if cue.tone == "CHANGE":
            return False  # a change is never left out
        apart = cue.at - kept.at
        if cue.tone == "BEAT" and kept.tone != "BEAT" and abs(apart) < BEAT_CLEAR_MS / 1000 - 1e-6:
            return True
        first = kept if apart >= 0 else cue
        return abs(apart) < first.length + GAP_MS / 1000 - 1e-6  # just clear is clear


def expected(path, pieces, rates, rest, **vessel):
    return Session(json.load(open(path)), pieces, lambda kind: float(rates.get(kind, rest)), **vessel)
