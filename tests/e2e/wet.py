"""wet.py: a private daemon and a plain client for end-to-end tests."""
import atexit, json, os, shutil, signal, socket, subprocess, sys, tempfile, time

BUILD = os.environ["WET_BUILD_DIR"]
SOURCE = os.environ["WET_SOURCE_DIR"]


class Daemon:
    def __init__(self, sound="none", program="wetsided", env=None):
        self.dir = tempfile.mkdtemp(prefix="wetside-e2e.")
        self.socket = self.dir + "/run/socket"
        self.ledger = self.dir + "/ledger.sqlite"
        self.sound, self.program, self.env = sound, program, dict(os.environ, **(env or {}))
        self.process = None
        atexit.register(self.end)

    def end(self):
        if self.process and self.process.poll() is None:
            self.process.kill()
            self.process.wait()

    def start(self):
        self.process = subprocess.Popen(
            [f"{BUILD}/daemon/{self.program}", "--socket", self.socket, "--ledger", self.ledger, "--recipes", SOURCE + "/recipes",
             "--safety", SOURCE + "/safety", "--sound", self.sound], stderr=open(self.dir + "/log", "a"), env=self.env)
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


class Client:
    def __init__(self, path):
        self.s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.s.settimeout(20)
        self.s.connect(path)
        self.buffer, self.news, self.id = b"", [], 0

    def send(self, method, **params):
        self.id += 1
        self.s.sendall(json.dumps({"jsonrpc": "2.0", "id": self.id, "method": method, "params": params}).encode() + b"\n")
        return self.id

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
