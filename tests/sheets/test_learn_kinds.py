"""Reports of several kinds without a descriptor are told apart by how they begin, and only where there are several."""

from __future__ import annotations

import numpy as np
import pytest

from station.hid.types import Layout
from station.sheets.bind import bind
from station.sheets.learn import learn, walk
from station.sheets.learn.streams import report_kinds
from station.sheets.load import parse_sheet, sheet_text
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad
from tests.sheets.learn_truth import judged
from tests.sheets.vendor_pads import vendor_pad


def kinds_of(pad: Pad) -> tuple[bytes, ...]:
    blocks = [step.block for step in walked(pad, walk(pad.controls), slips=NO_SLIPS)]
    raw = np.concatenate([block.raw for block in blocks])
    return report_kinds(raw, np.concatenate([block.size for block in blocks]).astype(np.int64))


@pytest.mark.parametrize("seed", range(8))
def test_the_kind_that_bears_the_controls_stands_alone(seed: int) -> None:
    pad = vendor_pad(4000 + seed)
    kinds = kinds_of(pad)
    begins = pad.truth.controls[0].places[0].field
    assert begins is not None
    mine = [kind for kind in kinds if kind and begins.begins.startswith(kind)]
    assert len(mine) == 1
    others = {kind for kind in kinds if kind not in mine}
    assert len(others) >= 1


@pytest.mark.parametrize("seed", range(8))
def test_a_pad_of_one_kind_is_not_taken_apart(seed: int) -> None:
    """Neither by its buttons, nor by a counter, nor by the noise of an axis in its first bytes."""
    assert kinds_of(random_pad(5000 + seed, descriptor="none", reports="plain")) == (b"",)


def test_what_is_learned_reads_the_controls_and_can_be_saved() -> None:
    pad = vendor_pad(4001)
    learned = learn(walked(pad, walk(pad.controls), slips=NO_SLIPS), name="Taught")
    found = judged(pad, learned)
    assert "wrong" not in found.values()
    assert list(found.values()).count("right") > 0.8 * len(found)
    assert parse_sheet(sheet_text(learned.sheet), "taught.toml") == learned.sheet
    bind(learned.sheet, Layout((), (), False))
