"""The host's side: boots the virtual machine, does what the guest asks for, and sums up.

    host.py FOLDER [--accel kvm|tcg] [SCENARIO …]

The guest speaks JSON lines on its second serial line: `say` (a line to print), `ask` (something to do with QEMU's
tablet; answered with a line), `result` (of one scenario), `end`. QEMU is steered over QMP. Prints one JSON line last.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import os
import queue
import shlex
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
LONGEST_S = 600.0
"""a tenth of this on an idle machine; an emulated processor on a loaded one is slow"""
PROCESSOR = {"kvm": "max", "tcg": "Nehalem"}
"""an emulated one has no wider vectors than x86-64-v2: NumPy's sorting by AVX2 ends in a segmentation fault there"""
ICOUNT = ("-icount", "shift=2")
"""one instruction takes 4 ns of the guest's time, however busy this machine is: its stamps and losses are then those of
a slow but steady computer, the same in every run"""
FULL = 0x7FFF


class Qmp:
    """QEMU's control socket."""

    def __init__(self, path: str) -> None:
        self._lock = threading.Lock()
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.connect(path)
        self._file = self._socket.makefile("rw")
        self._file.readline()
        self("qmp_capabilities")

    def __call__(self, command: str, **arguments: object) -> Any:
        with self._lock:
            self._file.write(json.dumps({"execute": command, "arguments": arguments}) + "\n")
            self._file.flush()
            answer = {}
            while "error" not in answer and "return" not in answer:  # events come in between
                answer = json.loads(self._file.readline())
        if "error" in answer:
            raise RuntimeError(f"{command}: {answer['error']['desc']}")
        return answer["return"]


class Tablet:
    """QEMU's tablet: two absolute axes of 15 bits and buttons. Nobody here wrote it."""

    def __init__(self, qmp: Qmp) -> None:
        self._qmp = qmp
        self._plugged = False

    def plug(self) -> None:
        self._qmp("device_add", driver="usb-tablet", id="tablet", serial="TABLET1")
        self._plugged = True

    def unplug(self) -> None:
        self._plugged = False
        self._qmp("device_del", id="tablet")

    def move(self, x: float, y: float) -> None:
        """To a point of −1…1, up positive."""
        axes = {"x": x, "y": -y}
        self._qmp(
            "input-send-event",
            events=[
                {"type": "abs", "data": {"axis": axis, "value": round((1 + value) / 2 * FULL)}}
                for axis, value in axes.items()
            ],
        )

    def press(self, down: bool) -> None:
        self._qmp("input-send-event", events=[{"type": "btn", "data": {"button": "left", "down": down}}])

    def roll(self, turns: float, steps: int = 240, pause_s: float = 0.006) -> None:
        """Round the rim until the end or the unplug; the sign of `turns` is the way."""
        for step in range(round(abs(turns) * steps) + 1):
            angle = math.copysign(2 * math.pi * step / steps, turns)
            try:
                self.move(math.sin(angle), math.cos(angle))
            except RuntimeError:
                if self._plugged:
                    raise
                return
            time.sleep(pause_s)


