"""From the plug to the first picture: how long until a unit that was plugged in moves in the window.

    python tests/bench/plug.py [--times 20] [--claimed] [--told]

The whole program with its window (offscreen, 60 frames a second) watches the shim rig. Each time a pad that reports at
250 Hz is plugged in; "seen" is when the desk tells of it, "picture" when the live view was painted with its first
reports. Then it is unplugged. The rig sends no word of the kernel, so this is the poll alone, the slower way that
all systems have. With --told the pad's plug is told over the kernel's netlink family as udev tells it when its rules
are done (which needs the right to send there): the time that udev itself takes is not in it. With --claimed the pad is
one that no HID driver presents. Needs Linux and gcc. Exit status 1 where a picture took longer than a second; the last
line is one JSON object.
"""

from __future__ import annotations

import argparse
import json
import os
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.app import paths
from station.app.desk import StationDesk
from station.sources.uevents import NETLINK_KOBJECT_UEVENT
from station.ui.ports import DeskEvent, DeviceAppeared, DeviceGone, LiveView
from station.ui.start import make_app
from station.ui.window import MainWindow
from tests.bench.frames import Drawn, shown
from tests.records.records_kit import open_store
from tests.rig import claimed, fakehid, pad
from tests.rig.fakeusb import UsbPad

BAR_S = 1.0
PATIENCE_S = 20.0
RATE_HZ = 250.0
UDEV = 2
"""udev's group of the netlink family (systemd, src/libsystemd/sd-device/device-monitor.c)"""

Plugged = fakehid.Device | UsbPad


class Player:
    """Feeds one pad until it is told to stop; its axes move."""

    def __init__(self, device: Plugged) -> None:
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._play, args=(device,), daemon=True)
        self._thread.start()

    def _play(self, device: Plugged) -> None:
        n = 0
        while not self._stop.wait(1 / RATE_HZ):
            device.feed(_report(n, isinstance(device, UsbPad)))
            n += 1

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()


def _report(n: int, is_claimed: bool) -> bytes:
    """One in which a stick moves."""
    if is_claimed:
        return claimed.wired(claimed.Held((), {"left_x": n * 256 % 65536 - 32768}))
    return pad.numbered(n * 256)


class Telling:
    """Tells of a plug as udev does."""

    def __init__(self) -> None:
        self._socket = socket.socket(socket.AF_NETLINK, socket.SOCK_DGRAM, NETLINK_KOBJECT_UEVENT)
        self._socket.bind((0, 0))

    def __call__(self, device: Plugged) -> None:
        """A header line, then KEY=value strings, each ended by a zero byte (linux/kobject.c)."""
        kind = "SUBSYSTEM=usb\0DEVTYPE=usb_interface" if isinstance(device, UsbPad) else "SUBSYSTEM=hidraw"
        self._socket.sendto(f"add@/devices/rig\0ACTION=add\0{kind}\0".encode(), (0, UDEV))


def frames_until(window: MainWindow, what: str, done: Callable[[], bool]) -> float:
    """Run frames until `done`; the moment. SystemExit when it takes too long. `what` is waited for."""
    app, begun = make_app(), time.perf_counter()
    while not done():
        due = time.perf_counter() + 1 / 60
        window.tick()
        app.processEvents()
        time.sleep(max(0.0, due - time.perf_counter()))
        if time.perf_counter() - begun > PATIENCE_S:
            raise SystemExit(f"no end within 20 s: {what}")
    return time.perf_counter()


class Overheard:
    """What the desk tells the window: events, and how many reports since `forget`."""

    def __init__(self, desk: StationDesk) -> None:
        self.events: list[DeskEvent] = []
        self.reports = 0
        self._take, self._now = desk.live.take_events, desk.live.now
        desk.live.take_events = self._take_events  # type: ignore[method-assign]
        desk.live.now = self._counted  # type: ignore[method-assign]

    def heard(self, kind: type) -> bool:
        return any(isinstance(e, kind) for e in self.events)

    def forget(self) -> None:
        self.events.clear()
        self.reports = 0

    def _take_events(self) -> Sequence[DeskEvent]:
        events = self._take()
        self.events += events
        return events

    def _counted(self) -> LiveView:
        view = self._now()
        self.reports += view.reports
        return view


def plugged_in(rig: fakehid.Rig, number: int, is_claimed: bool) -> Plugged:
    """The pad of that number."""
    if is_claimed:
        return UsbPad(rig, serial=f"PLUG{number}")
    return rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, f"PLUG{number}")


def once(
    rig: fakehid.Rig, window: MainWindow, desk: Overheard, number: int, is_claimed: bool, tell: Telling | None
) -> tuple[float, float]:
    """Seconds from the plug until the desk told of the pad, and until its first reports were painted."""
    desk.forget()
    time.sleep(0.137 * (number % 7))  # at another moment of the poll each time
    begun = time.perf_counter()
    device = plugged_in(rig, number, is_claimed)
    if tell is not None:
        tell(device)
    player = Player(device)
    seen = frames_until(window, "seen", lambda: desk.heard(DeviceAppeared))
    frames_until(window, "reports", lambda: desk.reports > 0)
    drawn = Drawn(window)  # of the parts that this unit's sheet made
    picture = frames_until(window, "picture", drawn.any)
    player.stop()
    device.unplug()
    frames_until(window, "gone", lambda: desk.heard(DeviceGone))
    return seen - begun, picture - begun


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--claimed", action="store_true", help="a pad that no HID driver presents")
    parser.add_argument("--told", action="store_true", help="the plug is told as udev tells it")
    args = parser.parse_args()
    times = args.times
    if reason := fakehid.unavailable():
        raise SystemExit(reason)
    with tempfile.TemporaryDirectory() as folder, fakehid.Rig() as rig:
        os.environ |= {"RESTPOINT_DATA": folder, **rig.variables()}
        make_app([])
        desk = StationDesk(open_store(paths.records_folder()))
        overheard = Overheard(desk)
        window = shown(desk)
        frames_until(window, "first look", lambda: desk._hardware.watcher.wait_first(0))
        tell = Telling() if args.told else None
        took = [once(rig, window, overheard, n, args.claimed, tell) for n in range(times)]
        window.close()
        desk.close()
    seen, picture = (sorted(column) for column in zip(*took, strict=True))
    for name, column in (("seen", seen), ("picture", picture)):
        print(f"{name}: {column[len(column) // 2]:.2f} s in the middle, {column[-1]:.2f} s at most")
    result = {"bench": "plug", "claimed": args.claimed, "told": args.told, "times": times, "bar_s": BAR_S}
    result["ok"] = picture[-1] <= BAR_S
    for name, column in (("seen", seen), ("picture", picture)):
        result |= {f"{name}_s_median": round(column[len(column) // 2], 3), f"{name}_s_max": round(column[-1], 3)}
    print(json.dumps(result))
    return 0 if result["ok"] else 1


if __name__ == "__main__":
    raise SystemExit(main())
