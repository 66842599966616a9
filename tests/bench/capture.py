"""How late reports are stamped and how many are lost: reader process, reader thread and bare loop, same run, same load.

    python tests/bench/capture.py [--rate 1000 8000] [--devices 1] [--seconds 5]
                                  [--load paint|python|none] [--no-priority] [--way process thread bare] [--claimed]

The long run: --way process --rate 8000 --seconds 600. With --claimed the devices are pads that no HID driver presents,
which all ways read through libusb, for 20 s at 125, 250 and 1000 Hz, or for so many --minutes. Then nothing may be lost
by the process, and where it ran beside the bare loop, its stamps at the 99th percentile may be no more than 0.2 ms
later than the loop's: else the exit status is 1.

Three processes: one plays the devices (the shim rig; in favour with the scheduler where the system allows, as
hardware waits for no turn) and writes into each report when it was sent; one is the program with its window at
1920×1080, whose live view moves and repaints 60 times a second, reading by process or by thread, or beside a bare
loop in a process of its own, which is what the machine allows at best; this one starts them and sums up. Processor
time of thread and loop is not given: the thread's cannot be told from the window's.
Needs Linux and gcc. Prints human lines, then one JSON line.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import itertools
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.hid.types import ReportBlock
from station.sources.favour import favour_this_process, hold_in_memory
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource
from station.sources.vendor_class import is_interface
from tests.rig import claimed, fakehid, pad
from tests.rig.fakeusb import UsbPad

RATES_HZ = {False: [1000.0, 8000.0], True: [125.0, 250.0, 1000.0]}
SECONDS = {False: 5.0, True: 20.0}
"""without and with `--claimed`"""
BAR_BEYOND_BARE_US = 200.0

Rows = tuple[NDArray[np.int64], NDArray[np.uint8]]
"""stamps (perf_counter_ns) and reports of one device"""


def stamped(n: int) -> bytes:
    """Report 1: the number n in X and Y, the sending moment's low 48 bits in the other axes and triggers."""
    return pad.numbered(n)[:7] + (time.perf_counter_ns() & (1 << 48) - 1).to_bytes(6, "little")


# --- the devices -----------------------------------------------------------------------------------


def play(count: int, rate_hz: float, seconds: float, is_claimed: bool) -> None:
    """Plug in `count` pads, say where, wait for a line, send, say how many were dropped, wait for the end."""
    with contextlib.suppress(OSError):  # hardware waits for nobody's turn
        os.nice(-10)
    with fakehid.Rig() as rig:
        devices: list[Any] = [
            UsbPad(rig, serial=f"BENCH{i}", port=i + 1)
            if is_claimed
            else rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, f"BENCH{i}", bus=fakehid.BLUETOOTH)
            for i in range(count)
        ]
        print(json.dumps(rig.variables()), flush=True)
        sys.stdin.readline()
        begin, sent, dropped = time.perf_counter(), int(rate_hz * seconds), [0] * count
        for n, _ in enumerate(fakehid.paced(itertools.repeat(b"", sent), rate_hz)):
            for i, device in enumerate(devices):
                dropped[i] += not device.feed(stamped(n))
        took = time.perf_counter() - begin
        print(json.dumps({"sent": sent, "dropped": dropped, "rate_hz": sent / took}), flush=True)
        sys.stdin.readline()


# --- the program -----------------------------------------------------------------------------------


class ByProcess:
    """Our own way."""

    def __init__(self, infos: list[DeviceInfo], priority: bool) -> None:
        self._sources = [UsbSource(info, origin_ns=0, priority=priority) for info in infos]
        for source in self._sources:
            source.wait_open()
        self._cursors = [0] * len(infos)
        self._blocks: list[list[ReportBlock]] = [[] for _ in infos]

    def tick(self) -> None:
        """What the window does each frame: take what is new."""
        for i, source in enumerate(self._sources):
            block, self._cursors[i] = source.take(self._cursors[i])
            self._blocks[i].append(block)

    def cpu_s(self) -> float:
        """Processor time of the readers."""
        ticks = [Path(f"/proc/{s.pid}/stat").read_text().rsplit(")", 1)[1].split()[11:13] for s in self._sources]
        return sum(int(t) for pair in ticks for t in pair) / os.sysconf("SC_CLK_TCK")

    def own_error_us(self) -> list[float | None]:
        """The readers' own measure of their lateness."""
        return [s.status().stamp_error_p99_us for s in self._sources]

    def told_lost(self) -> int:
        """Losses that the readers noticed by themselves."""
        return sum(s.status().lost for s in self._sources)

    def rows(self) -> list[Rows]:
        self.tick()
        for source in self._sources:
            source.close()
        return [
            (np.concatenate([b.t_ns for b in blocks]), np.concatenate([b.raw for b in blocks])[:, : pad.REPORT_BYTES])
            for blocks in self._blocks
        ]


