"""`restpoint learn`: a guided walk that makes a model sheet for a device nobody described."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf, carried_over
from station.app.walks import WalkShelf, keep_walk, layout_of
from station.bench.teaching import Teaching
from station.capture.file import read_capture
from station.errors import DeviceLost, InputError
from station.sheets.learn import Learned, accepted, closed, is_part, learn, usual_controls, walk
from station.sheets.learn.captured import steps_in
from station.sheets.learn.walk import MOST, USUAL
from station.sheets.write import save_sheet
from station.sources.devices import is_silent, list_devices
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource

TICK_S = 0.05
Say = Callable[[str], None]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The options: where from, where to, which device, and how many controls of a kind there are."""
    parser.add_argument("--capture", type=Path, metavar="FILE.npz", help="learn from a walk that was kept before")
    parser.add_argument("--keep", type=Path, metavar="FILE.npz", help="keep this walk as a capture")
    parser.add_argument("--out", type=Path, metavar="SHEET.toml", help="write here instead of the own sheets' folder")
    parser.add_argument(
        "--device",
        default="",
        metavar="WORD",
        help="part of the product's name, or its ids (1209:0001), if several are there",
    )
    parser.add_argument(
        "--accept", nargs="+", default=[], metavar="CONTROL", help="write the best guess for these, although in doubt"
    )
    for name, most in MOST.items():
        usual = USUAL.get(name, 0)
        words = f"number of {name.replace('_', ' ')} (at most {most}, default {usual})"
        parser.add_argument(f"--{name.replace('_', '-')}", type=int, default=usual, metavar="N", help=words)


def run(args: argparse.Namespace) -> int:
    """Learn, save the sheet, say what stays open; 1 when something does."""
    learned = from_capture(args.capture) if args.capture else _live(args)
    learned = _accepting(learned, args.accept)
    learned = replace(learned, sheet=closed(learned.sheet))
    if not learned.sheet.controls:
        raise InputError("Nothing was learned from the reports; check that the device answers, and walk again.")
    if args.out:
        save_sheet(args.out, learned.sheet)
    path = args.out or SheetShelf(paths.sheets_folder()).save(learned.sheet)
    if not args.capture:
        for ids in learned.sheet.match:
            WalkShelf(paths.walks_folder()).close(*ids)
    print("\n".join(summary(learned)))
    print(f"sheet: {path}")
    return 1 if learned.questions else 0


def _accepting(learned: Learned, controls: Sequence[str]) -> Learned:
    guessed = [c.id for c in learned.guesses]
    for control in controls:
        if not any(is_part(i, control) for i in guessed):
            known = f"one of {', '.join(guessed)}" if guessed else "none: nothing is in doubt"
            raise InputError(f"There is no guess for {control!r} to accept; name {known}.")
    return accepted(learned, controls)


def from_capture(path: Path) -> Learned:
    """What a kept walk shows. CaptureError when it holds none."""
    capture = read_capture(path)
    meta = capture.meta
    name, match = meta.product or "Unknown device", ((meta.vendor_id, meta.product_id),)
    return learn(steps_in(capture), layout=layout_of(capture.descriptor), name=name, match=match)


def _live(args: argparse.Namespace) -> Learned:
    """Walk with the device that is plugged in."""
    info = _device(args.device)
    for name, most in MOST.items():
        if not 0 <= getattr(args, name) <= most:
            raise InputError(f"--{name.replace('_', '-')} must be 0 to {most}; say how many the pad has.")
    script = walk(usual_controls(**{name: getattr(args, name) for name in MOST}))
    source = UsbSource(info, allow_private=False)
    try:
        source.wait_open()
        lesson = Teaching(source, script, layout=layout_of(source.descriptor), later=lambda job: job())
        try:
            learned = walk_through(lesson, say=_say, wait=time.sleep)
        finally:  # whatever ends the walk, what was seen is not lost
            _keep(args.keep, lesson, source.descriptor)
        learned = confirmed(learned, _confirm) if sys.stdin.isatty() else learned
        before = SheetShelf(paths.sheets_folder()).blank(info).sheet
        return replace(learned, sheet=carried_over(learned.sheet, before))
    finally:
        source.close()


