"""A true USB device whose interface is of a vendor-specific class, made with FunctionFS on the loop-back controller.

It is a USB device in every way: the kernel gives it to the driver that claims such pads.
"""

from __future__ import annotations

import os
import struct
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path

_GADGET = Path("/sys/kernel/config/usb_gadget/claimed")
_FILES = Path("/run/claimed")
_CONTROLLERS = Path("/sys/class/udc")


class VendorPad:
    """A pad with one interface, an interrupt IN and an interrupt OUT endpoint; plugged in when made.

    `heard` is called with what the host sends, in a thread.
    """

    def __init__(self, ids: tuple[int, int], protocol: tuple[int, int], name: str, serial: str) -> None:
        self.written: list[bytes] = []
        self.heard: Callable[[bytes], object] = lambda report: None
        _GADGET.mkdir()
        for key, value in {"idVendor": ids[0], "idProduct": ids[1], "bcdDevice": 0x0110, "bcdUSB": 0x0200}.items():
            (_GADGET / key).write_text(hex(value))
        (_GADGET / "strings/0x409").mkdir()
        for key, text in {"manufacturer": "Rig", "product": name, "serialnumber": serial}.items():
            (_GADGET / "strings/0x409" / key).write_text(text)
        (_GADGET / "configs/c.1").mkdir()
        (_GADGET / "functions/ffs.claimed").mkdir()
        (_GADGET / "configs/c.1/ffs.claimed").symlink_to(_GADGET / "functions/ffs.claimed")
        _FILES.mkdir(parents=True, exist_ok=True)
        subprocess.run(["mount", "-t", "functionfs", "claimed", str(_FILES)], check=True)
        self._control = os.open(_FILES / "ep0", os.O_RDWR)
        os.write(self._control, _descriptors(*protocol))
        os.write(self._control, struct.pack("<IIII", 2, 16, 0, 0))  # no strings
        self._in = os.open(_FILES / "ep1", os.O_RDWR)
        self._out = os.open(_FILES / "ep2", os.O_RDWR)
        self._gone = False
        self.plug()
        threading.Thread(target=self._listen, daemon=True).start()
        threading.Thread(target=self._answer, daemon=True).start()

    def plug(self) -> None:
        """Plug it in (again)."""
        (_GADGET / "UDC").write_text(next(_CONTROLLERS.iterdir()).name)

    def unplug(self) -> None:
        """Pull the plug."""
        (_GADGET / "UDC").write_text("\n")

    def remove(self) -> None:
        """Take it away for good, so that another one can be made."""
        self._gone = True
        self.unplug()
        for handle in (self._in, self._out, self._control):
            os.close(handle)
        (_GADGET / "configs/c.1/ffs.claimed").unlink()
        (_GADGET / "configs/c.1").rmdir()
        (_GADGET / "functions/ffs.claimed").rmdir()
        (_GADGET / "strings/0x409").rmdir()
        _GADGET.rmdir()
        subprocess.run(["umount", str(_FILES)], check=False)

    def feed(self, report: bytes) -> bool:
        """One report; waits until the host has asked for it. False when it was unplugged meanwhile."""
        try:
            return os.write(self._in, report) == len(report)
        except OSError:
            return False

    def feed_at(self, make: Callable[[int], bytes], count: int, rate_hz: float) -> float:
        """So many reports at a rate; the rate that was reached. The loop-back controller moves them at the kernel's
        tick, some milliseconds, so a high rate is not."""
        begin = time.perf_counter()
        for number in range(count):
            while time.perf_counter() < begin + number / rate_hz:
                time.sleep(0.0001)
            self.feed(make(number))
        return count / (time.perf_counter() - begin)

    def _listen(self) -> None:
        while not self._gone:
            try:
                report = os.read(self._out, 64)
            except OSError:  # unplugged
                time.sleep(0.005)
                continue
            self.written.append(report)
            self.heard(report)

    def _answer(self) -> None:
        """Events of the control endpoint have to be taken; there is nothing to do about them."""
        while not self._gone:
            try:
                os.read(self._control, 256)
            except OSError:
                time.sleep(0.005)


def _descriptors(subclass: int, protocol: int) -> bytes:
    """Version 2 of FunctionFS's descriptors: the interface and its two endpoints, at full and at high speed."""
    interface = struct.pack("<9B", 9, 4, 0, 0, 2, 0xFF, subclass, protocol, 0)
    ends = [
        b"".join(struct.pack("<BBBBHB", 7, 5, address, 3, 64, interval) for address in (0x81, 0x02))
        for interval in (1, 4)  # 1 ms each
    ]
    body = struct.pack("<II", 3, 3) + interface + ends[0] + interface + ends[1]
    return struct.pack("<III", 3, 12 + len(body), 3) + body