def opened(key: str) -> Any:
    """hidapi's device, by the back end that this key wants."""
    device = importlib.import_module("hid" if is_interface(key) else "hidraw").device()
    device.open_path(key.encode())
    return device


class ByThread:
    """The usual way: a thread of the window's process reads and stamps."""

    def __init__(self, infos: list[DeviceInfo], priority: bool) -> None:
        self._stop = threading.Event()
        self._rows: list[list[tuple[int, bytes]]] = [[] for _ in infos]
        self._threads = []
        for info, rows in zip(infos, self._rows, strict=True):
            device = opened(info.key)
            self._threads.append(threading.Thread(target=self._read, args=(device, rows)))
            self._threads[-1].start()

    def _read(self, device: Any, rows: list[tuple[int, bytes]]) -> None:
        while not self._stop.is_set():
            report = device.read(64, 50)
            if report:
                rows.append((time.perf_counter_ns(), bytes(report)))
        device.close()

    def tick(self) -> None:
        """Nothing: the rows are here already."""

    def cpu_s(self) -> float:
        return float("nan")

    def own_error_us(self) -> list[float | None]:
        return [None] * len(self._rows)

    def told_lost(self) -> int:
        return 0

    def rows(self) -> list[Rows]:
        self._stop.set()
        for thread in self._threads:
            thread.join()
        return [
            (
                np.array([t for t, _ in rows], np.int64),
                np.frombuffer(b"".join(r for _, r in rows), np.uint8).reshape(len(rows), -1),
            )
            for rows in self._rows
        ]


class ByBareLoop:
    """What this machine allows: a favoured process that does nothing but read and stamp."""

    def __init__(self, infos: list[DeviceInfo], priority: bool) -> None:
        self._files = [tempfile.NamedTemporaryFile(suffix=".npz") for _ in infos]  # noqa: SIM115 - closed with the rows
        favour = ["--no-priority"] if not priority else []
        self._loops = [
            subprocess.Popen(
                [sys.executable, __file__, "--bare", info.key, file.name, *favour],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
            )
            for info, file in zip(infos, self._files, strict=True)
        ]
        for loop in self._loops:
            assert loop.stdout is not None
            loop.stdout.readline()

    def tick(self) -> None:
        """Nothing: the rows come at the end."""

    def cpu_s(self) -> float:
        return float("nan")

    def own_error_us(self) -> list[float | None]:
        return [None] * len(self._loops)

    def told_lost(self) -> int:
        return 0

    def rows(self) -> list[Rows]:
        for loop in self._loops:
            loop.communicate()
        return [(rows["t_ns"], rows["raw"]) for rows in map(np.load, (f.name for f in self._files))]


def bare(path: str, file: str, priority: bool) -> None:
    """The bare loop: read and stamp until the input ends, then store the rows."""
    if priority:
        favour_this_process()  # first: libusb reads in a thread of its own, which opening starts
    device = opened(path)
    done = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), done.set()), daemon=True).start()
    hold_in_memory()
    print("ready", flush=True)
    t_ns, reports, now = [], [], time.perf_counter_ns
    while not done.is_set():
        if report := device.read(64, 50):
            t_ns.append(now())
            reports.append(bytes(report))
    np.savez(file, t_ns=np.array(t_ns, np.int64), raw=np.frombuffer(b"".join(reports), np.uint8).reshape(len(t_ns), -1))


WAYS = {"process": ByProcess, "thread": ByThread, "bare": ByBareLoop}


