"""The rig keeps the kernel's rules, and the udev rule that ships tells game controllers from the rest."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

from station import RESOURCES
from tests.rig import fakehid, pad

PROBE = """
import hidraw, sys
device = hidraw.device()
device.open_path(hidraw.enumerate()[0]["path"])
print("ready", flush=True)
sys.stdin.readline()
seen = []
try:
    while report := bytes(device.read(64, 1000)):
        seen.append(report[3] | report[4] << 8)
except OSError as error:
    print(len(seen), seen[-1] if seen else None, error, flush=True)
"""


@pytest.mark.skipif(bool(fakehid.unavailable()), reason=fakehid.unavailable() or "available")
def test_a_stalled_reader_gets_the_first_63_reports_and_then_the_news_that_the_device_is_gone() -> None:
    with fakehid.Rig() as rig:
        device = rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
        with subprocess.Popen(
            [sys.executable, "-c", PROBE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=rig.env(),
            text=True,
        ) as probe:
            assert probe.stdout is not None
            assert probe.stdin is not None
            assert probe.stdout.readline() == "ready\n"
            kept = [device.feed(pad.numbered(n)) for n in range(200)]
            probe.stdin.write("\n")
            probe.stdin.flush()
            while device._fullest():
                os.sched_yield()
            device.unplug()
            assert probe.stdout.readline() == "63 62 read error\n"
        assert kept == [True] * 63 + [False] * 137
        assert device.dropped == 137


RULE = RESOURCES / "70-restpoint.rules"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="udev is Linux's")
@pytest.mark.parametrize(
    ("descriptor", "granted"),
    [
        pytest.param(pad.DESCRIPTOR, True, id="a pad"),
        pytest.param(pad.UNNUMBERED, True, id="a pad without report ids"),
        pytest.param(pad.KEYBOARD + pad.DESCRIPTOR, True, id="a pad that names its keys first"),
        pytest.param(pad.KEYBOARD, False, id="a keyboard"),
        pytest.param(pad.MOUSE, False, id="a mouse"),
        pytest.param(pad.VENDOR_ONLY, False, id="a device that does not say what it is"),
        pytest.param(bytes(40) + pad.DESCRIPTOR, True, id="whatever the place in the descriptor"),
    ],
)
def test_the_udev_rule_grants_game_controllers_only(tmp_path: Path, descriptor: bytes, granted: bool) -> None:
    found = re.search(r'^KERNEL.*PROGRAM="(/bin/sh -c \'(.*?)\')"', RULE.read_text(), re.MULTILINE)
    assert found is not None
    folder = tmp_path / "device"
    folder.mkdir()
    (folder / "report_descriptor").write_bytes(descriptor)
    script = found[2].replace("/sys$devpath", str(tmp_path))
    assert (subprocess.run(["/bin/sh", "-c", script], check=False).returncode == 0) is granted


@pytest.mark.parametrize(
    ("interfaces", "granted"),
    [
        pytest.param(":ff5d01:", True, id="a wired pad"),
        pytest.param(":ff5d01:ff5d03:ff5d02:fffd13:", True, id="a wired pad with sound"),
        pytest.param(":ff5d81:ff5d82:", True, id="a receiver"),
        pytest.param(":ff47d0:", True, id="a pad that has to be started"),
        pytest.param(":ff5d02:", False, id="the sound alone"),
        pytest.param(":ffff00:", False, id="something of a vendor"),
        pytest.param(":030101:", False, id="a keyboard"),
        pytest.param(":ff5d01:030101:", False, id="a pad that is a keyboard too"),
        pytest.param(":030102:ff47d0:", False, id="a pad that is a mouse too"),
        pytest.param(":030000:ff5d01:", True, id="a pad with a plain HID interface"),
    ],
)
def test_the_udev_rule_grants_pads_that_no_hid_driver_presents(interfaces: str, granted: bool) -> None:
    """As udev matches: any of the patterns that | parts (udev(7))."""
    rule = re.search(r'^SUBSYSTEM=="usb".*$', RULE.read_text(), re.MULTILINE)
    assert rule is not None
    wanted, unwanted = (re.search(rf'ID_USB_INTERFACES}}{sign}"([^"]*)"', rule[0]) for sign in ("==", "!="))
    assert wanted is not None
    assert unwanted is not None

    def matches(patterns: str) -> bool:
        return any(fnmatchcase(interfaces, one) for one in patterns.split("|"))

    assert (matches(wanted[1]) and not matches(unwanted[1])) is granted


def test_the_rules_file_is_read_before_access_is_granted() -> None:
    assert int(RULE.name.split("-")[0]) < 73