class Host:
    """One run."""

    def __init__(self, folder: Path, work: Path, accel: str, scenarios: list[str]) -> None:
        self._began = time.monotonic()
        self._console = work / "console"
        program = work / "guest.sh"
        guest = shlex.join([sys.executable, "-u", str(HERE / "guest.py"), *scenarios])
        program.write_text(f"cd / && exec {guest}\n")
        command = ["qemu-system-x86_64", "-machine", "q35", "-cpu", PROCESSOR[accel], "-m", "1024"]
        command += ["-accel", accel, *(ICOUNT if accel == "tcg" else ())]
        command += ["-display", "none", "-vga", "none", "-nodefaults", "-no-reboot"]
        command += ["-kernel", str(folder / "vmlinuz"), "-initrd", str(folder / "initrd.gz")]
        command += ["-append", f"console=ttyS0 quiet panic=-1 mitigations=off rig={program}"]
        command += ["-virtfs", "local,path=/,mount_tag=host,security_model=none,readonly=on,multidevs=remap"]
        command += ["-serial", f"file:{self._console}", "-serial", "stdio"]
        command += ["-device", "qemu-xhci", "-device", "usb-kbd", "-device", "usb-mouse"]
        command += ["-qmp", f"unix:{work / 'qmp'},server=on,wait=off"]
        pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
        self._qemu = subprocess.Popen(command, **pipes)
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._listen, daemon=True).start()
        self._socket = str(work / "qmp")
        self.results: dict[str, Any] = {}
        self.boot_s = 0.0
        self.ended = False

    def run(self) -> str:
        """Serve the guest until it ends; why it went wrong, or empty."""
        tablet: Tablet | None = None
        for message in self._messages():
            if "say" in message:
                self._print(message["say"])
            elif "ask" in message:
                if tablet is None:
                    tablet = Tablet(Qmp(self._socket))
                self._do(tablet, message)
            elif "result" in message:
                self.results[message["result"]] = message["values"]
            elif "end" in message:
                self.ended = True
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._qemu.wait(10)
        return "" if self.ended else self._why()

    def close(self) -> None:
        self._qemu.kill()
        self._qemu.wait()

    def _messages(self) -> Iterator[dict[str, Any]]:
        while time.monotonic() - self._began < LONGEST_S:
            try:
                line = self._lines.get(timeout=1)
            except queue.Empty:
                continue
            if line is None:
                return
            self.boot_s = self.boot_s or time.monotonic() - self._began
            try:
                message = json.loads(line)
            except ValueError:
                self._print(f"guest: {line}")  # a traceback
                continue
            yield message

    def _listen(self) -> None:
        assert self._qemu.stdout is not None
        for raw in self._qemu.stdout:
            self._lines.put(raw.decode(errors="replace").rstrip())
        self._lines.put(None)

    def _do(self, tablet: Tablet, message: dict[str, Any]) -> None:
        """In a thread, so that the guest may talk on; the answer carries the number of the question."""

        def work() -> None:
            try:
                getattr(tablet, message["ask"])(**message.get("with", {}))
                answer = "done"
            except (RuntimeError, OSError, ValueError) as error:
                answer = str(error)
            assert self._qemu.stdin is not None
            with contextlib.suppress(OSError):
                self._qemu.stdin.write(json.dumps({"number": message["number"], "answer": answer}).encode() + b"\n")
                self._qemu.stdin.flush()

        threading.Thread(target=work, daemon=True).start()

    def _print(self, text: str) -> None:
        print(f"[{time.monotonic() - self._began:5.1f} s] {text}", flush=True)

    def _why(self) -> str:
        """What can be said of a machine that did not come to its end."""
        console = self._console.read_text(errors="replace").splitlines() if self._console.exists() else []
        error = ""
        if self._qemu.poll() is not None and self._qemu.stderr is not None:
            error = self._qemu.stderr.read().decode(errors="replace").strip()
        print("\n".join(["the last of the console:", *console[-20:], error]), flush=True)
        return "the virtual machine did not come to its end"


def main() -> int:
    """Exit status 0 when every scenario was right."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--accel", default="tcg", choices=["tcg", "kvm"], help="kvm where it works")
    parser.add_argument("scenarios", nargs="*")
    args = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="restpoint-rig-", dir="/tmp") as work:
        os.chmod(work, 0o755)
        host = Host(args.folder, Path(work), args.accel, args.scenarios)
        try:
            wrong = host.run()
        finally:
            host.close()
    faults = [f"{name}: {fault}" for name, values in host.results.items() for fault in values.pop("faults")]
    faults += [wrong] if wrong else [] if host.results else ["no scenario ran"]
    for fault in faults:
        print(f"WRONG {fault}")
    took = round(time.monotonic() - began, 1)
    print(f"{len(host.results)} scenarios in {took} s, {len(faults)} wrong")
    head = {"bench": "vm", "accel": args.accel, "boot_s": round(host.boot_s, 1), "seconds": took}
    print(json.dumps({**head, "faults": faults, **host.results}))
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
