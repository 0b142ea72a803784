"""wet_disk.py: disks that fail, really: a small file system that is filled up, a file that may not be written even by root, a
limit on the size of files, a folder mounted read-only. Nothing is faked: the system itself says no."""
import array, fcntl, os, resource, shutil, subprocess, sys, tempfile

MARK = "WET_E2E_OWN_MOUNTS"
IMMUTABLE = 0x10  # FS_IMMUTABLE_FL of ioctl_iflags(2)
GET_FLAGS, SET_FLAGS = 0x80086601, 0x40086602


def own_mounts():
    """Runs this script again where it may mount without anybody seeing it; the mounts end with it. False: not allowed here."""
    if MARK in os.environ:
        return os.environ[MARK] == "yes"
    place = tempfile.mkdtemp(prefix="wetside-e2e.")
    os.environ[MARK] = "no"
    for flags in ("-m", "-Urm"):
        probe = ["unshare", flags, "mount", "-t", "tmpfs", "-o", "size=64k", "none", place]
        if shutil.which("unshare") and subprocess.run(probe, stderr=subprocess.DEVNULL).returncode == 0:
            os.environ[MARK] = "yes"
            os.rmdir(place)
            os.execvp("unshare", ["unshare", flags, sys.executable] + sys.argv)
    os.rmdir(place)
    return False


def skip(what):
    print(f"SKIP SKIP SKIP: {what}", flush=True)


class Small:
    """A file system of a few hundred KiB of its own, full to the last byte when broken."""
    name, code, word = "full", 1031, "full"

    def __init__(self, folder, size="768k"):
        self.folder = folder
        os.mkdir(folder)
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=" + size, "none", folder], check=True)

    def break_(self, daemon):
        with open(self.folder + "/ballast", "ab", buffering=0) as f:
            for size in (65536, 4096, 1):
                try:
                    while True:
                        f.write(b"\0" * size)
                except OSError as e:
                    assert e.errno == 28, e

    def heal(self, daemon):
        os.remove(self.folder + "/ballast")

    def close(self):
        subprocess.run(["umount", "-l", self.folder], check=True)


class Unwritable:
    """The ledger's files refuse every write, also from root and through descriptors opened before."""
    name, code, word = "read-only", 1032, "read-only"

    def __init__(self, folder):
        self.folder = folder
        os.mkdir(folder)

    def set(self, is_fixed):
        for name in os.listdir(self.folder):
            if name.endswith((".sqlite", ".sqlite-wal")):
                fd = os.open(f"{self.folder}/{name}", os.O_RDONLY)
                flags = array.array("l", [0])
                fcntl.ioctl(fd, GET_FLAGS, flags)
                flags[0] = flags[0] | IMMUTABLE if is_fixed else flags[0] & ~IMMUTABLE
                fcntl.ioctl(fd, SET_FLAGS, flags)
                os.close(fd)

    def break_(self, daemon):
        self.set(True)

    def heal(self, daemon):
        self.set(False)

    def close(self):
        self.set(False)

    @staticmethod
    def works_in(folder):
        """Only some file systems look at the flag again when an open file is written."""
        place = Unwritable(tempfile.mkdtemp(prefix="wetside-e2e.", dir=folder) + "/try")
        try:
            with open(place.folder + "/x.sqlite", "wb", buffering=0) as f:
                place.set(True)
                try:
                    f.write(b"x")
                    return False
                except PermissionError:
                    return True
        except OSError:
            return False
        finally:
            try:
                place.set(False)
            except OSError:
                pass
            shutil.rmtree(os.path.dirname(place.folder), ignore_errors=True)


class Limited:
    """No file of the daemon may grow (RLIMIT_FSIZE): EFBIG. Needs no right at all."""
    name, code, word = "limited", 1030, "failed"

    def __init__(self, folder):
        self.folder = folder
        os.mkdir(folder)

    def break_(self, daemon):
        self.was = resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE)
        size = max(os.stat(f"{self.folder}/{n}").st_size for n in os.listdir(self.folder) if n.endswith("-wal"))
        resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE, (size, self.was[1]))

    def heal(self, daemon):
        resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE, self.was)

    def close(self):
        pass
