# SPDX-License-Identifier: Apache-2.0
"""harness - builds the unit tests once, then relinks them with one changed object at a time

The commands come from the build folder (ninja knows them), with flags of our own: optimised, so that
changes without effect give the same object, and the timelines run fast.
"""
import concurrent.futures
import json
import os
import re
import resource
import shlex
import subprocess
import threading
import time

# What the unit tests of the judgement are called in ctest.
TESTS = re.compile(r"(?:rules|core|events|alerts|ledger)_\w+$|vocab_wear$")
FLAGS = ["-O1", "-w"]
DROPPED = re.compile(r"-(?:O\w|g|W.*|fstack-.*|fsanitize.*|fno-sanitize.*|M[DTF]|pedantic)$")
MEMORY_MAX = 2 << 30
LEAST_LIMIT_S = 3.0

# The tests take and give back much memory; without this most of their time goes into page faults.
KEEP_MEMORY = {"MALLOC_MMAP_THRESHOLD_": "4000000000", "MALLOC_TRIM_THRESHOLD_": "4000000000",
               "MALLOC_TOP_PAD_": "67108864"}

KILLED = "killed"
SURVIVED = "survived"
NOT_COMPILED = "does not compile"
EQUAL = "equal object code"


def run_tool(command, cwd, text=None):
    """Run a compiler or linker; (status, what it said)."""
    done = subprocess.run(command, cwd=cwd, input=text, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, check=False)
    return done.returncode, done.stdout


def must(command, cwd):
    """Run a step without which nothing works."""
    status, said = run_tool(command, cwd)
    if status != 0:
        raise SystemExit(f"mutation: {shlex.join(command)}\n{said}")
    return said


