# SPDX-License-Identifier: Apache-2.0
"""test_units - what the services of systemd promise: how they start, what they may, when they come back.

Judged by systemd's own tools: `systemd-analyze verify`, and `systemd-analyze security`, whose exposure
of each service must be 1.5 or less. Names and defaults as in systemd.service(5) and systemd.exec(5).
"""

import configparser
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
BUILD = pathlib.Path(os.environ["TL_BUILD_DIR"])
UNITS = SOURCE / "configs" / "systemd"
SHARED = "trapline-.service.d/sandbox.conf"
SKIPPED = 77
EXPOSURE_MAX = 15  # tenths

PROGRAMS = {"trapline": BUILD / "clients" / "trapline"}
for program, room in (("broker", "relay"), ("validator", "validator"), ("recorder", "recorder")):
    PROGRAMS["trapline-" + program] = BUILD / "broker" / room / ("trapline-" + program)
SERVICES = {"broker": "bus-a", "validator": "validator-1", "recorder": "recorder-1",
            "station": "bridge"}


class Folder:
    """The units as an installed host has them, but for the programs, which are those of the build."""

    def __init__(self, test):
        held = tempfile.TemporaryDirectory(prefix="trapline-units-")
        test.addCleanup(held.cleanup)
        self.dir = pathlib.Path(held.name)
        shutil.copytree(UNITS, self.dir, dirs_exist_ok=True)
        for path in list(self.dir.glob("*@.service")):
            instance = SERVICES[path.name[len("trapline-"):-len("@.service")]]
            text = re.sub(r"ExecStart=/usr/bin/(\S+)",
                          lambda match: "ExecStart=%s" % PROGRAMS[match[1]], path.read_text())
            path.with_name(path.name.replace("@.", "@%s." % instance)).write_text(text)
            path.unlink()
        self.services = sorted(self.dir.glob("*@*.service"))

    def analyze(self, *words):
        """(exit code, output) of systemd-analyze with these units and those of the system."""
        done = subprocess.run(["systemd-analyze", "--no-pager", *[str(word) for word in words]],
                              env=dict(os.environ, SYSTEMD_UNIT_PATH="%s:" % self.dir),
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        return done.returncode, done.stdout

    def edit(self, path, old, new):
        path = self.dir / path
        text = path.read_text()
        assert old in text, (path, old)
        path.write_text(text.replace(old, new))


class Values(configparser.RawConfigParser):
    optionxform = staticmethod(str)  # names of systemd keep their case


def settings(service):
    """The settings of that service; systemd reads the shared folder after the unit."""
    values = Values(strict=False)
    values.read([UNITS / ("trapline-%s@.service" % service), UNITS / SHARED])
    return {name: text for part in values.sections() for name, text in values.items(part)}


class Units(unittest.TestCase):
    def test_systemd_finds_nothing_to_say(self):
        folder = Folder(self)
        code, out = folder.analyze("verify", "--man=no", *folder.services,
                                   folder.dir / "trapline.target")
        ours = [line for line in out.splitlines() if "trapline" in line]
        self.assertEqual((code, ours), (0, []))
        folder.edit(SHARED, "ProtectClock=yes", "ProtectClok=yes")
        self.assertIn("ProtectClok", folder.analyze("verify", "--man=no", *folder.services)[1])

    def test_no_service_is_more_exposed_than_one_and_a_half(self):
        folder = Folder(self)
        ask = ("security", "--offline=true", "--threshold=%d" % EXPOSURE_MAX)
        self.assertEqual(len(folder.services), len(SERVICES))
        for service in folder.services:
            code, out = folder.analyze(*ask, service)
            self.assertEqual(code, 0, out)
            print(out.strip().splitlines()[-1])
        folder.edit(SHARED, "CapabilityBoundingSet=\n", "")
        self.assertNotEqual(folder.analyze(*ask, folder.services[0])[0], 0)

    def test_a_node_that_fails_comes_back_within_a_second_for_ever(self):
        for service in SERVICES:
            have = settings(service)
            self.assertEqual(have["Restart"], "always", service)
            self.assertEqual(have["StartLimitIntervalSec"], "0", service)
            match = re.fullmatch(r"(\d+)ms", have["RestartSec"])
            self.assertLess(int(match[1]), 1000, service)

    def test_it_is_up_when_it_says_so_and_ended_when_it_stands_still(self):
        for service in SERVICES:
            have = settings(service)
            self.assertEqual((have["Type"], have["NotifyAccess"]), ("notify", "main"), service)
            self.assertLessEqual(int(have["WatchdogSec"]), 30 if service == "recorder" else 3)
            self.assertEqual(have["WatchdogSignal"], "SIGKILL", service)

    def test_each_node_has_a_user_its_own_secrets_and_limits(self):
        users = set(re.findall(r"^u (\S+) -", (UNITS / "trapline.sysusers").read_text(), re.M))
        for service in SERVICES:
            have = settings(service)
            self.assertIn(have["User"], users)
            self.assertEqual(have["User"], "trapline-" + service)
            self.assertEqual(have["LoadCredential"], "identity:/etc/trapline/identity/%i")
            self.assertEqual(have["CapabilityBoundingSet"], "")
            self.assertEqual(have["LimitCORE"], "0")
            for limit in ("MemoryMax", "TasksMax", "LimitNOFILE", "LogRateLimitBurst"):
                self.assertRegex(have[limit], r"^\d+M?$", (service, limit))
        self.assertEqual(settings("recorder")["StateDirectory"], "trapline-recorder")

    def test_folders_that_services_write_to_are_made(self):
        made = set(re.findall(r"^d (\S+)", (UNITS / "trapline.tmpfiles").read_text(), re.M))
        for service in SERVICES:
            for path in settings(service)["ReadWritePaths"].split():
                self.assertIn(path, made)


if __name__ == "__main__":
    if shutil.which("systemd-analyze") is None:
        print("skipped: systemd-analyze is not here (package systemd)")
        sys.exit(SKIPPED)
    unittest.main(verbosity=2)
