"""terminal.py: a program on a pseudo-terminal, read and typed at as a person would."""
import fcntl, os, pty, re, select, signal, struct, termios, time


class Terminal:
    def __init__(self, argv, columns=80, rows=24, env=None):
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
            os.execvpe(argv[0], argv, dict(os.environ, **(env or {})))
        self.text, self.mark, self.status, self.pressed = "", 0, None, b""

    def read(self, seconds):
        """What has come; False where nothing came, None at the end."""
        if not select.select([self.fd], [], [], seconds)[0]:
            return False
        try:
            got = os.read(self.fd, 65536)
        except OSError:
            return None
        self.text += got.decode("utf-8", "replace").replace("\r", "")
        return True if got else None

    def until(self, *what, seconds=20):
        """Up to the first of these texts, wrapped or not; returns which."""
        deadline = time.monotonic() + seconds
        silent = time.monotonic()
        while True:
            for w in what:
                found = re.compile(r"\s+".join(map(re.escape, w.split()))).search(self.text, self.mark)
                if found:
                    self.mark, self.pressed = found.end(), b""
                    return w
            if self.pressed and time.monotonic() - silent > 3:  # on a busy machine it came before it counted
                os.write(self.fd, self.pressed)
                silent = time.monotonic()
            got = self.read(0.1)
            silent = time.monotonic() if got else silent
            assert got is not None and time.monotonic() < deadline, (what, self.text[self.mark:])

    def key(self, keys):
        """Not sooner than an answer counts after its question (HASTE_MS)."""
        time.sleep(0.25)
        self.pressed = keys.encode()
        os.write(self.fd, self.pressed)

    def line(self, text):
        os.write(self.fd, text.encode() + b"\n")

    def end(self, seconds=20):
        """Waits for its end; returns the exit status."""
        deadline = time.monotonic() + seconds
        while self.read(0.1) is not None:
            assert time.monotonic() < deadline, self.text[self.mark:]
        self.status = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        os.close(self.fd)
        return self.status

    def hang_up(self):
        os.close(self.fd)
        os.kill(self.pid, signal.SIGHUP)
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
