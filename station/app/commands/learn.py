"""`restpoint learn`: a guided walk that makes a model sheet for a device nobody described."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.capture.file import read_capture, save_capture
from station.capture.types import CaptureMeta
from station.errors import DescriptorError, DeviceLost, InputError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout, ReportBlock
from station.sheets.learn import (
    Learned,
    LearnStep,
    Observed,
    accepted,
    again,
    duration_s,
    learn,
    usual_controls,
    walk,
)
from station.sheets.learn.captured import as_capture, joined, steps_in
from station.sheets.learn.walk import MOST, USUAL
from station.sheets.write import save_sheet
from station.sources.devices import list_devices
from station.sources.port import DeviceInfo, Source
from station.sources.usb import UsbSource

ROUNDS = 3
"""how often what is in doubt is asked again"""
Say = Callable[[str], None]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The options: where from, where to, which device, and how many controls of a kind there are."""
    parser.add_argument("--capture", type=Path, metavar="FILE.npz", help="learn from a walk that was kept before")
    parser.add_argument("--keep", type=Path, metavar="FILE.npz", help="keep this walk as a capture")
    parser.add_argument("--out", type=Path, metavar="SHEET.toml", help="write here instead of the own sheets' folder")
    parser.add_argument("--device", default="", metavar="WORD", help="part of the product's name, if several are there")
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
    if not learned.sheet.controls:
        raise InputError("Nothing was learned from the reports; check that the device answers, and walk again.")
    if args.out:
        save_sheet(args.out, learned.sheet)
    path = args.out or SheetShelf(paths.sheets_folder()).save(learned.sheet)
    print("\n".join(summary(learned)))
    print(f"sheet: {path}")
    return 1 if learned.questions else 0


def _accepting(learned: Learned, controls: Sequence[str]) -> Learned:
    guessed = [c.id for c in learned.guesses]
    for control in controls:
        if not any(i == control or i.startswith(f"{control}_") for i in guessed):
            known = f"one of {', '.join(guessed)}" if guessed else "none: nothing is in doubt"
            raise InputError(f"There is no guess for {control!r} to accept; name {known}.")
    return accepted(learned, controls)


def from_capture(path: Path) -> Learned:
    """What a kept walk shows. CaptureError when it holds none."""
    capture = read_capture(path)
    meta = capture.meta
    name, match = meta.product or "Unknown device", ((meta.vendor_id, meta.product_id),)
    return learn(steps_in(capture), layout=_layout(capture.descriptor), name=name, match=match)


def _live(args: argparse.Namespace) -> Learned:
    """Walk with the device that is plugged in."""
    info = _device(args.device)
    for name, most in MOST.items():
        if not 0 <= getattr(args, name) <= most:
            raise InputError(f"--{name.replace('_', '-')} must be 0 to {most}; say how many the pad has.")
    script = walk(usual_controls(**{name: getattr(args, name) for name in MOST}))
    source = UsbSource(info, allow_private=False)
    seen: list[Observed] = []
    try:
        source.wait_open()
        layout = _layout(source.descriptor)
        learned = walk_through(source, script, layout, seen, say=_say, wait=time.sleep)
        return confirmed(learned, _confirm) if sys.stdin.isatty() else learned
    finally:
        if args.keep and seen:  # whatever ends the walk, what was seen is not lost
            keep(args.keep, seen, source.info, source.descriptor)
        source.close()


def walk_through(
    source: Source,
    script: Sequence[LearnStep],
    layout: Layout | None,
    seen: list[Observed],
    *,
    say: Say,
    wait: Callable[[float], None],
) -> Learned:
    """Prompt step by step, then learn; what is in doubt is asked again, `ROUNDS` times at most.

    `seen` gets every step as it ends. DeviceLost when the device goes away.
    """
    info = source.info
    say(f"{len(script)} steps, about {duration_s(script) / 60:.0f} minutes. Do what each line says until the next.")
    cursor = source.take(0)[1]
    steps: Sequence[LearnStep] = script
    for number in range(ROUNDS + 1):
        cursor = _go_through(source, steps, cursor, seen, say, wait)
        learned = learn(
            seen, layout=layout, name=info.product or "Unknown device", match=((info.vendor_id, info.product_id),)
        )
        steps = again(learned)
        if not steps:
            break
        if number < ROUNDS:
            say("Some of it is not clear yet; please do these again.")
    return learned


def _go_through(
    source: Source,
    steps: Sequence[LearnStep],
    cursor: int,
    seen: list[Observed],
    say: Say,
    wait: Callable[[float], None],
) -> int:
    begin_ns = source.now_ns()
    for number, step in enumerate(steps, 1):
        say(f"{number}/{len(steps)}  {step.text}")
        wait(step.seconds)
        if source.status().state != "live":
            raise DeviceLost(source.status().message or "The device went away; plug it in and walk again.")
        block, cursor = _taken(source, cursor)
        end_ns = max(source.now_ns(), int(block.t_ns[-1]) + 1 if len(block) else 0)
        seen.append(Observed(step, block, begin_ns, end_ns))
        begin_ns = end_ns
    return cursor


def confirmed(learned: Learned, confirm: Callable[[str], bool]) -> Learned:
    """With every best guess written that the person confirms."""
    guessed = {c.id for c in learned.guesses}
    for question in learned.questions:
        mine = [i for i in guessed if i == question.control or i.startswith(f"{question.control}_")]
        if mine and confirm(f"{question.text} Write it as it was seen?"):
            learned = accepted(learned, [question.control])
    return learned


def keep(path: Path, seen: Sequence[Observed], info: DeviceInfo, descriptor: bytes) -> None:
    """The walk as a capture with its marks."""
    meta = CaptureMeta(
        info.vendor_id, info.product_id, info.product, info.serial, info.bus, datetime.now(UTC).isoformat()
    )
    save_capture(path, as_capture(seen, descriptor, meta))


def summary(learned: Learned) -> list[str]:
    """What was learned, how sure it is, and what stays open."""
    lines = [f"{c.name}: {learned.confidences.get(c.id, 0.0):.0%} sure" for c in learned.sheet.controls]
    lines += [f"left out: {i.what}, report {i.report}, bit {i.bit}, {i.bits} bits" for i in learned.ignored]
    lines += list(learned.notes)
    lines += [f"open: {q.text}" for q in learned.questions]
    lines += [f"guess left out: {c.id} (write it with --accept {c.id})" for c in learned.guesses]
    return lines


def _taken(source: Source, cursor: int) -> tuple[ReportBlock, int]:
    """Everything since the cursor as one block."""
    blocks = []
    while True:
        block, cursor = source.take(cursor)
        if not len(block):
            break
        blocks.append(block)
    return joined(blocks), cursor


def _device(word: str) -> DeviceInfo:
    found = [d for d in list_devices() if word.casefold() in d.product.casefold()]
    if not found:
        raise InputError("No game controller is plugged in that could be learned; plug it in and try again.")
    if len(found) > 1:
        names = ", ".join(d.product for d in found)
        raise InputError(f"Several devices are plugged in ({names}); name one with --device.")
    if found[0].problem:
        raise InputError(found[0].problem)
    return found[0]


def _layout(descriptor: bytes) -> Layout | None:
    """What the descriptor says, if it can be read: a second witness only."""
    try:
        return parse_descriptor(descriptor) if descriptor else None
    except DescriptorError:
        return None


def _say(line: str) -> None:
    print(line, flush=True)


def _confirm(question: str) -> bool:
    return input(f"{question} [y/N] ").strip().casefold().startswith("y")
