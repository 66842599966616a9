"""The only import of hidapi, and the only module that touches a device.

Runs in child processes only (`sources.reader`, `sources.watch`): opening, closing and the string getters of
the wheel hold the GIL, and a driver that hangs or crashes must not take the window with it.

On Linux the wheel's `hidraw` module is the kernel's own hidraw; its `hid` module there is libusb, which takes the
interface from the kernel's driver and gives it back on closing. It opens what `vendor_class` finds, by the name of the
interface, and nothing else: never a HID interface. Elsewhere `hid` is the only one.

`read` always has a time-out (without one the wheel waits for ever), an unplug shows as OSError, and `write`
on a lost device returns −1 without raising.
"""

from __future__ import annotations

import errno
import importlib
import os
import sys
from dataclasses import dataclass
from typing import Any, Literal

from station.sources.usb_node import PROGRAM, may_open
from station.sources.vendor_class import Interface, interface, interfaces, is_interface
from station.words import devices as words

ProblemKind = Literal["denied", "busy", "gone", "other", "replaced", "unknown"]
MAX_READ = 4096
_BUSES = {1: "usb", 2: "bluetooth"}
_ERRNO: dict[int, ProblemKind] = {
    errno.EACCES: "denied",
    errno.EPERM: "denied",
    errno.EBUSY: "busy",
    errno.ENOENT: "gone",
    errno.ENODEV: "gone",
    errno.ENXIO: "gone",
}


class PortError(Exception):
    """A device that cannot be opened or used; `kind` says why. Internal to the child processes."""

    def __init__(self, kind: ProblemKind, detail: str) -> None:
        super().__init__(detail)
        self.kind = kind


@dataclass(frozen=True, slots=True)
class Node:
    """One openable node as enumeration shows it; strings untouched. A node may hold several collections."""

    path: bytes
    vendor_id: int
    product_id: int
    product: str
    serial: str
    bus: str
    usages: tuple[int, ...]
    generation: int
    """differs when the node was made anew under the same path (0 where that cannot be told)"""
    interface: str = ""
    """class, subclass and protocol in hexadecimal of one that no HID driver presents"""
    place: int = 0
    """which pad of its receiver it is, from 1; 0: no pad of a receiver"""


def _hidapi(path: bytes = b"") -> Any:
    name = "hidraw" if sys.platform.startswith("linux") and not is_interface(os.fsdecode(path)) else "hid"
    try:
        return importlib.import_module(name)
    except ImportError as error:
        raise PortError("other", words.NO_MODULE.format(name=name, reason=error)) from error


def enumerate_nodes() -> list[Node]:
    """All HID nodes that the system shows, and the interfaces that no HID driver presents. Opens none of them."""
    found: dict[bytes, Node] = {}
    for entry in _hidapi().enumerate():
        path: bytes = entry["path"]
        usage = (int(entry.get("usage_page") or 0) << 16) | int(entry.get("usage") or 0)
        usages: tuple[int, ...] = (usage,) if usage else ()
        if path in found:
            usages = found[path].usages + tuple(u for u in usages if u not in found[path].usages)
        found[path] = Node(
            path,
            int(entry["vendor_id"]),
            int(entry["product_id"]),
            str(entry.get("product_string") or ""),
            str(entry.get("serial_number") or ""),
            _BUSES.get(int(entry.get("bus_type") or 0), "usb"),
            usages,
            _generation(path),
        )
    return [*found.values(), *(_node(one) for one in interfaces())]


def _node(one: Interface) -> Node:
    """Each plug has another device number; the node's own times change with its use."""
    generation = hash((one.node, _inode(one.node)))
    path = os.fsencode(one.name)
    return Node(
        path, one.vendor_id, one.product_id, one.product, one.serial, "usb", (), generation, one.protocol, one.place
    )


def _inode(path: str) -> int:
    try:
        return os.stat(path).st_ino
    except OSError:
        return 0


def _generation(path: bytes) -> int:
    """Node numbers are used again at once after an unplug, but the new node is a new inode."""
    try:
        status = os.stat(path)
    except (OSError, ValueError):
        return 0
    return hash((status.st_ino, status.st_mtime_ns))  # not the change time: udev sets rights after making it