def painting() -> Callable[[], None]:
    """The program's own window with every control moving at 1 kHz; the function ticks and repaints it once."""
    from tests.bench import frames

    feed = frames.Feed("light")
    begin, number = time.perf_counter(), itertools.count()

    def paint() -> None:
        feed.bring(round((time.perf_counter() - begin) * 1e9), next(number))
        feed.window.tick()
        frames.make_app().processEvents()

    return paint


def computing() -> None:
    """Plain Python for 12 ms."""
    end = time.perf_counter() + 0.012
    while time.perf_counter() < end:
        pass


def work(way: str, count: int, load: str, priority: bool, is_claimed: bool) -> None:
    """Read the devices under load until a line comes in, then say how it went."""
    infos = [
        DeviceInfo(f"3-{i + 1}:1.0", claimed.VENDOR, claimed.PRODUCT, "", f"BENCH{i}", "usb", b"", interface="ff5d01")
        if is_claimed
        else DeviceInfo(
            f"/dev/hidraw{i}", pad.VENDOR, pad.PRODUCT, pad.NAME, f"BENCH{i}", "bluetooth", pad.DESCRIPTOR, (0x10005,)
        )
        for i in range(count)
    ]
    frame = {"paint": painting, "python": lambda: computing, "none": lambda: lambda: None}[load]()
    reading = WAYS[way](infos, priority)
    print("ready", flush=True)
    done = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.readline(), done.set()), daemon=True).start()
    begin, cpu_s, frames = time.perf_counter(), reading.cpu_s(), 0
    while not done.is_set():
        frame()
        reading.tick()
        frames += 1
        time.sleep(max(0.0, begin + frames / 60 - time.perf_counter()))
    took = time.perf_counter() - begin
    cpu = (reading.cpu_s() - cpu_s) / took
    own, told = reading.own_error_us(), reading.told_lost()
    result = [summary(t_ns, raw) for t_ns, raw in reading.rows()]
    print(
        json.dumps({"devices": result, "cpu": cpu, "own_us": own, "told_lost": told, "fps": frames / took}), flush=True
    )


def summary(t_ns: NDArray[np.int64], raw: NDArray[np.uint8]) -> dict[str, Any]:
    """Reports that came and how late they were stamped."""
    words = np.ascontiguousarray(raw.astype(np.int64))
    sent_ns = sum(words[:, 7 + i] << 8 * i for i in range(6))
    late_us = ((t_ns & (1 << 48) - 1) - sent_ns) / 1000
    numbers = words[:, 3] | words[:, 4] << 8 | words[:, 5] << 16 | words[:, 6] << 24
    return {
        "n": len(numbers),
        "distinct": len(np.unique(numbers)),
        **{f"p{q}_us": float(np.percentile(late_us, q)) for q in (50, 99)},
        "max_us": float(late_us.max()),
    }


# --- the run ---------------------------------------------------------------------------------------


def run(way: str, rate_hz: float, args: argparse.Namespace) -> dict[str, Any]:
    """One way at one rate."""
    me = [sys.executable, __file__, "--devices", str(args.devices), "--seconds", str(args.seconds)]
    pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True, "bufsize": 1}
    priority = ["--no-priority"] if args.no_priority else []
    me += ["--claimed"] if args.claimed else []
    with subprocess.Popen([*me, "--play", "--rate", str(rate_hz)], **pipes) as player:
        assert player.stdin is not None
        assert player.stdout is not None
        env = {**os.environ, **json.loads(player.stdout.readline())}
        with subprocess.Popen([*me, "--work", way, "--load", args.load, *priority], env=env, **pipes) as worker:
            assert worker.stdin is not None
            assert worker.stdout is not None
            if worker.stdout.readline() != "ready\n":
                raise SystemExit("the reading program did not start")
            player.stdin.write("go\n")
            sent = json.loads(player.stdout.readline())
            time.sleep(0.3)
            worker.stdin.write("done\n")
            found = json.loads(worker.stdout.readline())
        player.stdin.write("end\n")
    devices = found["devices"]
    own = [us for us in found["own_us"] if us is not None]
    return {
        "rate_hz": round(sent["rate_hz"], 1),
        "sent": sent["sent"] * args.devices,
        "lost": sent["sent"] * args.devices - sum(d["distinct"] for d in devices),
        "told_lost": found["told_lost"],
        "dropped_by_queue": sum(sent["dropped"]),
        "p50_us": round(max(d["p50_us"] for d in devices), 1),
        "p99_us": round(max(d["p99_us"] for d in devices), 1),
        "max_us": round(max(d["max_us"] for d in devices), 1),
        "own_p99_us": round(max(own), 1) if own else None,
        "reader_cpu": None if way != "process" else round(found["cpu"], 3),
        "fps": round(found["fps"], 1),
    }


