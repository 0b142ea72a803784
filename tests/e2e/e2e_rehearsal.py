"""A rehearsed creek session through the real socket with the real binaries; its WAV file, read back here, has every cue
within one sample of its due position, in order, none missing, none extra; and the developer's cues are those of the plan."""
import array, re
from rehearsal import check_developer, judge, rehearse
from wet import Daemon

d = Daemon()
wav = d.dir + "/session.wav"
d.sound = "file:" + wav
heard, begin = rehearse(d.start())
d.stop()
check_developer(heard, begin)

data = open(wav, "rb").read()
origin = int(re.search(rb"origin_boot_ns=(\d+)", data).group(1))
at = data.index(b"data")
size = int.from_bytes(data[at + 4:at + 8], "little")
pcm = array.array("h", data[at + 8:at + 8 + size])
late, extra = judge(heard, pcm, lambda at_us: (at_us * 1000 - origin) * 48000 / 1e9, slack=2)
worst = max(abs(frames) for frames in late)
print(f"{len(late)} planned cues, worst onset {worst:.2f} samples, {len(extra)} samples of extra sound")
assert len(late) > 18
assert worst <= 1.5, "an onset is off by more than a sample (and the microsecond's rounding)"
assert not extra, f"sound where none is due, from sample {extra[0]}"
d.clean()
