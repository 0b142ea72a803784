"""wet.py: a private daemon and a plain client for end-to-end tests."""
import atexit, json, os, shutil, signal, socket, subprocess, sys, tempfile, time

BUILD = os.environ["WET_BUILD_DIR"]
SOURCE = os.environ["WET_SOURCE_DIR"]


class Daemon:
    def __init__(self, sound="none", program="wetsided", env=None, voice=("--voice", "none")):
        self.dir = tempfile.mkdtemp(prefix="wetside-e2e.")
        self.socket = self.dir + "/run/socket"
        self.ledger = self.dir + "/ledger.sqlite"
        # No configuration of whoever runs the tests.
        self.sound, self.program = sound, program
        self.env = dict(os.environ, XDG_CONFIG_HOME=self.dir + "/config", **(env or {}))
        self.voice = voice  # most tests listen for tones
        self.process = None
        self.command = None  # that starts it, if it is not started as it is
        self.folders = []  # of recipes and notes, before the shipped ones: --recipes DIR, --safety DIR
        atexit.register(self.end)

    def end(self):
        if self.process and self.process.poll() is None:
            self.process.kill()
            self.process.wait()

    def start(self):
        self.process = subprocess.Popen(
            [*(self.command or [f"{BUILD}/daemon/{self.program}"]), "--socket", self.socket, "--ledger", self.ledger, *self.folders, "--recipes", SOURCE + "/recipes",
             "--safety", SOURCE + "/safety", "--sound", self.sound,
             *self.voice], stderr=open(self.dir + "/log", "a"), env=self.env)
        deadline = time.monotonic() + 20
        while True:
            try:
                return Client(self.socket)
            except OSError:
                if self.process.poll() is not None or time.monotonic() > deadline:
                    sys.exit("the daemon did not come up: " + open(self.dir + "/log").read())
                time.sleep(0.002)

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(20)
        assert code == 0, f"exit status {code}: " + open(self.dir + "/log").read()

    def clean(self):
        shutil.rmtree(self.dir, ignore_errors=True)


class Refused(Exception):
    pass


def until(look, what, seconds=20):
    """Looks again until there is something to see; a deadline, not a wait."""
    deadline = time.monotonic() + seconds
    while True:
        seen = look()
        if seen:
            return seen
        assert time.monotonic() < deadline, f"not within {seconds} s: {what}"
        time.sleep(0.01)


class Client:
    def __init__(self, path):
        self.s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.s.settimeout(20)
        self.s.connect(path)
        self.buffer, self.news, self.id = b"", [], 0
        self.pressed = 0  # when a press was last accepted

    def send(self, method, **params):
        self.id += 1
        self.s.sendall(json.dumps({"jsonrpc": "2.0", "id": self.id, "method": method, "params": params}).encode() + b"\n")
        return self.id

    def press(self, method, **params):
        """A go within two seconds of the one before is a bounce (WET_GUARD_NS): pressed again as soon as it is none."""
        def done():
            time.sleep(max(0, self.pressed + 2 - time.monotonic()))
            answer = self.call(method, **params)
            return answer if answer["done"] else None
        answer = until(done, f"{method} {params}")
        self.pressed = time.monotonic()
        return answer

    def line(self):
        while b"\n" not in self.buffer:
            got = self.s.recv(65536)
            if not got:
                raise ConnectionError("closed")
            self.buffer += got
        line, self.buffer = self.buffer.split(b"\n", 1)
        return json.loads(line)

    def answer(self, number):
        while True:
            m = self.line()
            if m.get("id") == number:
                if "error" in m:
                    raise Refused(m["error"])
                return m["result"]
            self.news.append(m)

    def call(self, method, **params):
        return self.answer(self.send(method, **params))
