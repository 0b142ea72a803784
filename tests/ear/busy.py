"""busy.py: both cores and the disk kept busy, while it lasts."""
import os, subprocess, sys, tempfile

COUNTING = "while True: pass"
WRITING = """
import os, sys
file = os.open(sys.argv[1], os.O_RDWR | os.O_CREAT, 0o600)
while True:
    os.pwrite(file, os.urandom(1 << 20), 0)
    os.fsync(file)
"""


class Busy:
    def __init__(self, is_wanted=True, cores=os.cpu_count() or 2):
        self.is_wanted, self.cores, self.processes = is_wanted, cores, []

    def __enter__(self):
        if self.is_wanted:
            self.file = tempfile.NamedTemporaryFile(prefix="wetside-busy.")
            self.processes = [subprocess.Popen([sys.executable, "-c", COUNTING]) for _ in range(self.cores)]
            self.processes.append(subprocess.Popen([sys.executable, "-c", WRITING, self.file.name]))
        return self

    def __exit__(self, *_):
        for process in self.processes:
            process.kill()
            process.wait()
        if self.is_wanted:
            self.file.close()
