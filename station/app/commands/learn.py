"""`restpoint learn`: a guided walk that makes a model sheet for a device nobody described."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from station.app import paths
from station.app.sent_reports import refuse_unasked
from station.app.shelf_of_sheets import SheetShelf, carried_over
from station.app.walks import WalkShelf, keep_walk, layout_of
from station.bench.teaching import Teaching
from station.capture.file import read_capture, read_descriptor
from station.errors import DeviceLost, InputError
from station.hid.types import Layout
from station.sheets.learn import Learned, accepted, closed, is_part, learn, usual_controls, walk
from station.sheets.learn.captured import steps_in
from station.sheets.learn.walk import MOST, USUAL
from station.sheets.library import match
from station.sheets.write import save_sheet
from station.sources.devices import is_silent, list_devices
from station.sources.port import DeviceInfo
from station.sources.usb import UsbSource
from station.words import command_line as words
from station.words import devices as device_words
from station.words import figures, grammar, teaching

TICK_S = 0.05
Say = Callable[[str], None]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The options: where from, where to, which device, and how many controls of a kind there are."""
    parser.add_argument("--capture", type=Path, metavar=words.WALK_NAME, help=words.LEARN_CAPTURE)
    parser.add_argument("--keep", type=Path, metavar=words.WALK_NAME, help=words.LEARN_KEEP)
    parser.add_argument("--out", type=Path, metavar=words.SHEET_NAME, help=words.LEARN_OUT)
    parser.add_argument("--device", default="", metavar=words.WORD_NAME, help=words.LEARN_DEVICE)
    parser.add_argument("--accept", nargs="+", default=[], metavar=words.CONTROL_NAME, help=words.LEARN_ACCEPT)
    for name, most in MOST.items():
        usual = USUAL.get(name, 0)
        told = words.LEARN_NUMBER.format(controls=words.LEARN_CONTROLS[name], most=most, usual=usual)
        parser.add_argument(_option(name), type=int, default=usual, metavar=words.NUMBER_NAME, help=told)


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def run(args: argparse.Namespace) -> int:
    """Learn, save the sheet, say what stays open; 1 when something does."""
    if args.capture:
        learned, layout = from_capture(args.capture), layout_of(read_descriptor(args.capture))
    else:
        learned, layout = _live(args)
    learned = closed(_accepting(learned, args.accept), layout)
    if not learned.sheet.controls:
        raise InputError(words.NOTHING_LEARNED)
    if args.out:
        save_sheet(args.out, learned.sheet)
    path = args.out or SheetShelf(paths.sheets_folder()).save(learned.sheet, keep_old=True)
    if not args.capture:
        for ids in learned.sheet.match:
            WalkShelf(paths.walks_folder()).close(*ids)
    print("\n".join(summary(learned)))
    print(words.SHEET_WRITTEN.format(path=path))
    return 1 if learned.questions else 0


def _accepting(learned: Learned, controls: Sequence[str]) -> Learned:
    guessed = [c.id for c in learned.guesses]
    for control in controls:
        if not any(is_part(i, control) for i in guessed):
            if not guessed:
                raise InputError(words.NO_GUESS.format(control=control))
            raise InputError(words.NO_SUCH_GUESS.format(control=control, guesses=grammar.COMMA.join(guessed)))
    return accepted(learned, controls)


def from_capture(path: Path) -> Learned:
    """What a kept walk shows, with what the sheet says that was in force then. CaptureError when it holds none."""
    capture = read_capture(path)
    meta, shelf = capture.meta, SheetShelf(paths.sheets_folder())
    name, ids = meta.product or teaching.UNKNOWN_DEVICE, (meta.vendor_id, meta.product_id)
    learned = learn(steps_in(capture), layout=layout_of(capture.descriptor), name=name, match=(ids,))
    before = match(shelf.sheets(), *ids, meta.product) or (shelf.named(meta.sheet) if meta.sheet else None)
    return learned if before is None else replace(learned, sheet=carried_over(learned.sheet, before))


def _live(args: argparse.Namespace) -> tuple[Learned, Layout | None]:
    """Walk with the device that is plugged in; what it showed, and what its descriptor says."""
    info = _device(args.device)
    for name, most in MOST.items():
        if not 0 <= getattr(args, name) <= most:
            raise InputError(words.NUMBER_OUTSIDE.format(option=_option(name), most=most))
    script = walk(usual_controls(**{name: getattr(args, name) for name in MOST}))
    before = SheetShelf(paths.sheets_folder()).blank(info).sheet
    refuse_unasked(before)
    source = UsbSource(info, before.talk, allow_private=False)
    try:
        source.wait_open()
        lesson = Teaching(source, script, layout=layout_of(source.descriptor), later=lambda job: job())
        try:
            learned = walk_through(lesson, say=_say, wait=time.sleep)
        finally:  # whatever ends the walk, what was seen is not lost
            _keep(args.keep, lesson, source.descriptor, None if before.drawn_up else before.name)
        learned = confirmed(learned, _confirm) if sys.stdin.isatty() else learned
        return replace(learned, sheet=carried_over(learned.sheet, before)), layout_of(source.descriptor)
    finally:
        source.close()


