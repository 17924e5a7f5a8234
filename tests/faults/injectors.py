# SPDX-License-Identifier: Apache-2.0
"""injectors - the hands of strait.c and preload.c in Python."""

import mmap
import struct
import subprocess
import threading

from ship import BUILD

STRAIT = BUILD / "tests" / "faults" / "fault_strait"
PRELOAD = BUILD / "tests" / "faults" / "libfault_preload.so"


class Strait:
    """The relay: a process that is told by lines what weather it is."""

    def __init__(self, seed):
        self.process = subprocess.Popen([str(STRAIT), str(seed)], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, text=True, bufsize=1)
        self.lock = threading.Lock()

    def tell(self, words):
        with self.lock:
            self.process.stdin.write(words + "\n")
            self.process.stdin.flush()
            answer = self.process.stdout.readline().split()
        assert answer[:1] == ["ok"], "%s: %s" % (words, answer)
        return int(answer[1])

    def weather(self, names, way, key, value):
        count = self.tell("weather %s %s %s %d" % (names, way, key, value))
        assert count > 0, names

    def calm(self, names="*"):
        self.tell("calm " + names)

    def stop(self):
        self.process.stdin.close()
        self.process.wait()
        self.process.stdout.close()


class Machine:
    """The faults of one process, in a file that it has mapped; see struct faults in preload.c."""

    FIELDS = ("sync_errno", "sync_in", "write_errno", "write_in", "torn", "alloc_in", "hang_ms",
              "calls")

    def __init__(self, path):
        self.path = path
        path.write_bytes(bytes(4 * len(self.FIELDS)))
        with open(path, "r+b") as file:
            self.map = mmap.mmap(file.fileno(), 4 * len(self.FIELDS))

    def set(self, **values):
        for name, value in values.items():
            struct.pack_into("<i", self.map, 4 * self.FIELDS.index(name), value)

    def get(self, name):
        return struct.unpack_from("<i", self.map, 4 * self.FIELDS.index(name))[0]

    def clear(self):
        self.map[:] = bytes(len(self.map))
