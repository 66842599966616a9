"""`restpoint learn` on a made-up pad: the prompts, the sheet, and what is said when nothing is plugged in."""

from __future__ import annotations

import numpy as np

from station.app.commands.learn import summary, walk_through
from station.app.main import main
from station.hid.descriptor import parse_descriptor
from station.hid.types import ReportBlock
from station.sheets.learn import walk
from station.sources.port import DeviceInfo
from tests.rig.fakehid import Rig
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import random_pad
from tests.sheets.learn_truth import judged

PAD = random_pad(9001)
INFO = DeviceInfo("made-up", 0x1209, 0x0009, "Made-up pad", "", "usb", PAD.descriptor or b"")


class Bench:
    """A source whose pad does the next step of the walk while it is waited for."""

    def __init__(self) -> None:
        self.steps = iter(list(walked(PAD, walk(PAD.controls), slips=NO_SLIPS)))
        self.now = 0
        self.said: list[str] = []
        self.pending: list[ReportBlock] = []

    def wait(self, _seconds: float) -> None:
        one = next(self.steps)
        self.pending.append(one.block)
        self.now = one.end_ns

    def now_ns(self) -> int:
        return self.now

    def take(self, cursor: int, limit: int = 0) -> tuple[ReportBlock, int]:
        empty = ReportBlock(0, np.zeros(0, np.int64), np.zeros(0, np.uint16), np.zeros((0, 1), np.uint8))
        block = self.pending.pop(0) if self.pending else empty
        return block, cursor + len(block)


def test_a_walk_without_slips_ends_in_a_sheet_without_questions():
    bench = Bench()
    layout = parse_descriptor(PAD.descriptor) if PAD.descriptor else None
    learned = walk_through(bench, walk(PAD.controls), layout, INFO, say=bench.said.append, wait=bench.wait)
    assert not learned.questions
    assert set(judged(PAD, learned).values()) == {"right"}
    assert learned.sheet.match == ((0x1209, 0x0009),)
    assert len(bench.said) == 1 + len(walk(PAD.controls))
    assert any("% sure" in line for line in summary(learned))


def test_without_a_device_it_says_what_to_do(rig: Rig, capsys):
    assert main(["learn"]) == 2
    assert "plug it in" in capsys.readouterr().err