class Port:
    """An open device."""

    def __init__(self, path: bytes) -> None:
        name = os.fsdecode(path)
        self._claims = is_interface(name)
        if self._claims and interface(name) is None:
            raise PortError("gone", "")
        self._device = _hidapi(path).device()
        try:
            self._device.open_path(path)
        except OSError as error:
            raise (_why_not_claimed(name) if self._claims else _why(path, self._device)) from error

    def descriptor(self) -> bytes:
        """The report descriptor; empty when the device gives none."""
        try:
            return bytes(self._device.get_report_descriptor())
        except (OSError, ValueError):
            return b""

    def serial(self) -> str:
        """The serial number; empty when the device gives none."""
        try:
            return str(self._device.get_serial_number_string() or "")
        except (OSError, ValueError):
            return ""

    def read(self, timeout_ms: int) -> bytes:
        """The next report, or nothing after `timeout_ms` (> 0). OSError when the device is gone."""
        return bytes(self._device.read(MAX_READ, timeout_ms))

    def send(self, report: bytes, feature: bool) -> None:
        """Send an output or feature report, id first (0 where ids are not used; an interface that is no HID's takes the
        bytes as they are). PortError when it fails."""
        if self._claims and report[:1] == b"\0":
            report = b"\0" + report  # hidapi takes a leading 0 for "no id" and leaves it out
        send = self._device.send_feature_report if feature else self._device.write
        try:
            sent = send(report)
        except (OSError, ValueError) as error:
            raise PortError("other", str(error)) from error
        if sent < 0:  # libusb's back end has no words for it (hidapi 0.15: hid_error is not implemented)
            raise PortError("other", "" if self._claims else str(self._device.error()))

    def get_feature(self, report_id: int, size: int, bare: bool) -> bytes:
        """A feature report as its layout counts it (id first where ids are used, cut to `size`). May take seconds.

        PortError when the device does not give it. hidapi puts the id into the first byte, 0 where ids are not used.
        `bare`: without ids it does not, and the report begins at once. So it is on Linux where the driver below
        hidraw hands the device's answer on as it is (hidp and uhid, that is Bluetooth).
        """
        bare = bare and not report_id
        try:
            found = bytes(self._device.get_feature_report(report_id, size + (not report_id)))
        except (OSError, ValueError) as error:
            raise PortError("other", str(error)) from error
        if not found or (found[0] != report_id and not bare):
            raise PortError("other", words.OTHER_REPORT)
        return found[:size] if report_id or bare else found[1:]

    def close(self) -> None:
        """Only after the last `read` has returned: the wheel frees the handle under a running one."""
        self._device.close()


def _why(path: bytes, device: Any) -> PortError:
    """Why a node could not be opened: hidapi tells in words only, the system in a number."""
    detail = str(device.error()) if hasattr(device, "error") else ""
    if path.startswith(b"/dev/"):
        try:
            os.close(os.open(path, os.O_RDWR | getattr(os, "O_NONBLOCK", 0)))
        except OSError as error:
            return PortError(_ERRNO.get(error.errno or 0, "other"), error.strerror or detail)
    return PortError("busy", detail)


def _why_not_claimed(name: str) -> PortError:
    """Why an interface could not be taken: hidapi does not tell, the system's files do."""
    one = interface(name)
    if one is None or not os.path.exists(one.node):
        return PortError("gone", "")
    if not may_open(one.node):
        return PortError("denied", "")
    if one.driver == PROGRAM:
        return PortError("busy", "")
    return PortError("other" if library_knows(one) or interface(name) != one else "unknown", "")


def library_knows(one: Interface) -> bool:
    """Whether hidapi takes this interface for a pad: it has a list of vendor numbers. It opens the node to read names,
    and claims nothing. For a fresh process: hidapi may list only what was there when it was loaded."""
    try:
        found = _hidapi(os.fsencode(one.name)).enumerate(one.vendor_id, one.product_id)
    except OSError:
        return True
    return any(os.fsdecode(entry["path"]) == one.name for entry in found)
