# SPDX-License-Identifier: Apache-2.0
"""test_packages - the Debian packages: what is in them, and that they install, run, and go again.

They are built from the build folder as it is, installed by dpkg into a scratch root, and removed. What
must be in a package is Debian Policy's: 12.3 and 12.5 (changelog, copyright), 12.1 (manual page),
10.1 (stripped programs), 10.7.3 (files of /etc that people may have changed).
"""

import gzip
import os
import pathlib
import re
import shutil
import stat
import subprocess
import sys
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
BUILD = pathlib.Path(os.environ["TL_BUILD_DIR"])
SKIPPED = 77
NEEDED = ("cpack", "dpkg", "dpkg-deb", "dpkg-shlibdeps", "systemd-sysusers", "systemd-tmpfiles")
UNIT_DIR = "usr/lib/systemd/system/"
# Without its changelog and copyright, which all have.
CONTENT = {
    "trapline-common": {
        "etc/default/trapline", "usr/lib/sysusers.d/trapline.conf",
        "usr/lib/tmpfiles.d/trapline.conf", UNIT_DIR + "trapline.target",
        UNIT_DIR + "trapline-.service.d/sandbox.conf"},
    "trapline-broker": {
        "usr/bin/trapline-broker", "usr/share/man/man1/trapline-broker.1.gz",
        UNIT_DIR + "trapline-broker@.service"},
    "trapline-validator": {
        "usr/bin/trapline-validator", "usr/share/man/man1/trapline-validator.1.gz",
        UNIT_DIR + "trapline-validator@.service"},
    "trapline-recorder": {
        "usr/bin/trapline-recorder", "usr/share/man/man1/trapline-recorder.1.gz",
        UNIT_DIR + "trapline-recorder@.service"},
    "trapline": {
        "usr/bin/trapline", "usr/share/man/man1/trapline.1.gz",
        "usr/share/man/man1/trapline-plan.1.gz", "usr/share/man/man1/trapline-log.1.gz",
        "usr/share/bash-completion/completions/trapline", UNIT_DIR + "trapline-station@.service"},
}
DOC = "usr/share/doc/trapline-doc/"
USERS = ["trapline-broker", "trapline-validator", "trapline-recorder", "trapline-station"]
held = tempfile.TemporaryDirectory(prefix="trapline-packages-")
DEBS = pathlib.Path(held.name) / "debs"


def run(*words, **more):
    done = subprocess.run([str(word) for word in words], stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, **more)
    assert done.returncode == 0, "%s: exit %d\n%s" % (words, done.returncode, done.stdout)
    return done.stdout


def version():
    """That of project(), which is where a person changes it."""
    text = (SOURCE / "CMakeLists.txt").read_text()
    return re.search(r"project\(trapline VERSION (\S+)", text)[1]


def packages():
    """Name of the package -> its file."""
    return {run("dpkg-deb", "-f", path, "Package").strip(): path for path in DEBS.glob("*.deb")}


def files_of(path):
    """Name -> mode, of the files of a package; folders and links are left out."""
    listed = [line.split(None, 5) for line in run("dpkg-deb", "-c", path).splitlines()]
    return {words[5][2:]: words[0] for words in listed if words[0][0] == "-"}


class Root:
    """A scratch root that dpkg installs into, as root or as if."""

    def __init__(self, test):
        self.dir = pathlib.Path(tempfile.mkdtemp(dir=held.name))
        test.addCleanup(shutil.rmtree, self.dir, ignore_errors=True)
        admin = self.dir / "var/lib/dpkg"
        for name in ("info", "updates"):
            (admin / name).mkdir(parents=True)
        (admin / "status").touch()
        (self.dir / "etc").mkdir()

    def dpkg(self, *words):
        """Its scripts run outside with DPKG_ROOT set; what else a host has is not in that root."""
        return run("dpkg", "--root=%s" % self.dir, "--force-script-chrootless", "--force-depends",
                   "--force-not-root", "--force-confold", "--log=/dev/null", *words,
                   env=dict(os.environ, DEBIAN_FRONTEND="noninteractive",
                            PATH=os.environ["PATH"] + ":/usr/sbin:/sbin"))

    def mode(self, path):
        return "%o" % stat.S_IMODE((self.dir / path).stat().st_mode)


