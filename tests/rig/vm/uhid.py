"""A pad through /dev/uhid (root, module uhid). The events are those of <linux/uhid.h>, packed.

A uhid device on the USB bus number has no USB device above it; the Bluetooth one looks as Bluetooth does.
"""

from __future__ import annotations

import os
import struct
import threading
import time
from collections.abc import Callable

USB, BLUETOOTH = 3, 5
_DESTROY, _OUTPUT, _GET_REPORT, _GET_REPLY, _CREATE2, _INPUT2, _SET_REPORT, _SET_REPLY = 1, 6, 9, 10, 11, 12, 13, 14
_DATA_MAX = 4096
_EIO = 5


class Uhid:
    """One device; `written` and `set_features` collect what the program sends to it.

    `on_written`, `on_feature` and `on_get` put a test's own device behind it, as `tests.rig.fakehid` has them; here the
    answer is what the device itself would say, without a 0 before it where ids are not used.
    """

    def __init__(self, descriptor: bytes, vendor: int, product: int, name: str, serial: str, bus: int) -> None:
        self.written: list[bytes] = []
        self.features: dict[int, bytes] = {}
        self.set_features: list[bytes] = []
        self.on_written: Callable[[bytes], None] = self.written.append
        self.on_feature: Callable[[bytes], None] = self._keep_feature
        self.on_get: Callable[[int], bytes | None] = self.features.get
        self._fd = os.open("/dev/uhid", os.O_RDWR | os.O_CLOEXEC)
        names = (name.encode(), b"rig/input0", serial.encode())
        sizes = (len(descriptor), bus, vendor, product, 0x0110, 0)
        os.write(self._fd, struct.pack("<I128s64s64sHHIIII4096s", _CREATE2, *names, *sizes, descriptor))
        threading.Thread(target=self._serve, daemon=True).start()

    def feed(self, report: bytes) -> None:
        """One input report."""
        os.write(self._fd, struct.pack("<IH", _INPUT2, len(report)) + report)

    def feed_at(self, make: Callable[[int], bytes], count: int, rate_hz: float) -> float:
        """Feed `make(0)`, `make(1)` … at a rate with deadlines that do not drift; the rate that was reached."""
        begin = time.perf_counter()
        for n in range(count):
            while (wait := begin + n / rate_hz - time.perf_counter()) > 0:
                if wait > 3e-4:
                    time.sleep(wait - 2e-4)
            self.feed(make(n))
        return count / (time.perf_counter() - begin)

    def unplug(self) -> None:
        """Take the device away."""
        os.write(self._fd, struct.pack("<I", _DESTROY))
        os.close(self._fd)

    def _serve(self) -> None:
        while True:
            try:
                event = os.read(self._fd, 4 + _DATA_MAX + 280)
            except OSError:
                return
            kind = struct.unpack_from("<I", event)[0]
            if kind == _OUTPUT:
                size = struct.unpack_from("<H", event, 4 + _DATA_MAX)[0]
                self.on_written(event[4 : 4 + size])
            elif kind == _GET_REPORT:
                self._give(*struct.unpack_from("<IB", event, 4))
            elif kind == _SET_REPORT:
                number, _, _, size = struct.unpack_from("<IBBH", event, 4)
                self.on_feature(event[12 : 12 + size])
                os.write(self._fd, struct.pack("<IIH", _SET_REPLY, number, 0))

    def _keep_feature(self, report: bytes) -> None:
        self.set_features.append(report)
        self.features[report[0]] = report

    def _give(self, number: int, report_id: int) -> None:
        found = self.on_get(report_id) or b""
        error = 0 if found else _EIO
        os.write(self._fd, struct.pack("<IIHH4096s", _GET_REPLY, number, error, len(found), found))
