"""The watching process: looks twice a second which HID nodes there are and says so when it changed.

Run as `python -m station.sources.watch` by `sources.devices`. A process of its own because opening a device (which
reading its descriptor takes) holds the interpreter lock and may hang in a driver. It polls on every system: an
enumeration takes about a millisecond, and one way for all systems is one way to test. Where the kernel tells of
nodes that come and go (`uevents`), the next poll does not wait for its time.

Input: the configuration, later new ones (`also`, `private`, `others`). Output: `{"nodes": [...]}`, the whole list after
each change. A node is opened once, to read its descriptor, and only when its usages are a game
controller's or its ids stand in `also` and its usages are not private; keyboards and mice are never opened. With
`others` the nodes that say of themselves neither are listed too, unopened. With `library` (asked once only) hidapi is
asked which interfaces it knows.

An interface that no HID driver presents is a pad by its class and is listed without being opened, since opening takes
it from the kernel's driver; whether it could be opened is asked of the system's files.
"""

from __future__ import annotations

import os
import queue
import signal
import threading
import time
from dataclasses import dataclass
from typing import Any

from station.sources.child import Lines
from station.sources.hidapi_port import Node, Port, PortError, enumerate_nodes, library_knows
from station.sources.uevents import on_change
from station.sources.usages import is_game, is_private
from station.sources.usb_node import PROGRAM, may_open
from station.sources.vendor_class import interface

INTERVAL_S = 0.4
MAX_TRIES = 5
LOOKS, LOOK_AGAIN_S = 3, 0.05


@dataclass(frozen=True, slots=True)
class Opened:
    """What one look into a node gave. `tries` counts the looks that were refused."""

    descriptor: bytes = b""
    kind: str = ""
    detail: str = ""
    tries: int = 0


def wanted(node: Node, also: frozenset[tuple[int, int]]) -> bool:
    """Whether a node may be opened by itself."""
    if node.interface or any(is_game(usage) for usage in node.usages):
        return True
    named = (node.vendor_id, node.product_id) in also
    return named and not any(is_private(usage) for usage in node.usages)


def choose(nodes: list[Node], also: frozenset[tuple[int, int]]) -> list[Node]:
    """The nodes to open: of a device that has a game controller's node, only that, whatever else it has that a sheet
    names or no HID driver presents."""
    chosen = [node for node in nodes if wanted(node, also)]
    playing = {_who(node) for node in chosen if any(map(is_game, node.usages))}
    return [n for n in chosen if any(map(is_game, n.usages)) or _who(n) not in playing]


def _again(node: Node, before: Opened) -> bool:
    """Whether to look again: rights may be granted at any time; other trouble is not worth disturbing a device."""
    return bool(node.interface) or before.kind == "denied" or (before.kind != "" and before.tries < MAX_TRIES)


def _who(node: Node) -> tuple[int, int, str]:
    return node.vendor_id, node.product_id, node.serial


def look(node: Node, before: Opened) -> Opened:
    """Open the node, read its descriptor, close it; an interface that would have to be claimed is only looked at."""
    if node.interface:
        return _claimable(node, before)
    try:
        port = Port(node.path)
    except PortError as error:
        return Opened(b"", error.kind, str(error), before.tries + 1)
    try:
        return Opened(port.descriptor())
    finally:
        port.close()


def _claimable(node: Node, before: Opened) -> Opened:
    one, kind = interface(os.fsdecode(node.path)), ""
    if one is None:
        kind = "gone"
    elif not may_open(one.node):
        kind = "denied"
    elif _is_held(node, before):
        kind = "busy"
    return Opened(kind=kind, tries=before.tries + 1)


def _is_known(node: Node) -> bool:
    one = interface(os.fsdecode(node.path))
    return one is None or library_knows(one)


