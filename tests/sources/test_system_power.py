"""The kernel's batteries in a made-up sysfs, laid out as Documentation/ABI/testing/sysfs-class-power has it.

The links are those of a real machine: class entries point into /sys/devices, `device` points to the parent device.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from station.sources.system_power import battery_of, supplies_of

PAD, OTHER = "0003:1209:0001.0001", "0003:1209:0001.0002"


class Machine:
    """A sysfs tree under a folder."""

    def __init__(self, root: Path) -> None:
        self.root = root
        for folder in ("class/hidraw", "class/power_supply", "devices"):
            (root / folder).mkdir(parents=True)

    def node(self, name: str, device: str) -> None:
        folder = self.root / "devices" / device / "hidraw" / name
        folder.mkdir(parents=True)
        (folder / "device").symlink_to(f"../../../{device}")
        (self.root / "class/hidraw" / name).symlink_to(os.path.relpath(folder, self.root / "class/hidraw"))

    def supply(self, name: str, device: str, **values: str) -> None:
        folder = self.root / "devices" / device / "power_supply" / name
        folder.mkdir(parents=True)
        (folder / "device").symlink_to(f"../../../{device}")
        for key, value in values.items():
            (folder / key).write_text(value + "\n")
        (self.root / "class/power_supply" / name).symlink_to(os.path.relpath(folder, self.root / "class/power_supply"))


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    made = Machine(tmp_path)
    made.node("hidraw0", PAD)
    made.node("hidraw1", OTHER)
    made.supply("AC", "ACPI0003:00", type="Mains", online="1")
    made.supply("BAT0", "PNP0C0A:00", type="Battery", capacity="80", status="Charging")
    return made


@pytest.mark.parametrize(
    ("values", "said"),
    [
        pytest.param(
            {"type": "Battery", "scope": "Device", "capacity": "64", "status": "Discharging"},
            {"capacity": "64", "status": "Discharging"},
            id="percent",
        ),
        pytest.param(
            {"type": "Battery", "capacity_level": "Normal", "status": "Unknown"},
            {"capacity_level": "Normal", "status": "Unknown"},
            id="a word instead of percent",
        ),
        pytest.param({"type": "USB", "online": "1"}, {}, id="a supply that is no battery"),
        pytest.param({"type": "Battery"}, {}, id="a battery that says nothing"),
        pytest.param({"type": "Battery", "capacity": "9" * 5000}, {"capacity": "9" * 64}, id="however much it says"),
    ],
)
def test_the_battery_whose_parent_is_the_nodes_device_is_read(
    machine: Machine, values: dict[str, str], said: dict[str, str]
) -> None:
    machine.supply("hid-battery", PAD, **values)
    assert battery_of("/dev/hidraw0", str(machine.root)) == said
    assert battery_of("/dev/hidraw1", str(machine.root)) == {}, "the same model beside it"


def test_a_value_that_cannot_be_read_is_left_out(machine: Machine) -> None:
    machine.supply("hid-battery", PAD, type="Battery", status="Full")
    (machine.root / "class/power_supply/hid-battery/capacity").mkdir()  # open() fails, as with ENODATA
    assert battery_of("/dev/hidraw0", str(machine.root)) == {"status": "Full"}


@pytest.mark.parametrize("node", ["/dev/hidraw7", "1-4:1.0", ""], ids=["no such node", "another system's path", "none"])
def test_a_device_that_sysfs_does_not_know_has_no_battery(machine: Machine, node: str) -> None:
    assert supplies_of(node, str(machine.root)) == ()
    assert battery_of(node, str(machine.root)) == {}


def test_a_system_without_sysfs_has_none(tmp_path: Path) -> None:
    assert battery_of("/dev/hidraw0", str(tmp_path / "nothing")) == {}
