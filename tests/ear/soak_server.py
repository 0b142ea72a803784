"""The creek session by ALSA's default device through a sound server, as on a desktop: PipeWire, PulseAudio, whichever is
there; SKIP if none is. The monitor of a sink without a card is recorded, and a program that knows only the recipe finds every
cue, in order, none missing. Printed is how late they all are, which is the server's and the recorder's own latency, and by how
much they differ. A server on a busy machine loses blocks of sound, whoever plays: so this wants a quiet one.

Before that a person mutes the server: it is told, and told when it can be heard again.

    soak_server.py [pipewire | pulseaudio]"""
import difflib, sys
import listen, rules
from creek import NAME, Answer
from soundserver import OnServer, PipeWire, PulseAudio
from wet import SOURCE, until

RATES = {"handling": 10, "develop": 3.3, "rinse": 15, "stop": 15, "fix": 90, "second-fix": 90}
REST = 200


def judge(name, expected, heard, due):
    """Which is what, by their order; then what lies between two of them, for a block that the recording has lost moves all that
    follows. Gives what is wrong."""
    wanted, got = [(c.tone, c.pips) for c in expected], [(h.template.name, h.template.pips) for h in heard]
    pairs, wrong = [], []
    for what, i, j, k, m in difflib.SequenceMatcher(None, wanted, got, autojunk=False).get_opcodes():
        if what == "equal":
            pairs += zip(expected[i:j], heard[k:m])
        else:
            wrong += [f"missing: {c}" for c in expected[i:j]] + [f"extra: {h}" for h in heard[k:m]]
    late = [(h.frame - due(c)) / 48 for c, h in pairs]
    apart = [(b - a) * 1000 for a, b in zip(late, late[1:])]  # us
    kept, lost = [a for a in apart if abs(a) < 1000], [a for a in apart if abs(a) >= 1000]
    print(f"{name}: {len(pairs)} of {len(expected)} cues heard in order; the first {late[0]:.1f} ms late (the server's latency and the "
          f"recorder's), the last {late[-1]:.1f} ms; of {len(apart)} stretches between two cues the length is off by "
          f"{listen.spread([abs(a) for a in kept], 250)}; in {len(lost)} the server or the recorder has lost or gained a block", flush=True)
    return wrong + [f"a stretch is off by {a / 1000:.0f} ms" for a in lost if abs(a) > 150_000]


def check_muted(d, c):
    c.call("run.rehearse", recipe=NAME, run="muted", rate="1", mine=True)
    until(lambda: c.call("status.get")["sound"]["text"].startswith("sounding"), "it sounds")
    until(lambda: c.call("status.get")["sound"]["health"] == "well", "its mixer can be asked, and is open")
    d.server.mute(True)
    until(lambda: "muted" in c.call("status.get")["sound"]["text"], "muted is told")
    d.server.mute(False)
    until(lambda: c.call("status.get")["sound"]["health"] == "well", "unmuted is told")
    c.call("run.abandon", run="muted", held=True)


def session(server):
    d = OnServer(server, voice=())
    c = d.start()
    c.s.settimeout(600)
    check_muted(d, c)
    until(lambda: "closed" in c.call("status.get")["sound"]["text"], "the device is closed when nothing is live")
    c.call("changes.follow")
    d.server.recorder.mark()
    state = c.call("run.rehearse", recipe=NAME, run="creek", pieces=1, rate=str(REST), rates={k: str(v) for k, v in RATES.items()})["run"]
    begun_ns = state["begin_us"] * 1000
    while not (state["name"] == "creek" and state["outcome"]):
        state = (c.news.pop(0) if c.news else c.line())["params"]
    d.stop()
    d.server.recorder.finish()
    origin_ns, pcm = d.server.recorder.origin_ns, d.server.recorder.pcm()
    expected = rules.expected(f"{SOURCE}/recipes/{NAME}.json", 1, RATES, REST).heard()
    expected.insert(0, Answer(0, "ANSWER", "begin", 1))
    heard = listen.hear(pcm, listen.templates({1.0, float(REST), *map(float, RATES.values())}, 1))

    def due(cue):
        return (begun_ns + cue.at * 1e9 - origin_ns) * 48e-6

    wrong = judge(server.name, expected, heard, due)
    assert not wrong, "\n".join(wrong)
    d.server.stop()
    d.clean()


if __name__ == "__main__":
    servers = [s for s in (PipeWire, PulseAudio) if not sys.argv[1:] or s.name.lower() in sys.argv[1:]]
    for server in servers:
        why = server.missing()
        if why:
            print(f"SKIP {server.name}: {why}")
        else:
            session(server)
