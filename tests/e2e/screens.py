"""screens.py: the client on a pseudo-terminal whose bytes are counted, and in a real terminal (tmux) whose screen is read."""
import fcntl, os, pty, select, shutil, signal, struct, subprocess, sys, termios, time
from wet import BUILD, until

TANK = "direct-positive-fibre-tank"


def need(*programs):
    for program in programs:
        if not shutil.which(program):
            print(f"SKIP: {program} is not installed; it is in the packages that .house/test installs")
            sys.exit(0)


def need_emulator():
    """pyte, a terminal emulator that is not ours, comes for Debian's own Python; to be called before anything is started."""
    global pyte
    try:
        import pyte
    except ImportError:
        debian = "/usr/bin/python3"
        if sys.executable != debian and os.path.exists(debian) and not os.environ.get("WET_TRIED_DEBIAN"):
            os.environ["WET_TRIED_DEBIAN"] = "1"
            os.execv(debian, [debian, *sys.argv])
        print("SKIP: python3-pyte is not installed; it is in the packages that .house/test installs")
        sys.exit(0)


def press_until(press, done, what, seconds=20):
    """Pressed again as one does who hears no answer; closer together it would be a key that is kept down."""
    def look():
        press()
        end = time.monotonic() + 0.3
        while time.monotonic() < end:
            if done():
                return True
            time.sleep(0.01)
        return False
    if not done():
        until(look, what, seconds)


class Terminal:
    """A pseudo-terminal of its own for one client; it is the client's controlling one, so that Ctrl-C and hanging up are real."""

    def __init__(self, socket, *words, rows=24, columns=80, term="xterm-256color", env=None, echo=False, session=True):
        self.master, slave = pty.openpty()
        self.screen = None
        self.resize(rows, columns)
        if not echo:  # a key that comes before the watch is up is echoed by the terminal, not by us
            mode = termios.tcgetattr(slave)
            mode[3] &= ~termios.ECHO
            termios.tcsetattr(slave, termios.TCSANOW, mode)
        self.slave = slave  # kept open, so that its mode can be read when the client has gone
        self.found = termios.tcgetattr(slave)
        self.process = subprocess.Popen(
            [f"{BUILD}/client/wetside", "--socket", socket, *words], stdin=slave, stdout=slave, stderr=slave,
            env=dict({k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "LINES", "COLUMNS")}, TERM=term, **(env or {})),
            start_new_session=session, preexec_fn=(lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0)) if session else None)

    def resize(self, rows, columns):
        self.size = rows, columns
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def read(self):
        """What was written since."""
        got = b""
        while select.select([self.master], [], [], 0)[0]:
            try:
                part = os.read(self.master, 65536)
            except OSError:
                break
            if not part:
                break
            got += part
        if self.screen:
            self.stream.feed(got)
        return got

    def draw(self):
        """From here on what is written is also drawn, by an emulator that is not ours."""
        self.screen = pyte.Screen(*reversed(self.size))
        self.stream = pyte.ByteStream(self.screen)

    def text(self):
        self.read()
        return "\n".join(line.rstrip() for line in self.screen.display)

    def sees(self, *texts, seconds=20):
        try:
            until(lambda: all(text in self.text() for text in texts), f"{texts} on the screen", seconds)
        except AssertionError:
            print(self.text())
            raise

    def shows(self, text, seconds=20):
        """Waits until it was written, in whatever pieces; takes it all."""
        seen = b""

        def look():
            nonlocal seen
            seen += self.read()
            return text in seen
        until(look, f"{text!r} on the terminal", seconds)
        return seen

    def key(self, *keys):
        for key in keys:
            os.write(self.master, key)

    def is_given_back(self):
        return termios.tcgetattr(self.slave) == self.found

    def end(self):
        """Its exit status, and what it wrote last. What waits to be read would hold it up."""
        last = b""

        def is_over():
            nonlocal last
            last += self.read()
            return self.process.poll() is not None
        until(is_over, "its end")
        last += self.read()
        os.close(self.master)
        os.close(self.slave)
        return self.process.returncode, last


class Tmux:
    """A terminal as people have it; a shell runs in it."""

    def __init__(self, folder, rows=24, columns=80, term="screen-256color", locale="C.UTF-8"):
        need("tmux")
        self.name = folder + "/tmux"
        self.run("new-session", "-d", "-s", "w", "-x", str(columns), "-y", str(rows),
                 f"env -u NO_COLOR TERM={term} LC_ALL={locale} PS1='$ ' sh")
        until(lambda: "$" in self.text(), "the shell")

    def run(self, *words):
        return subprocess.run(["tmux", "-S", self.name, "-f", "/dev/null", *words], capture_output=True, text=True, check=True).stdout

    def type(self, text):
        self.run("send-keys", "-t", "w", "-l", text)
        self.run("send-keys", "-t", "w", "Enter")

    def key(self, *keys):
        self.run("send-keys", "-t", "w", *keys)

    def resize(self, rows, columns):
        self.run("resize-window", "-t", "w", "-x", str(columns), "-y", str(rows))

    def text(self):
        return self.run("capture-pane", "-p", "-t", "w")

    def coloured(self):
        return self.run("capture-pane", "-p", "-e", "-N", "-t", "w")

    def state(self):
        return self.run("display", "-p", "-t", "w", "#{alternate_on} #{cursor_flag} #{pane_title}").strip()

    def shows(self, *texts, seconds=20):
        def look():
            seen = self.text()
            return seen if all(text in seen for text in texts) else None
        try:
            return until(look, f"{texts} on the screen", seconds)
        except AssertionError:
            print(self.text())
            raise

    def end(self):
        subprocess.run(["tmux", "-S", self.name, "kill-server"], capture_output=True)
