"""In which socket a device is, by the names that Linux gives them."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.sources.sockets import socket_of


@pytest.mark.parametrize(
    ("device", "socket"),
    [
        ("pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/0003:1209:0001.0004", "1-2"),
        ("pci0000:00/0000:00:14.0/usb3/3-1/3-1.4/3-1.4.2/3-1.4.2:1.3/0003:1209:0001.0007", "3-1.4.2"),
        ("virtual/misc/uhid/0005:1209:0001.0009", ""),
    ],
    ids=["at the computer", "behind two hubs", "by radio"],
)
def test_of_a_node(tmp_path: Path, device: str, socket: str) -> None:
    place = tmp_path / "devices" / device
    place.mkdir(parents=True)
    node = tmp_path / "class" / "hidraw" / "hidraw5"
    node.mkdir(parents=True)
    (node / "device").symlink_to(place)
    assert socket_of("/dev/hidraw5", tmp_path) == socket


@pytest.mark.parametrize(
    ("key", "socket"), [("1-2.3:1.0", "1-2.3:1.0"), ("\\\\?\\hid#vid_1209", ""), ("simulated:4", "")]
)
def test_of_other_keys(tmp_path: Path, key: str, socket: str) -> None:
    assert socket_of(key, tmp_path) == socket


def test_a_node_that_is_gone(tmp_path: Path) -> None:
    assert socket_of("/dev/hidraw9", tmp_path) == ""
