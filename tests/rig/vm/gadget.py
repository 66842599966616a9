"""A true USB device: the kernel's HID gadget on its loop-back controller (modules dummy_hcd, libcomposite, usb_f_hid).

What the program sees went through the USB core and usbhid: strings, serial number, interface numbers, bus.
"""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from pathlib import Path

_GADGETS = Path("/sys/kernel/config/usb_gadget")
_CONTROLLERS = Path("/sys/class/udc")


class Gadget:
    """A device with one HID interface for each (descriptor, longest report); plugged in when made."""

    def __init__(
        self, interfaces: Sequence[tuple[bytes, int]], vendor: int, product: int, name: str, serial: str
    ) -> None:
        self._at = _GADGETS / "rig"
        self._at.mkdir()
        for key, value in {"idVendor": vendor, "idProduct": product, "bcdDevice": 0x0110, "bcdUSB": 0x0200}.items():
            self._set(key, hex(value))
        (self._at / "strings/0x409").mkdir()
        for key, text in {"manufacturer": "Rig", "product": name, "serialnumber": serial}.items():
            self._set(f"strings/0x409/{key}", text)
        (self._at / "configs/c.1").mkdir()
        for number, (descriptor, longest) in enumerate(interfaces):
            function = self._at / f"functions/hid.usb{number}"
            function.mkdir()
            for key in ("protocol", "subclass"):
                (function / key).write_text("0")
            (function / "report_length").write_text(str(longest))
            (function / "report_desc").write_bytes(descriptor)
            (self._at / f"configs/c.1/hid.usb{number}").symlink_to(function)
        self._controller = next(_CONTROLLERS.iterdir()).name
        self.plug()
        self._ends = [self._end(number) for number in range(len(interfaces))]

    def feed(self, report: bytes, interface: int = 0) -> None:
        """One input report; waits until the host has asked for it."""
        os.write(self._ends[interface], report)

    def received(self, interface: int = 0) -> bytes:
        """An output report that the host sent; empty when there is none."""
        os.set_blocking(self._ends[interface], False)
        try:
            return os.read(self._ends[interface], 64)
        except BlockingIOError:
            return b""
        finally:
            os.set_blocking(self._ends[interface], True)

    def plug(self) -> None:
        """Plug it in (again)."""
        self._set("UDC", self._controller)

    def unplug(self) -> None:
        """Pull the plug."""
        self._set("UDC", "\n")

    def _set(self, key: str, text: str) -> None:
        (self._at / key).write_text(text)

    @staticmethod
    def _end(number: int) -> int:
        path, end = f"/dev/hidg{number}", time.monotonic() + 5
        while not os.path.exists(path) and time.monotonic() < end:
            time.sleep(0.005)
        return os.open(path, os.O_RDWR)