def _keep(path: Path | None, lesson: Teaching, descriptor: bytes, sheet: str | None) -> None:
    """Keep what was seen where the person wants it, else among the walks, and say where."""
    if not lesson.seen:
        return
    info, shelf = lesson.source.info, WalkShelf(paths.walks_folder())
    if path is not None:
        keep_walk(path, lesson.seen, info, descriptor, sheet)
    else:
        path = shelf.new(info)
        shelf.keep(path, lesson.seen, info, descriptor, sheet)
    print(words.WALK_KEPT.format(path=path))


def walk_through(lesson: Teaching, *, say: Say, wait: Callable[[float], None]) -> Learned:
    """Say each prompt as its turn comes; what is in doubt is asked again, `ROUNDS` times at most.

    DeviceLost when the device goes away.
    """
    view = lesson.view()
    minutes = grammar.count_of(round(view.to_go_s / 60), words.MINUTES)
    say(words.WALK_BEGINS.format(steps=grammar.count_of(view.count, words.STEPS), minutes=minutes))
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
            say(words.DO_AGAIN)
            lesson.press("next")
        elif view.state == "walking" and view.step is not None and (view.round, view.number) != said:
            said = (view.round, view.number)
            say(words.STEP.format(number=view.number, count=view.count, prompt=view.step.text))
        wait(TICK_S)
        lesson.tick(lesson.source.now_ns())
        view = lesson.view()


def confirmed(learned: Learned, confirm: Callable[[str], bool]) -> Learned:
    """With every best guess written that the person confirms."""
    for question in learned.questions:
        guessed = any(is_part(c.id, question.control) for c in learned.guesses)
        if guessed and confirm(words.WRITE_AS_SEEN.format(question=question.text)):
            learned = accepted(learned, [question.control])
    return learned


def summary(learned: Learned) -> list[str]:
    """What was learned, how sure it is, and what stays open."""
    lines = [_sure(c.name, learned.confidences.get(c.id, 0.0)) for c in learned.sheet.controls]
    lines += [
        words.LEFT_OUT.format(what=teaching.NO_CONTROL[i.what], report=i.report, bit=i.bit, bits=i.bits)
        for i in learned.ignored
    ]
    lines += list(learned.notes)
    lines += [words.OPEN_QUESTION.format(question=q.text) for q in learned.questions]
    lines += [words.GUESS_LEFT_OUT.format(control=c.id) for c in learned.guesses]
    return lines


def _sure(control: str, confidence: float) -> str:
    return words.SURE.format(control=control, percent=figures.number(100.0 * confidence, 0))


def _device(word: str) -> DeviceInfo:
    """The device to learn: a game controller, or one that does not say what it is and that `word` names."""
    also = SheetShelf(paths.sheets_folder()).also()
    found = [d for d in list_devices(also=also, include_others=True) if _named(d, word)]
    ready, silent = [d for d in found if not is_silent(d)], [d for d in found if is_silent(d)]
    if not ready and len(silent) == 1 and word:
        named = (silent[0].vendor_id, silent[0].product_id)
        ready = [d for d in list_devices(also={*also, named}) if (d.vendor_id, d.product_id) == named]
    if not ready:
        raise InputError(words.NO_PAD_BUT_SILENT.format(devices=_names(silent)) if silent else words.NO_PAD)
    if len(ready) > 1:
        raise InputError(words.SEVERAL_DEVICES.format(devices=_names(ready)))
    if ready[0].problem:
        raise InputError(ready[0].problem)
    return ready[0]


def _names(devices: Sequence[DeviceInfo]) -> str:
    return grammar.COMMA.join(d.called or device_words.NAMELESS_IN_LIST for d in devices)


def _named(info: DeviceInfo, word: str) -> bool:
    """Whether `word` is part of the product's name, or its ids as `restpoint devices` prints them."""
    ids = f"{info.vendor_id:04x}:{info.product_id:04x}"
    return word.casefold() in info.product.casefold() or word.casefold() == ids


def _say(line: str) -> None:
    print(line, flush=True)


def _confirm(question: str) -> bool:
    return input(words.CONFIRM.format(question=question)).strip().casefold().startswith(words.YES)
