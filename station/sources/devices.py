"""Which devices there are: asked once (`list_devices`) or watched (`DeviceWatcher`).

Only game controllers show (Joystick, Game Pad, Multi-axis Controller; interfaces that are pads by their class, which
no HID driver presents), and devices whose ids a sheet names; on request those too that do not say what they are,
unopened. Keyboards and mice show only on request and are never opened. A composite device has several nodes; the game
controller's is chosen. Two appearances are the same unit by vendor, product and serial (`same_device`), never by path:
node numbers are used again at once.
"""

from __future__ import annotations

import queue
import subprocess
import threading
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

from station.capture.text import plain_text
from station.capture.types import MAX_DESCRIPTOR, Bus
from station.errors import DeviceError
from station.sources import child, ours
from station.sources.port import DeviceInfo
from station.sources.problems import device_error
from station.sources.usages import is_game, is_private
from station.words import devices as words

__all__ = ["Appeared", "DeviceWatcher", "Gone", "is_silent", "list_devices", "plain_text", "same_device"]

WATCH = "station.sources.watch"
RESTART_AFTER_S = 1.0
Ids = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Appeared:
    """A device is there; or its `problem` changed."""

    info: DeviceInfo


@dataclass(frozen=True, slots=True)
class Gone:
    """A device is no longer there."""

    info: DeviceInfo


def same_device(one: DeviceInfo, other: DeviceInfo) -> bool:
    """Whether both can be the same unit: ids and serial alike (without serials, ids and descriptor alike)."""
    if (one.vendor_id, one.product_id, one.serial) != (other.vendor_id, other.product_id, other.serial):
        return False
    return one.descriptor == other.descriptor or not one.descriptor or not other.descriptor


def list_devices(
    include_private: bool = False,
    also: Collection[Ids] = frozenset(),
    *,
    include_others: bool = False,
    ask_library: bool = False,
    timeout_s: float = 10.0,
) -> tuple[DeviceInfo, ...]:
    """The devices that are there now. Waits for a child process (a tenth of a second as a rule).

    `also` names vendor and product ids that sheets know. `include_others`: those too, unopened, that say neither that
    they are a game controller nor that people type or point with them. DeviceError when the system gives no list.
    """
    try:
        wanted = {"also": sorted(also), "private": include_private, "others": include_others, "library": ask_library}
        process = child.spawn(WATCH, {**wanted, "once": True})
        out, _ = process.communicate(timeout=timeout_s)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise DeviceError(words.NO_LIST) from error
    said = [message for line in out.splitlines() if (message := child.parse(line)) is not None]
    if not said or said[-1].get("nodes") is None:
        reason = next((plain_text(str(m["problem"]), 200) for m in said if "problem" in m), words.NO_REASON)
        raise DeviceError(words.NO_LIST_WHY.format(reason=reason))
    return tuple(device_info(node) for node in said[-1]["nodes"])


def is_silent(info: DeviceInfo) -> bool:
    """Whether it was listed, unopened, although it does not say what it is."""
    return bool(info.problem) and not info.interface and not any(is_game(u) or is_private(u) for u in info.usages)


def device_info(node: Mapping[str, Any]) -> DeviceInfo:
    """A node of the watching process as a DeviceInfo with harmless strings."""
    product = plain_text(str(node["product"]))
    descriptor = bytes.fromhex(node["descriptor"])[:MAX_DESCRIPTOR]
    kind = "" if _have_it(node) else str(node["kind"])
    info = DeviceInfo(
        key=str(node["path"]),
        vendor_id=int(node["vendor_id"]),
        product_id=int(node["product_id"]),
        product=product,
        serial=plain_text(str(node["serial"])),
        bus=cast("Bus", node["bus"]),
        descriptor=descriptor,
        usages=tuple(node["usages"]),
        interface=str(node["interface"]),
        held=kind == "busy",
        place=int(node["place"]),
    )
    return replace(info, problem=_problem(kind, info.called, str(node["detail"])))


def _have_it(node: Mapping[str, Any]) -> bool:
    """Whether it is a reader of ours that an interface is busy with."""
    return bool(node["interface"]) and node["kind"] == "busy" and ours.is_ours(str(node["path"]))


def _problem(kind: str, product: str, detail: str) -> str:
    if kind == "private":
        return words.PRIVATE.format(name=product or words.THIS_DEVICE)
    if kind == "silent":
        return words.SILENT.format(name=product or words.THIS_DEVICE)
    return str(device_error(kind, product, detail)) if kind else ""


class DeviceWatcher:
    """Watches in a process of its own. `take_events` never waits; appearances take at most half a second.

    When the watching process dies it is started again, and `problem` says so meanwhile.
    """

    def __init__(
        self, include_private: bool = False, also: Collection[Ids] = frozenset(), *, interval_s: float = 0.4
    ) -> None:
        self._config: dict[str, object] = {
            "also": sorted(also),
            "private": include_private,
            "interval_s": interval_s,
        }
        self._events: queue.SimpleQueue[Appeared | Gone] = queue.SimpleQueue()
        self._nodes: dict[tuple[object, ...], DeviceInfo] = {}
        self._closed = threading.Event()
        self._looked = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self.problem = ""
        self._thread = threading.Thread(target=self._keep_going, name="device-watcher", daemon=True)
        self._thread.start()

    def devices(self) -> tuple[DeviceInfo, ...]:
        """What is there, as last seen."""
        return tuple(self._nodes.values())

    def take_events(self) -> Sequence[Appeared | Gone]:
        """What happened since the last call, in order."""
        events = []
        while not self._events.empty():
            events.append(self._events.get())
        return events

    def wait_first(self, timeout_s: float = 5.0) -> bool:
        """Wait for the first list (the command line and tests want it; a window does not)."""
        return self._looked.wait(timeout_s)

    def name_also(self, also: Collection[Ids]) -> None:
        """Show these ids too from now on (a sheet was saved)."""
        self._config = {**self._config, "also": sorted(also)}
        if self._process is not None:
            child.write_line(self._process, self._config)

    def close(self) -> None:
        """End watching. Returns at once."""
        self._closed.set()
        if self._process is not None:
            child.end(self._process)

    # --- the watching thread -----------------------------------------------------------------------

    def _keep_going(self) -> None:
        while not self._closed.is_set():
            try:
                self._process = child.spawn(WATCH, self._config)
                if self._closed.is_set():
                    child.end(self._process)
                child.listen(self._process, self._hear).join()
                child.end(self._process)
            except OSError as error:
                self.problem = words.CANNOT_WATCH.format(reason=error.strerror or words.NO_REASON)
            if not self._closed.wait(RESTART_AFTER_S):
                self.problem = self.problem or words.WATCH_ENDED

    def _hear(self, message: dict[str, Any]) -> None:
        if "problem" in message:
            said = plain_text(str(message["problem"]), 200)
            self.problem = words.NO_LIST_NOW.format(reason=said)
        if "nodes" not in message:
            return
        self.problem = ""
        now = {_identity(node): device_info(node) for node in message["nodes"]}
        before, self._nodes = self._nodes, now
        for identity, info in before.items():
            if identity not in now:
                self._events.put(Gone(info))
        for identity, info in now.items():
            if before.get(identity) != info:
                self._events.put(Appeared(info))
        self._looked.set()


def _identity(node: Mapping[str, Any]) -> tuple[object, ...]:
    """What makes a node this node: another device under the same path, or the same one plugged in again, differs."""
    return tuple(node[key] for key in ("path", "vendor_id", "product_id", "serial", "generation"))