class Packages(unittest.TestCase):
    def test_version_stands_in_one_place(self):
        said = run(BUILD / "clients" / "trapline", "--version").split()
        self.assertEqual(said, ["trapline", version()])
        newest = re.search(r"^## (\S+), \d{4}-\d\d-\d\d$",
                           (SOURCE / "docs" / "changelog.md").read_text(), re.M)
        self.assertEqual(newest[1], version())
        for name, path in packages().items():
            self.assertEqual(run("dpkg-deb", "-f", path, "Version").strip(), version(), name)

    def test_each_file_is_in_the_package_where_people_look_for_it(self):
        there = packages()
        self.assertEqual(set(there), set(CONTENT) | {"trapline-doc"})
        for name, wanted in CONTENT.items():
            doc = "usr/share/doc/%s/" % name
            self.assertEqual(set(files_of(there[name])),
                             wanted | {doc + "copyright", doc + "changelog.gz"}, name)
        docs = set(files_of(there["trapline-doc"]))
        for path in list((SOURCE / "docs").glob("*.md")) + [SOURCE / "README.md"]:
            self.assertIn(DOC + path.name, docs)
        demo = {path for path in docs if path.startswith(DOC + "examples/")}
        self.assertEqual(demo, {DOC + "examples/demo/%s.yaml" % name for name in
                                ("aircraft", "bus", "gear", "ship", "stations")})

    def test_modes_are_those_of_programs_and_of_files(self):
        for name, path in packages().items():
            for file, mode in files_of(path).items():
                want = "-rwxr-xr-x" if file.startswith("usr/bin/") else "-rw-r--r--"
                self.assertEqual(mode, want, (name, file))

    def test_programs_need_the_libraries_that_they_are_linked_with(self):
        there = packages()
        for name in set(CONTENT) - {"trapline-common"}:
            needs = run("dpkg-deb", "-f", there[name], "Depends")
            self.assertIn("trapline-common (= %s)" % version(), needs)
            for library in ("libc6", "libzmq5", "libsodium23", "libprotobuf-c1"):
                self.assertIn(library, needs, name)
        self.assertIn("libsqlite3-0", run("dpkg-deb", "-f", there["trapline-recorder"], "Depends"))
        self.assertNotIn("libsqlite3-0", run("dpkg-deb", "-f", there["trapline-broker"], "Depends"))

    @unittest.skipIf(os.geteuid() != 0, "only root can give folders to the users of services")
    def test_they_install_run_and_go_and_what_is_the_ship_s_stays(self):
        root = Root(self)
        debs = sorted(packages().values())
        root.dpkg("--install", *debs)
        self.assertEqual(run(root.dir / "usr/bin/trapline", "--version").split()[1], version())
        for program in ("broker", "validator", "recorder"):
            words = root.dir / "usr/bin" / ("trapline-" + program)
            self.assertIn("usage: trapline-" + program, run(words, "--help"))
            sections = run("readelf", "--section-headers", "--wide", words)
            self.assertNotIn(".debug_info", sections)
            self.assertNotIn(".symtab", sections)
        self.check_host(root)
        self.check_texts(root)

        default = root.dir / "etc/default/trapline"
        default.write_text("TRAPLINE_CONFIG=/srv/trapline\n")
        record = root.dir / "var/lib/trapline-recorder/recorder-1.db"
        record.parent.mkdir()
        record.write_text("a record")
        root.dpkg("--install", *debs)
        self.assertEqual(default.read_text(), "TRAPLINE_CONFIG=/srv/trapline\n")

        root.dpkg("--remove", *packages())
        left = {str(path.relative_to(root.dir)) for path in root.dir.rglob("*")
                if path.is_file() and not path.is_relative_to(root.dir / "var/lib/dpkg")}
        left = {path for path in left if "trapline" in path}
        kept = {path for path in left if path.startswith("etc/trapline/")}
        self.assertTrue({"etc/trapline/keys.yaml", "etc/trapline/identity/bus-a.1.key"} <= kept)
        self.assertEqual(left - kept, {"etc/default/trapline", str(record.relative_to(root.dir))})
        root.dpkg("--purge", "trapline-common")
        self.assertFalse(default.exists())
        self.assertTrue(record.exists())

    def check_host(self, root):
        """Users and folders that the services ask for, as the first package makes them."""
        passwd = (root.dir / "etc/passwd").read_text()
        members = re.search(r"^trapline:[^:]*:\d+:(.*)$", (root.dir / "etc/group").read_text(), re.M)
        for user in USERS:
            line = re.search(r"^%s:.*$" % user, passwd, re.M)[0]
            self.assertIn("nologin", line)
            self.assertIn(user, members[1].split(","))
        for path, mode in (("var/lib/trapline", "1770"), ("run/trapline", "1770"),
                           ("etc/trapline", "755"), ("etc/trapline/identity", "711")):
            self.assertEqual(root.mode(path), mode, path)

    def check_texts(self, root):
        for name in list(CONTENT) + ["trapline-doc"]:
            doc = root.dir / "usr/share/doc" / name
            news = gzip.decompress((doc / "changelog.gz").read_bytes()).decode()
            self.assertTrue(news.startswith("trapline (%s) bookworm; urgency=" % version()), news)
            self.assertRegex(news, r"\n -- .+ <.+@.+>  [A-Z][a-z]{2}, \d\d [A-Z][a-z]{2} \d{4} ")
            self.assertIn("Apache-2.0", (doc / "copyright").read_text())
        for page in (root.dir / "usr/share/man/man1").iterdir():
            self.assertIn(b'.TH "%s" "1"' % page.name[:-len(".1.gz")].encode(),
                          gzip.decompress(page.read_bytes()))
        run(root.dir / "usr/bin/trapline", "check", "-C", self.demo(root))

    def demo(self, root):
        """The example as an installer copies it: keys are made for it, and then it can be used."""
        folder = root.dir / "etc/trapline"
        for path in (root.dir / DOC / "examples/demo").iterdir():
            shutil.copy(path, folder)
        run(root.dir / "usr/bin/trapline", "keys", "new", "-C", folder, "--all")
        return folder

    def test_lintian_has_no_error(self):
        if shutil.which("lintian") is None:
            self.skipTest("lintian is not here (package lintian)")
        run("lintian", "--fail-on=error", "--allow-root", *packages().values())


if __name__ == "__main__":
    missing = [name for name in NEEDED
               if shutil.which(name, path=os.environ["PATH"] + ":/usr/sbin:/sbin") is None]
    if missing:
        print("skipped: not here: %s" % ", ".join(missing))
        sys.exit(SKIPPED)
    if os.environ.get("TL_INSTRUMENTED"):
        print("skipped: an instrumented build is not what a ship gets")
        sys.exit(SKIPPED)
    with held:
        print(run("cpack", "--config", BUILD / "CPackConfig.cmake", "-B", DEBS).splitlines()[-1])
        unittest.main(verbosity=2)
