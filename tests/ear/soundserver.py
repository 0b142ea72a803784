"""soundserver.py: a sound server without a card, on its own: a sink that plays into nothing in time, and a recording of its
monitor. ALSA's default device leads there by the server's own plug-in, as on a desktop.

PipeWire (Debian packages pipewire, wireplumber, pipewire-alsa, dbus-daemon) or PulseAudio (pulseaudio, pulseaudio-utils,
libasound2-plugins). They exclude each other on Debian, so neither is asked for by .house/test."""
import fcntl, os, shutil, subprocess, sys, threading, time
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "e2e"))
import numpy as np
from wet import Daemon, until

RATE = 48000


class Recorder(threading.Thread):
    """Reads raw S16 stereo from a program, of which the left channel counts. When a sample was there is known from when its
    bytes came: none can come before it was recorded, so the earliest arrival since the mark tells when the first one was, but
    for the time the recording itself takes. A recorder on a busy machine loses blocks, which the judge is to see."""

    def __init__(self, command, env):
        super().__init__(daemon=True)
        self.process = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        fcntl.fcntl(self.process.stdout, fcntl.F_SETPIPE_SZ, 1 << 20)  # the recorder waits for nobody
        self.parts, self.bytes, self.origin_ns = [], 0, None
        self.start()

    def mark(self):
        """The recording that counts begins here."""
        self.parts, self.bytes, self.origin_ns = [], 0, None

    def run(self):
        while part := self.process.stdout.read1(1 << 16):
            now = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
            self.parts.append(part)
            self.bytes += len(part)
            origin = now - self.bytes // 4 * 10**9 // RATE
            self.origin_ns = origin if self.origin_ns is None else min(self.origin_ns, origin)

    def finish(self):
        self.process.terminate()
        self.process.wait(10)
        self.join(10)

    def pcm(self):
        data = b"".join(self.parts)
        return np.frombuffer(data[:len(data) & ~3], dtype=np.int16)[::2]


class Server:
    def __init__(self, folder):
        self.folder, self.processes, self.recorder = folder, [], None
        os.mkdir(folder + "/server", 0o700)
        self.env = dict(os.environ, XDG_RUNTIME_DIR=folder + "/server", XDG_CONFIG_HOME=folder + "/server",
                        XDG_STATE_HOME=folder + "/server", HOME=folder + "/server", LC_ALL="C")
        for name in ("ALSA_CONFIG_PATH", "PULSE_SERVER", "DISPLAY", "DBUS_SESSION_BUS_ADDRESS", "PIPEWIRE_REMOTE"):
            self.env.pop(name, None)

    def spawn(self, *command, **more):
        self.processes.append(subprocess.Popen(command, env=self.env, stderr=open(self.folder + "/server.log", "a"), text=True, **more))
        return self.processes[-1]

    def run(self, *command):
        return subprocess.run(command, env=self.env, capture_output=True, text=True, timeout=20)

    def mute(self, is_muted):
        """As a person does it, on the server's own mixer."""
        assert self.run("amixer", "-D", "default", "set", "Master", "mute" if is_muted else "unmute").returncode == 0

    def stop(self):
        for process in ([self.recorder.process] if self.recorder else []) + self.processes[::-1]:
            if process.poll() is None:
                process.terminate()
                try:
                    process.wait(5)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()


class PipeWire(Server):
    name = "PipeWire"

    @staticmethod
    def missing():
        programs = [p for p in ("pipewire", "wireplumber", "pw-record", "pw-cli", "dbus-daemon", "amixer") if not shutil.which(p)]
        if programs:
            return "no " + ", ".join(programs)
        return None if os.path.exists("/etc/alsa/conf.d/99-pipewire-default.conf") else "PipeWire is not ALSA's default here"

    def start(self):
        bus = self.spawn("dbus-daemon", "--session", "--nofork", "--print-address=1", stdout=subprocess.PIPE)
        self.env["DBUS_SESSION_BUS_ADDRESS"] = bus.stdout.readline().strip()
        self.spawn("pipewire", stdout=subprocess.DEVNULL)
        until(lambda: self.run("pw-cli", "info", "0").returncode == 0, "PipeWire is there")
        self.spawn("wireplumber", stdout=subprocess.DEVNULL)
        self.run("pw-cli", "create-node", "adapter", "{ factory.name=support.null-audio-sink node.name=bench media.class=Audio/Sink "
                 "object.linger=1 audio.position=[FL FR] }")
        until(lambda: "bench:monitor_FL" in self.run("pw-link", "-o").stdout, "the sink's monitor is there")

    def record(self):
        self.recorder = Recorder(["pw-record", "-P", "{ stream.capture.sink=true node.name=ear }", "--target", "bench", "--latency", "10ms",
                                  "--rate", str(RATE), "--channels", "2", "--format", "s16", "-"], self.env)
        until(lambda: self.recorder.bytes > RATE, "the monitor is recorded")


class PulseAudio(Server):
    name = "PulseAudio"

    @staticmethod
    def missing():
        programs = [p for p in ("pulseaudio", "parec", "pactl", "amixer") if not shutil.which(p)]
        return "no " + ", ".join(programs) if programs else None

    def start(self):
        self.spawn("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "-L", "module-native-protocol-unix", "-L",
                   f"module-null-sink sink_name=bench rate={RATE}", stdout=subprocess.DEVNULL)
        with open(self.folder + "/server/asound.conf", "w") as f:
            f.write("pcm.!default { type pulse }\nctl.!default { type pulse }\n"
                    "pcm.plug { @args [ SLAVE ] @args.SLAVE { type string } type plug slave.pcm $SLAVE }\n")
        self.env["ALSA_CONFIG_PATH"] = self.folder + "/server/asound.conf"
        until(lambda: "bench" in self.run("pactl", "list", "short", "sinks").stdout, "PulseAudio is there")

    def record(self):
        self.recorder = Recorder(["parec", "-d", "bench.monitor", "--raw", f"--rate={RATE}", "--channels=2", "--format=s16le",
                                  "--latency-msec=10"], self.env)
        until(lambda: self.recorder.bytes > RATE, "the monitor is recorded")


class OnServer(Daemon):
    """A daemon on a server of its own, whose monitor is recorded."""

    def __init__(self, server, voice=("--voice", "none")):
        super().__init__(sound="default", voice=voice)
        self.server = server(self.dir)
        self.server.start()
        self.server.record()
        self.env = dict(self.server.env, XDG_CACHE_HOME=self.dir + "/cache")

    def end(self):
        super().end()
        self.server.stop()