def limit_child():
    """In the child: no core files, no memory without end."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MAX, MEMORY_MAX))


class Test:
    """One test program: how it is linked, and how long it takes."""

    def __init__(self, name, link):
        self.name = name
        self.link = link
        self.limit_s = 60.0


class Harness:
    """The optimised copy of the tests below <build>/mutation."""

    def __init__(self, root, build, jobs, without=""):
        self.root = root
        self.without = without
        self.build = build
        self.jobs = jobs
        self.work = os.path.join(build, "mutation")
        self.compile = {}  # source -> command without -o and -c
        self.objects = {}  # object -> source
        self.tests = []
        self.original = {}
        self.archive = {}  # source -> archive that its object is in
        self.last_killer = {}
        self.lock = threading.Lock()
        self.environment = dict(os.environ, TL_SOURCE_DIR=root, TL_BUILD_DIR=build, **KEEP_MEMORY)

    def prepare(self):
        """Compile all that the tests need, link and time them."""
        os.makedirs(self.work, exist_ok=True)
        listed = json.loads(must(["ctest", "--test-dir", self.build, "--show-only=json-v1"],
                                 self.root))
        names = [test["name"] for test in listed["tests"] if TESTS.match(test["name"])]
        if self.without:
            names = [name for name in names if not re.search(self.without, name)]
        said = must(["ninja", "-C", self.build, "-t", "commands"] + names, self.root)
        archives, links = self._read(said.splitlines())
        with concurrent.futures.ThreadPoolExecutor(self.jobs) as pool:
            list(pool.map(self._compile_once, self.objects))
        for archive, objects in archives.items():
            path = os.path.join(self.work, archive)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            if os.path.exists(path):
                os.remove(path)
            must(["ar", "qcs", path] + objects, self.work)
            self.archive.update({self.objects[name]: archive for name in objects})
        # Those of single rules take milliseconds, so they go first.
        for name in sorted(names, key=lambda n: (not n.startswith("rules_"), n)):
            self.tests.append(Test(name, links[name]))
        with concurrent.futures.ThreadPoolExecutor(self.jobs) as pool:
            list(pool.map(self._time, self.tests))

    def _read(self, lines):
        archives, links = {}, {}
        for line in lines:
            words = [word for word in shlex.split(line) if word not in (":", "&&")]
            if "-c" in words and "-o" in words:
                source = words[words.index("-c") + 1]
                target = words[words.index("-o") + 1]
                self.compile[source] = self._flags(words[:words.index("-o")])
                self.objects[target] = source
            elif any(word.endswith("/ar") for word in words):
                at = words.index("qc")
                end = next((k for k in range(at, len(words)) if words[k].endswith("ranlib")),
                           len(words))
                archives[words[at + 1]] = words[at + 2:end]
            elif "-o" in words:
                target = words[words.index("-o") + 1]
                links[os.path.basename(target)] = [w for w in words if not DROPPED.match(w)]
        return archives, links

    @staticmethod
    def _flags(words):
        kept = []
        skip = False
        for word in words:
            if skip:
                skip = False
            elif word in ("-MT", "-MF"):
                skip = True
            elif not DROPPED.match(word):
                kept.append(word)
        return kept + FLAGS

    def _compile_once(self, target):
        source = self.objects[target]
        path = os.path.join(self.work, target)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        must(self.compile[source] + ["-c", source, "-o", path], self.build)

    def _time(self, test):
        program = os.path.join(self.work, test.name)
        status, said = self._link(test, None, program)
        if status != 0:
            raise SystemExit(f"mutation: cannot link {test.name}\n{said}")
        start = time.monotonic()
        if not self._passes(test, program):
            raise SystemExit(f"mutation: {test.name} fails without any mutation")
        test.limit_s = max(LEAST_LIMIT_S, 8 * (time.monotonic() - start))

    def _link(self, test, changed, program):
        words = list(test.link)
        at = words.index("-o")
        words[at + 1] = program
        if changed is not None:
            words.insert(at, changed)  # before the archives: its twin there is not taken
        return run_tool(words, self.work)

    def _passes(self, test, program):
        """Run it; a test that hangs, crashes or eats memory has seen the fault."""
        try:
            done = subprocess.run([program], cwd=self.work, env=self.environment,
                                  stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                  stderr=subprocess.DEVNULL, timeout=test.limit_s,
                                  preexec_fn=limit_child, check=False)
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0

    def _object(self, path, text, target):
        """Compile that text in the place of that source."""
        source = os.path.join(self.root, path)
        command = self.compile[source]
        named = f'#line 1 "{path}"\n{text}'
        return run_tool(command + ["-x", "c", "-c", "-", "-o", target], self.build, named)

    def _bytes(self, target):
        with open(target, "rb") as file:
            return file.read()

    def learn(self, path, text):
        """Compile the unchanged source, to know its object."""
        with self.lock:
            if path not in self.original:
                target = os.path.join(self.work, path.replace("/", "-") + ".o")
                status, said = self._object(path, text, target)
                if status != 0:
                    raise SystemExit(f"mutation: {path} does not compile as it is\n{said}")
                self.original[path] = self._bytes(target)

    def judge(self, mutant):
        """(result, name of the test that saw it or "", seconds)."""
        start = time.monotonic()
        name = f"m{threading.get_ident()}"
        target = os.path.join(self.work, name + ".o")
        program = os.path.join(self.work, name)
        self.learn(mutant.path, mutant.source)
        status, _ = self._object(mutant.path, mutant.text, target)
        if status != 0:
            return NOT_COMPILED, "", time.monotonic() - start
        if self._bytes(target) == self.original[mutant.path]:
            return EQUAL, "", time.monotonic() - start
        first = self.last_killer.get(mutant.path)
        archive = self.archive[os.path.join(self.root, mutant.path)]
        tests = [test for test in self.tests if archive in test.link]
        for test in sorted(tests, key=lambda t: t.name != first):
            status, said = self._link(test, target, program)
            if status != 0:
                raise SystemExit(f"mutation: cannot link {test.name} with {mutant.path}\n{said}")
            if not self._passes(test, program):
                self.last_killer[mutant.path] = test.name
                return KILLED, test.name, time.monotonic() - start
        return SURVIVED, "", time.monotonic() - start
