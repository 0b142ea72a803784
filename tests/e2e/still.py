"""still.py: a daemon whose clock stands still until the test moves it, and foot switches that are named pipes."""
import mmap, struct
from wet import *

SECOND = 10**9
EV_SYN, EV_KEY, EV_MSC = 0, 1, 4
KEY_B = 48


def event(kind, code, value):
    """struct input_event of linux/input.h on a machine of this word size."""
    return struct.pack("llHHi", 0, 0, kind, code, value)


def press_bytes(code=KEY_B):
    """As a keyboard sends it: a scan code, the key, the end of the report; then the same for letting go."""
    return b"".join(event(EV_MSC, 4, 0x70005) + event(EV_KEY, code, value) + event(EV_SYN, 0, 0) for value in (1, 0))


class StillDaemon(Daemon):
    def __init__(self, config=None, program="wetsided-sim", **more):
        super().__init__(program=program, **more)
        self.now = 1000 * SECOND
        with open(self.dir + "/boot", "wb") as file:
            file.write(struct.pack("q", self.now))
        with open(self.dir + "/boot", "r+b") as file:
            self.boot = mmap.mmap(file.fileno(), 8)
        os.mkfifo(self.dir + "/timer")
        self.timer = os.open(self.dir + "/timer", os.O_RDWR | os.O_NONBLOCK)
        self.env.update(WET_SIM_BOOT_FILE=self.dir + "/boot", WET_SIM_TIMER_PIPE=self.dir + "/timer")
        os.makedirs(self.dir + "/config/wetside")
        os.mkdir(self.dir + "/dev")  # of its own, so that nothing else that is written wakes who watches it
        self.configure(config or {})

    def configure(self, config):
        with open(self.dir + "/config/wetside/config.json", "w") as file:
            json.dump(config, file)

    def fire(self):
        os.write(self.timer, b"8 bytes!")

    def pass_to(self, at_ns):
        """Time becomes that, in one step; the daemon wakes, and serves whatever is due before anything that is asked later."""
        self.now = max(self.now, at_ns)
        self.boot[:] = struct.pack("q", self.now)
        self.fire()

    def wait(self, seconds):
        self.pass_to(self.now + int(seconds * SECOND))


class Pedal:
    """A named pipe in place of a foot switch's device."""

    def __init__(self, path):
        self.path = path
        os.mkfifo(path)
        self.fd = os.open(path, os.O_RDWR | os.O_NONBLOCK)

    def write(self, data):
        os.write(self.fd, data)

    def press(self, code=KEY_B):
        self.write(press_bytes(code))

    def unplug(self):
        os.close(self.fd)
        os.remove(self.path)