def _is_held(node: Node, before: Opened) -> bool:
    """Whether a program has claimed it (the parent knows whether it is its own), and still has it after a moment, where
    it had not before: a reader that is just ending lets go of it."""
    for look in range(1 if before.kind == "busy" else LOOKS):
        if look:
            time.sleep(LOOK_AGAIN_S)
        one = interface(os.fsdecode(node.path))
        if one is None or one.driver != PROGRAM:
            return False
    return True


class Watch:
    """Remembers what it looked into, so that a device is opened once and not at every poll."""

    def __init__(self) -> None:
        self.also: frozenset[tuple[int, int]] = frozenset()
        self.private = self.others = self.library = False
        self._seen: dict[Node, Opened] = {}

    def configure(self, config: dict[str, Any]) -> None:
        """Take over what the parent wants to see."""
        self.also = frozenset((int(v), int(p)) for v, p in config.get("also", ()))
        self.private, self.others = bool(config.get("private")), bool(config.get("others"))
        self.library = bool(config.get("library"))

    def poll(self, settle: bool = True) -> list[dict[str, Any]]:
        """The list as it stands.

        A node that the system has just made is refused until its access rights are set, so with `settle` a
        refusal is believed only at the second look.
        """
        nodes = enumerate_nodes()
        chosen = choose(nodes, self.also)
        seen = {}
        for node in chosen:
            before = self._seen.get(node, Opened(tries=0, kind="new"))
            seen[node] = look(node, before) if _again(node, before) else before
            if self.library and node.interface and not seen[node].kind and not _is_known(node):
                seen[node] = Opened(kind="unknown")
        self._seen = seen
        shown = [_shown(n, o) for n, o in seen.items() if not (settle and o.kind == "denied" and o.tries < 2)]
        if self.private:
            shown += [_shown(n, Opened(kind="private")) for n in nodes if any(map(is_private, n.usages))]
        if self.others:
            shown += [
                _shown(n, Opened(kind="silent")) for n in nodes if not (n.interface or any(map(is_private, n.usages)))
            ]
        return [one for i, one in enumerate(shown) if one["path"] not in {s["path"] for s in shown[:i]}]


def _shown(node: Node, opened: Opened) -> dict[str, Any]:
    return {
        "path": os.fsdecode(node.path),
        "vendor_id": node.vendor_id,
        "product_id": node.product_id,
        "product": node.product,
        "serial": node.serial,
        "bus": node.bus,
        "usages": node.usages,
        "generation": node.generation,
        "interface": node.interface,
        "place": node.place,
        "descriptor": opened.descriptor.hex(),
        "kind": opened.kind,
        "detail": opened.detail,
    }


def main() -> int:
    """The process: ends when its input ends, or after one list when asked for `once`."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    lines = Lines()
    watch = Watch()
    config = lines.read() or {}
    watch.configure(config)
    if config.get("once"):
        lines.say(nodes=_safely(watch, lines, settle=False))
        return 0
    news: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(lines, news), daemon=True).start()
    on_change(lambda: news.put({}))
    said: list[dict[str, Any]] | None = None
    while True:
        nodes = _safely(watch, lines)
        if nodes is not None and nodes != said:
            said = nodes
            lines.say(nodes=nodes)
        try:
            change = news.get(timeout=float(config.get("interval_s", INTERVAL_S)))
        except queue.Empty:
            continue
        if change is None:
            return 0
        if change:
            watch.configure(change)


def _safely(watch: Watch, lines: Lines, settle: bool = True) -> list[dict[str, Any]] | None:
    """A poll whose trouble is said, not fatal: the next one may succeed."""
    try:
        return watch.poll(settle)
    except (PortError, OSError) as error:
        lines.say(problem=str(error))
        return None


def _listen(lines: Lines, news: queue.SimpleQueue[dict[str, Any] | None]) -> None:
    while (message := lines.read()) is not None:
        news.put(message)
    news.put(None)


if __name__ == "__main__":
    status = main()
    os._exit(status)  # the listening thread waits in a read that nothing would wake
