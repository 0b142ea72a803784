"""The creek session in under a minute, the whole daemon with its voice, on three cards that keep time and record: one exact,
one whose crystal is 100 ppm fast, one 100 ppm slow whose pointer steps by 64 frames. A program that knows the recipe, the
tank and when it was begun finds every cue in the recording, by its pattern, in order, none missing and none too many.

When each began is printed beside the aim, and asserted to 20 ms: a busy machine can make a card run dry, but only a bug is as
late as that. At the real pace, and for an hour: soak_creek.py, soak_hour.py."""
from creek import Creek

RATES = {"handling": 10, "develop": 3.3, "rinse": 15, "stop": 15, "fix": 90, "second-fix": 90}
sessions = [Creek("exact card, with words", RATES, 200, 1), Creek("card 100 ppm fast", RATES, 200, 1, 100, voice=("--voice", "none")),
            Creek("card 100 ppm slow, pointer in steps of 64", RATES, 200, 1, -100, 64, ("--voice", "none"))]
for session in sessions:
    session.start()
for session in sessions:
    session.join()
for session in sessions:
    verdict = session.judge()
    sounds = {cue.tone for cue, _ in verdict.found}
    assert sounds == {"CHANGE", "POUR_OUT", "COUNT", "ATTEND", "ANSWER", "TURN", "REST", "BEAT"}, f"only {sounds} were to be heard"
