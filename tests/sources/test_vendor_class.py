"""Which USB interfaces are pads that no HID driver presents, told from /sys alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.sources.vendor_class import Interface, interface, interfaces, pad_is_there


def plug(system: Path, name: str, kind: str, *, number: int = 0, serial: str | None = "S1", driver: str = "") -> None:
    """An interface as the kernel shows it (Documentation/ABI/testing/sysfs-bus-usb, sysfs-bus-usb-devices-…)."""
    device, at = (system / "bus" / "usb" / "devices" / part for part in (name.split(":")[0], name))
    for folder in (device, at):
        folder.mkdir(parents=True, exist_ok=True)
    said = {"idVendor": "0e6f", "idProduct": "0001", "product": "Pad", "busnum": "3", "devnum": "12"}
    for key, value in (said | ({"serial": serial} if serial else {})).items():
        (device / key).write_text(value + "\n")
    for key, value in zip(("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol"), kind.split(), strict=True):
        (at / key).write_text(value + "\n")
    (at / "bInterfaceNumber").write_text(f"{number:02x}\n")
    if driver:
        (system / "drivers" / driver).mkdir(parents=True)
        (at / "driver").symlink_to(system / "drivers" / driver)


def test_a_wired_pad_with_all_that_is_known_of_it(tmp_path: Path) -> None:
    plug(tmp_path, "3-1:1.0", "ff 5d 01", driver="usbfs")
    pad = Interface("3-1:1.0", "ff5d01", 0, 0x0E6F, 1, "Pad", "S1", "/dev/bus/usb/003/012", "usbfs")
    assert interfaces(tmp_path) == [pad]
    assert interface("3-1:1.0", tmp_path) == pad


@pytest.mark.parametrize(
    ("kind", "number"),
    [
        pytest.param("03 01 01", 0, id="a keyboard"),
        pytest.param("03 00 00", 0, id="a HID pad"),
        pytest.param("03 5d 01", 0, id="HID with the numbers of such a pad"),
        pytest.param("ff 5d 02", 0, id="its sound"),
        pytest.param("ff 47 d0", 1, id="the second interface of a pad that has to be started"),
        pytest.param("ff ff ff", 0, id="something else of a vendor"),
        pytest.param("08 06 50", 0, id="a disk"),
    ],
)
def test_nothing_else_counts_however_it_is_asked_for(tmp_path: Path, kind: str, number: int) -> None:
    plug(tmp_path, "3-1:1.0", kind, number=number)
    assert interfaces(tmp_path) == []
    assert interface("3-1:1.0", tmp_path) is None


def test_each_interface_of_a_receiver_is_a_pad_without_the_receivers_serial(tmp_path: Path) -> None:
    for number in range(4):
        plug(tmp_path, f"1-2.4:1.{2 * number}", "ff 5d 81", number=2 * number)
        plug(tmp_path, f"1-2.4:1.{2 * number + 1}", "ff 5d 82", number=2 * number + 1)
    found = interfaces(tmp_path)
    assert [(one.number, one.serial) for one in found] == [(0, ""), (2, ""), (4, ""), (6, "")]
    assert len({one.name for one in found}) == 4
    assert [one.place for one in found] == [1, 2, 3, 4]


def test_the_pads_of_two_receivers_are_counted_apart_and_by_number(tmp_path: Path) -> None:
    for port, device in ((1, 12), (2, 13)):
        for number in (10, 2):  # by name 1.10 comes before 1.2
            plug(tmp_path, f"1-{port}:1.{number}", "ff 5d 81", number=number)
            (tmp_path / "bus" / "usb" / "devices" / f"1-{port}" / "devnum").write_text(f"{device}\n")
    plug(tmp_path, "3-1:1.0", "ff 5d 01")
    places = {one.name: one.place for one in interfaces(tmp_path)}
    assert places == {"1-1:1.2": 1, "1-1:1.10": 2, "1-2:1.2": 1, "1-2:1.10": 2, "3-1:1.0": 0}


@pytest.mark.parametrize(
    ("report", "there"),
    [
        pytest.param("08 80", True, id="it was switched on"),
        pytest.param("08 00", False, id="it was switched off"),
        pytest.param("08", None, id="cut short"),
        pytest.param("00 01 00 f0 00 13", True, id="its controls"),
        pytest.param("00 0f 00 f0 f0 cc", None, id="what it is"),
        pytest.param("", None, id="nothing"),
    ],
)
def test_a_receiver_says_whether_its_pad_is_there(report: str, there: bool | None) -> None:
    assert pad_is_there(bytes.fromhex(report)) is there


def test_one_that_is_just_going_away_is_none(tmp_path: Path) -> None:
    plug(tmp_path, "3-1:1.0", "ff 5d 01", serial=None)
    assert interfaces(tmp_path)[0].serial == ""
    (tmp_path / "bus/usb/devices/3-1/devnum").unlink()
    assert interfaces(tmp_path) == []


@pytest.mark.parametrize("name", ["../../etc", "3-1", "/dev/hidraw0", "3-1:1.0/../x", ""])
def test_a_name_that_is_none_is_not_looked_for(tmp_path: Path, name: str) -> None:
    assert interface(name, tmp_path) is None


def test_where_there_is_no_such_system_there_are_none(tmp_path: Path) -> None:
    assert interfaces(tmp_path / "nothing") == []