def main() -> int:
    """Every way at each rate; 1 where a bar is missed."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rate", type=float, nargs="+")
    parser.add_argument("--devices", type=int, default=1)
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--minutes", type=float, help="in the place of --seconds")
    parser.add_argument("--load", choices=["paint", "python", "none"], default="paint")
    parser.add_argument("--no-priority", action="store_true")
    parser.add_argument("--way", nargs="+", choices=list(WAYS), default=list(WAYS))
    parser.add_argument("--claimed", action="store_true", help="pads that no HID driver presents")
    parser.add_argument("--play", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--work", help=argparse.SUPPRESS)
    parser.add_argument("--bare", nargs=2, help=argparse.SUPPRESS)
    args = parser.parse_args()
    args.rate = args.rate or RATES_HZ[args.claimed]
    args.seconds = 60 * args.minutes if args.minutes else args.seconds or SECONDS[args.claimed]
    if args.play:
        play(args.devices, args.rate[0], args.seconds, args.claimed)
    elif args.bare:
        bare(*args.bare, not args.no_priority)
    elif args.work:
        work(args.work, args.devices, args.load, not args.no_priority, args.claimed)
    elif reason := fakehid.unavailable():
        raise SystemExit(reason)
    else:
        return report(args)
    return 0


def report(args: argparse.Namespace) -> int:
    """Human lines, then the JSON line; 1 where a bar is missed."""
    results = []
    for rate_hz in args.rate:
        for way in args.way:
            one = {"way": way, "asked_hz": rate_hz, **run(way, rate_hz, args)}
            results.append(one)
            cpu = "" if one["reader_cpu"] is None else f"reader {100 * one['reader_cpu']:.0f} % of a core, "
            print(f"{rate_hz:6.0f} Hz × {args.devices} by {way:7}: lost {one['lost']} of {one['sent']}", end=" ")
            print(f"(told {one['told_lost']}), late p50 {one['p50_us']:.0f} p99 {one['p99_us']:.0f}", end=" ")
            print(f"max {one['max_us']:.0f} µs, {cpu}{one['fps']:.0f} frames a second")
    head = {
        "bench": "capture",
        "devices": args.devices,
        "load": args.load,
        "priority": not args.no_priority,
        "claimed": args.claimed,
    }
    beyond = beyond_bare_us(results)
    good = not args.claimed or (
        not any(r["lost"] for r in results if r["way"] == "process")
        and all(us <= BAR_BEYOND_BARE_US for us in beyond.values())
    )
    tail = {"p99_beyond_bare_us": beyond, "p99_ratios": ratios(results), "ok": good, "runs": results}
    print(json.dumps({**head, "seconds": args.seconds, "cores": os.cpu_count(), **tail}))
    return 0 if good else 1


def beyond_bare_us(results: list[dict[str, Any]]) -> dict[str, float]:
    """At each rate by how much the process stamps later than the bare loop, both at the 99th percentile."""
    p99 = {(r["asked_hz"], r["way"]): r["p99_us"] for r in results}
    return {
        f"{rate:.0f} Hz": round(us - p99[rate, "bare"], 1)
        for (rate, way), us in p99.items()
        if way == "process" and (rate, "bare") in p99
    }


def ratios(results: list[dict[str, Any]]) -> dict[str, float]:
    """At each rate the 99th percentile of the other ways over the process's."""
    p99 = {(r["asked_hz"], r["way"]): r["p99_us"] for r in results}
    return {
        f"{way}/process at {rate:.0f} Hz": round(value / p99[rate, "process"], 2)
        for (rate, way), value in p99.items()
        if way != "process" and (rate, "process") in p99
    }


if __name__ == "__main__":
    raise SystemExit(main())
