"""Learning unknown pads from their reports: random pads, a hand with slips; more of them in tests/bench/learn.py."""

from __future__ import annotations

import pytest

from station.hid.descriptor import parse_descriptor
from station.hid.types import ReportBlock
from station.sheets.learn import Observed, again, duration_s, learn, usual_controls, walk
from station.sheets.load import parse_sheet
from station.sheets.write import sheet_text
from tests.sheets.learn_hand import walked
from tests.sheets.learn_pads import random_pad
from tests.sheets.learn_truth import judged

PADS = range(9000, 9008)


def taught(number: int):
    """A pad, what is learned of it after the questions, and the steps it took."""
    pad = random_pad(number)
    layout = parse_descriptor(pad.descriptor) if pad.descriptor else None
    script = walk(pad.controls)
    steps, now_s = list(walked(pad, script)), duration_s(script)
    learned = learn(steps, layout=layout, name=pad.truth.name)
    for round_number in (1, 2, 3):
        more = again(learned)
        if not more:
            break
        steps += walked(pad, more, seed=round_number, begin_s=now_s)
        now_s += duration_s(more)
        learned = learn(steps, layout=layout, name=pad.truth.name)
    return pad, learned, now_s


@pytest.mark.parametrize("number", PADS)
def test_no_control_is_silently_wrong_and_most_are_right(number):
    pad, learned, took_s = taught(number)
    found = judged(pad, learned)
    assert "wrong" not in found.values(), found
    assert sum(v == "right" for v in found.values()) >= 0.85 * len(found)
    assert took_s <= 240.0


def test_the_sheet_survives_being_written_and_read():
    _, learned, _ = taught(9000)
    assert parse_sheet(sheet_text(learned.sheet), "learned.toml").controls == learned.sheet.controls


def test_a_device_that_says_nothing_teaches_nothing_and_asks():
    pad = random_pad(9000)
    steps = [Observed(o.step, _empty(o.block), o.begin_ns, o.end_ns) for o in walked(pad, walk(pad.controls))]
    learned = learn(steps)
    assert not learned.sheet.controls
    assert {q.control for q in learned.questions} == {c.id for c in pad.controls}


def test_the_walk_of_a_pad_with_twenty_controls_takes_less_than_three_minutes():
    controls = usual_controls(paddles=4)
    assert len(controls) == 20
    assert duration_s(walk(controls)) < 180.0


def _empty(block: ReportBlock) -> ReportBlock:
    return ReportBlock(block.seq0, block.t_ns[:0], block.size[:0], block.raw[:0])
