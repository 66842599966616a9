"""`restpoint alone`: everything that is plugged in is left alone for a while, without a window and without records."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

from station.app import paths
from station.app.devices import open_device
from station.app.left_alone import MOST
from station.app.shelf_of_sheets import SheetShelf
from station.bench.alone import LeftAlone
from station.bench.alone_view import said
from station.bench.auto import VirtualSource
from station.bench.ledger import MOST_S, Asked, Ledger, known_again
from station.bench.timekeeping import system_clocks
from station.capture.file import save_capture
from station.capture.types import CaptureMeta
from station.diagnosis.guide import Guide, guide_for, load_guide
from station.errors import InputError, StationError
from station.evidence.assess import assess_file
from station.evidence.written import to_text
from station.records.clock import time_text
from station.sheets.model import Sheet
from station.sources.devices import Appeared, DeviceWatcher, Gone
from station.sources.port import DeviceInfo, Source
from station.sources.sockets import socket_of
from station.words import alone as words
from station.words import cautions
from station.words import devices as device_words

LOOK_S = 0.25
TELL_S = 60.0
Opener = Callable[[DeviceInfo, Sheet], Source]
Seen = Callable[[], Sequence[Appeared | Gone]]


def run(args: argparse.Namespace) -> int:
    """Leave them alone, then print what each came to; Ctrl+C ends it early. 1 if any did not pass."""
    shelf = SheetShelf(paths.sheets_folder())
    watcher = DeviceWatcher(also=shelf.also())
    watcher.wait_first()
    devices = watcher.devices()
    try:
        return leave(devices, shelf, args.minutes, args.folder, _open, watcher.take_events)
    finally:
        watcher.close()


def _open(info: DeviceInfo, sheet: Sheet) -> Source:
    return open_device(info, sheet, None)  # one that is read for a night has no journal


def leave(
    devices: Sequence[DeviceInfo], shelf: SheetShelf, minutes: float, folder: Path, open_source: Opener, seen: Seen
) -> int:
    """See `run`; `open_source` opens a device, `seen` tells which came and went since it was asked last."""
    if not 10.0 <= minutes <= MOST_S / 60.0:
        raise InputError(words.COMMAND_MINUTES.format(most=round(MOST_S / 60.0)))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(words.COMMAND_FOLDER.format(folder=folder, reason=error.strerror)) from error
    for hazard in _guide().hazards_of("alone"):
        print(hazard.text())
    print(cautions.DEFERS)
    begun: list[tuple[LeftAlone, Path]] = []
    stamp = f"{datetime.now(UTC):%Y%m%dT%H%M%S}"
    for number, info in enumerate(devices[:MOST], start=1):
        name = f"alone-{stamp}-{number}"
        try:
            begun.append((_begin(info, shelf, minutes, folder, name, open_source), folder / f"{name}.npz"))
        except StationError as error:
            print(words.COMMAND_SKIPPED.format(name=info.called or device_words.THIS_DEVICE, problem=error))
    if not begun:
        raise InputError(words.COMMAND_NOTHING)
    try:
        _watch([left for left, _ in begun], seen)
    except KeyboardInterrupt:
        print(words.COMMAND_STOPPED)
    failed = [path for left, path in begun if _came_to(left, path)]
    return int(bool(failed))


def _guide() -> Guide:
    """The shop's own fault guide; while that cannot be read, the one that ships, and why."""
    try:
        return guide_for(paths.records_folder())
    except InputError as error:
        print(error)
        return load_guide()


def _begin(
    info: DeviceInfo, shelf: SheetShelf, minutes: float, folder: Path, name: str, open_source: Opener
) -> LeftAlone:
    if info.problem:
        raise InputError(info.problem)
    known = shelf.know(info)
    source = open_source(info, known.sheet)
    begun_at = time_text(datetime.now(UTC))
    meta = CaptureMeta(info.vendor_id, info.product_id, info.product, info.serial, info.bus, begun_at, known.sheet.name)
    tag = info.product or name
    asked = Asked(name, "", tag, "", begun_at, 60.0 * minutes, socket_of(info.key), info.descriptor, meta)
    by_hand = not getattr(source, "realtime", True)
    clock = source.now_ns if by_hand else system_clocks().always
    since = clock()
    left = LeftAlone(Ledger(folder, asked), known.binding, lambda: clock() - since)
    left.attach(source)
    print(words.COMMAND_BEGINS.format(name=tag, minutes=round(minutes), prompt=words.LEAVE_PROMPT))
    return left


def _watch(lefts: Sequence[LeftAlone], seen: Seen) -> None:
    told = time.monotonic()
    while not all(left.over for left in lefts):
        for event in seen():
            if isinstance(event, Appeared):
                _take_back(event.info, lefts)
        for left in lefts:
            left.tick()
        if all(getattr(left.source, "realtime", True) for left in lefts):
            time.sleep(LOOK_S)
        for left in lefts:
            if not getattr(left.source, "realtime", True):
                cast("VirtualSource", left.source).advance(LOOK_S)
        if time.monotonic() - told > TELL_S:
            told = time.monotonic()
            print("\n".join(said(left.view()) for left in lefts))


def _take_back(info: DeviceInfo, lefts: Sequence[LeftAlone]) -> None:
    """A device that was unplugged and is here again."""
    for left in lefts:
        key = left.source.info.key if left.source is not None else ""
        if left.view().state == "away" and known_again(left.asked, info, key):
            reopen = getattr(left.source, "reopen", None)
            try:
                if reopen is not None:
                    reopen(info)
            except StationError as error:
                print(words.COMMAND_SKIPPED.format(name=left.asked.tag, problem=error))
            return


def _came_to(left: LeftAlone, path: Path) -> bool:
    """Print what it came to; True unless it passed."""
    ended = left.end(by_hand=not left.over)
    if left.source is not None:
        left.source.close()
    save_capture(path, ended.capture)
    left.forget()
    done = assess_file(path)
    print(to_text(path, done))
    return done.outcome.value != "pass"
