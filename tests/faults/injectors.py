# SPDX-License-Identifier: Apache-2.0
"""injectors - the hands of strait.c and preload.c in Python, and hosts in network namespaces."""

import mmap
import os
import struct
import subprocess
import threading
import time

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
        try:
            self.process.wait(2)
        except subprocess.TimeoutExpired:  # somebody else holds the other end of its input
            self.process.kill()
            self.process.wait()
        self.process.stdout.close()


class Machine:
    """The faults of one process, in a file that it has mapped; see struct faults in preload.c."""

    FIELDS = ("sync_errno", "sync_in", "write_errno", "write_in", "torn", "alloc_in", "hang_ms",
              "kill_in", "kill_ms")

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


class Host:
    """A network namespace with one cable to this one; root only. Packets are dropped in it by
    nftables, so that TCP loses segments and not bytes."""

    def __init__(self, number):
        self.hub = "10.77.%d.1" % number
        self.holder = subprocess.Popen(["unshare", "--net", "sleep", "3600"])
        self.pid = str(self.holder.pid)
        self.enter = ["nsenter", "-t", self.pid, "-n"]
        here = "tlf%d" % number
        while os.readlink("/proc/%s/ns/net" % self.pid) == os.readlink("/proc/self/ns/net"):
            time.sleep(0.01)
        for words in (["ip", "link", "add", here, "type", "veth", "peer", "name", "eth0", "netns",
                       self.pid],
                      ["ip", "addr", "add", self.hub + "/24", "dev", here],
                      ["ip", "link", "set", here, "up"],
                      self.enter + ["ip", "addr", "add", "10.77.%d.2/24" % number, "dev", "eth0"],
                      self.enter + ["ip", "link", "set", "eth0", "up"],
                      self.enter + ["ip", "link", "set", "lo", "up"]):
            subprocess.run(words, check=True)

    def drop(self, way, percent):
        """Drop that share of the packets: "out" of the host, "in", or "both"."""
        rules = "flush ruleset\ntable inet f {"
        for hook in {"out": ["output"], "in": ["input"], "both": ["output", "input"]}[way]:
            share = "" if percent >= 100 else "numgen random mod 100 < %d " % percent
            rules += " chain %s { type filter hook %s priority 0; %sdrop; };" % (hook, hook, share)
        self.load(rules + " }")

    def calm(self):
        self.load("flush ruleset")

    def load(self, rules):
        subprocess.run(self.enter + ["nft", "-f", "-"], input=rules + "\n", text=True, check=True)

    def stop(self):
        self.holder.kill()
        self.holder.wait()