def _keep(path: Path | None, lesson: Teaching, descriptor: bytes) -> None:
    """Keep what was seen where the person wants it, else among the walks, and say where."""
    if not lesson.seen:
        return
    info, shelf = lesson.source.info, WalkShelf(paths.walks_folder())
    if path is not None:
        keep_walk(path, lesson.seen, info, descriptor)
    else:
        path = shelf.new(info)
        shelf.keep(path, lesson.seen, info, descriptor)
    print(f"walk: {path}")


def walk_through(lesson: Teaching, *, say: Say, wait: Callable[[float], None]) -> Learned:
    """Say each prompt as its turn comes; what is in doubt is asked again, `ROUNDS` times at most.

    DeviceLost when the device goes away.
    """
    view = lesson.view()
    say(f"{view.count} steps, about {view.to_go_s / 60:.0f} minutes. Do what each line says until the next.")
    said = (0, 0)
    while True:
        if view.state == "away":
            raise DeviceLost(view.message)
        if view.state == "paused":  # it read too late: nobody else pauses it here
            say(view.message)
            lesson.press("next")
            said = (0, 0)
        if view.state == "answering" and view.learned is not None:
            if not any(d.answer == "again" for d in view.doubts):
                return lesson.learned or view.learned
            say("Some of it is not clear yet; please do these again.")
            lesson.press("next")
        elif view.state == "walking" and view.step is not None and (view.round, view.number) != said:
            said = (view.round, view.number)
            say(f"{view.number}/{view.count}  {view.step.text}")
        wait(TICK_S)
        lesson.tick(lesson.source.now_ns())
        view = lesson.view()


def confirmed(learned: Learned, confirm: Callable[[str], bool]) -> Learned:
    """With every best guess written that the person confirms."""
    for question in learned.questions:
        if any(is_part(c.id, question.control) for c in learned.guesses) and confirm(
            f"{question.text} Write it as it was seen?"
        ):
            learned = accepted(learned, [question.control])
    return learned


def summary(learned: Learned) -> list[str]:
    """What was learned, how sure it is, and what stays open."""
    lines = [f"{c.name}: {learned.confidences.get(c.id, 0.0):.0%} sure" for c in learned.sheet.controls]
    lines += [f"left out: {i.what}, report {i.report}, bit {i.bit}, {i.bits} bits" for i in learned.ignored]
    lines += list(learned.notes)
    lines += [f"open: {q.text}" for q in learned.questions]
    lines += [f"guess left out: {c.id} (write it with --accept {c.id})" for c in learned.guesses]
    return lines


def _device(word: str) -> DeviceInfo:
    """The device to learn: a game controller, or one that does not say what it is and that `word` names."""
    also = SheetShelf(paths.sheets_folder()).also()
    found = [d for d in list_devices(also=also, include_others=True) if _named(d, word)]
    ready, silent = [d for d in found if not is_silent(d)], [d for d in found if is_silent(d)]
    if not ready and len(silent) == 1 and word:
        named = (silent[0].vendor_id, silent[0].product_id)
        ready = [d for d in list_devices(also={*also, named}) if (d.vendor_id, d.product_id) == named]
    if not ready:
        names = ", ".join(d.product or "nameless device" for d in silent)
        unsaid = f" These do not say what they are: {names}; name the pad with --device." if silent else ""
        raise InputError(f"No game controller is plugged in that could be learned; plug it in and try again.{unsaid}")
    if len(ready) > 1:
        names = ", ".join(d.product for d in ready)
        raise InputError(f"Several devices are plugged in ({names}); name one with --device.")
    if ready[0].problem:
        raise InputError(ready[0].problem)
    return ready[0]


def _named(info: DeviceInfo, word: str) -> bool:
    """Whether `word` is part of the product's name, or its ids as `restpoint devices` prints them."""
    ids = f"{info.vendor_id:04x}:{info.product_id:04x}"
    return word.casefold() in info.product.casefold() or word.casefold() == ids


def _say(line: str) -> None:
    print(line, flush=True)


def _confirm(question: str) -> bool:
    return input(f"{question} [y/N] ").strip().casefold().startswith("y")
