"""`restpoint learn`: a guided walk that makes a model sheet for a device nobody described."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.errors import DescriptorError, InputError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout, ReportBlock
from station.sheets.learn import Learned, LearnStep, Observed, again, duration_s, learn, usual_controls, walk
from station.sheets.learn.walk import MOST
from station.sheets.write import save_sheet
from station.sources.devices import list_devices
from station.sources.port import DeviceInfo, Source
from station.sources.usb import UsbSource

ROUNDS = 3
"""how often what is in doubt is asked again"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The options: where to write, which device, and how many controls of a kind there are."""
    parser.add_argument("--out", type=Path, metavar="SHEET.toml", help="write here instead of the own sheets' folder")
    parser.add_argument("--device", default="", metavar="WORD", help="part of the product's name, if several are there")
    for name, most in MOST.items():
        usual = {"sticks": 2, "triggers": 2, "pads": 1, "shoulders": 2, "face": 4, "centre": 3, "stick_presses": 2}
        words = f"number of {name.replace('_', ' ')} (at most {most}, default {usual.get(name, 0)})"
        parser.add_argument(
            f"--{name.replace('_', '-')}", type=int, default=usual.get(name, 0), metavar="N", help=words
        )


def run(args: argparse.Namespace) -> int:
    """Walk, ask again what is in doubt, save the sheet; 1 when something stays open."""
    info = _device(args.device)
    script = walk(usual_controls(**{name: getattr(args, name) for name in MOST}))
    source = UsbSource(info, allow_private=False)
    try:
        source.wait_open()
        layout = _layout(source.descriptor)
        learned = walk_through(
            source, script, layout, info, say=lambda line: print(line, flush=True), wait=lambda s: time.sleep(s)
        )
    finally:
        source.close()
    if not learned.sheet.controls:
        raise InputError("Nothing was learned from the reports; check that the device answers, and walk again.")
    shelf = SheetShelf(paths.sheets_folder())
    if args.out:
        save_sheet(args.out, learned.sheet)
    path = args.out or shelf.save(learned.sheet)
    print("\n".join(summary(learned)))
    print(f"sheet: {path}")
    return 1 if learned.questions else 0


def walk_through(
    source: Source,
    script: Sequence[LearnStep],
    layout: Layout | None,
    info: DeviceInfo,
    *,
    say: Callable[[str], None],
    wait: Callable[[float], None],
) -> Learned:
    """Prompt step by step, then learn; what is in doubt is asked again, `ROUNDS` times at most."""
    say(f"{len(script)} steps, about {duration_s(script) / 60:.0f} minutes. Do what each line says until the next.")
    seen: list[Observed] = []
    cursor = source.take(0)[1]
    learned: Learned | None = None
    steps: Sequence[LearnStep] = script
    for _ in range(ROUNDS + 1):
        for number, step in enumerate(steps, 1):
            say(f"{number}/{len(steps)}  {step.text}")
            begin_ns = source.now_ns()
            wait(step.seconds)
            block, cursor = _taken(source, cursor)
            seen.append(Observed(step, block, begin_ns, source.now_ns()))
        learned = learn(
            seen, layout=layout, name=info.product or "Unknown device", match=((info.vendor_id, info.product_id),)
        )
        steps = again(learned)
        if not steps:
            break
        say("Some of it is not clear yet; please do these again.")
    assert learned is not None
    return learned


def summary(learned: Learned) -> list[str]:
    """What was learned, how sure it is, and what stays open."""
    lines = [f"{c.name}: {learned.confidences.get(c.id, 0.0):.0%} sure" for c in learned.sheet.controls]
    lines += [f"left out: {i.what}, report {i.report}, bit {i.bit}, {i.bits} bits" for i in learned.ignored]
    lines += list(learned.notes)
    lines += [f"open: {q.text}" for q in learned.questions]
    return lines


def _taken(source: Source, cursor: int) -> tuple[ReportBlock, int]:
    """Everything since the cursor as one block."""
    blocks = []
    while True:
        block, cursor = source.take(cursor)
        if not len(block):
            break
        blocks.append(block)
    if not blocks:
        return block, cursor
    width = max(b.raw.shape[1] for b in blocks)
    raw = np.vstack([np.pad(b.raw, ((0, 0), (0, width - b.raw.shape[1]))) for b in blocks])
    whole = ReportBlock(
        blocks[0].seq0,
        np.concatenate([b.t_ns for b in blocks]),
        np.concatenate([b.size for b in blocks]),
        raw,
        blocks[-1].lost,
    )
    return whole, cursor


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
