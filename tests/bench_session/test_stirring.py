"""The sign that something moved: seen for every control of made-up pads, and not when nobody touches them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest

from station.bench.stirring import Stirring
from station.hid.types import ReportBlock
from station.sheets.learn import LearnStep, walk
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad

PADS = (
    random_pad(9203),
    random_pad(9207),
    random_pad(9218),
    random_pad(9229),
    random_pad(9211, counter="word", clock="32", clock_hz=1e6, sensors=True, checksum="crc16", reports="two ids"),
)


def pieces(block: ReportBlock, size: int = 16) -> Iterator[ReportBlock]:
    for i in range(0, len(block), size):
        rows = slice(i, i + size)
        yield ReportBlock(i, block.t_ns[rows], block.size[rows], block.raw[rows])


def moved(pad: Pad, steps: Sequence[LearnStep], prompts: Sequence[LearnStep]) -> list[bool]:
    """What the sign says at the end of each prompt about a control, while the hand does `steps`."""
    sign, said = Stirring(), []
    for done, prompt in zip(walked(pad, steps, slips=NO_SLIPS), prompts, strict=True):
        sign.begin(at_rest=prompt.control is None)
        for piece in pieces(done.block):
            sign.take(piece)
        if prompt.control is not None:
            said.append(sign.moved)
    return said


@pytest.mark.parametrize("pad", PADS, ids=[str(p.seed) for p in PADS])
def test_every_control_is_seen_to_move_and_nothing_else_is(pad: Pad) -> None:
    prompts = walk(pad.controls)
    idle = [s if s.control is None else replace(s, action="rest", control=None) for s in prompts]
    assert all(moved(pad, prompts, prompts))
    assert not any(moved(pad, idle, prompts))


def test_an_axis_that_rests_where_all_its_bits_change_is_seen_to_move() -> None:
    """Codes 127 and 128 in turn at rest: every bit of the byte is restless."""

    def block(values: list[int], at_ms: int) -> ReportBlock:
        raw = np.array(values, np.uint8)[:, None]
        t_ns = (at_ms + 4 * np.arange(len(values), dtype=np.int64)) * 1_000_000
        return ReportBlock(0, t_ns, np.ones(len(values), np.uint16), raw)

    sign = Stirring()
    sign.begin(at_rest=True)
    sign.take(block([127, 128] * 100, 0))
    sign.begin(at_rest=False)
    sign.take(block([127, 128] * 20, 1000))
    assert not sign.moved
    sign.take(block([255] * 40 + [128, 127] * 5, 1200))
    assert sign.moved


def test_nothing_at_all_is_no_movement() -> None:
    sign = Stirring()
    sign.begin(at_rest=True)
    sign.begin(at_rest=False)
    sign.take(ReportBlock(0, np.zeros(0, np.int64), np.zeros(0, np.uint16), np.zeros((0, 0), np.uint8)))
    assert not sign.moved
