"""Reports of several kinds without a descriptor are told apart by how they begin, and only where there are several."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.hid.types import Layout
from station.sheets.bind import bind
from station.sheets.learn import learn, walk
from station.sheets.learn.streams import Kind, report_kinds
from station.sheets.load import parse_sheet, sheet_text
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad
from tests.sheets.learn_truth import judged
from tests.sheets.vendor_pads import vendor_pad
from tests.sheets.vendor_talk import Device, wants_of


def kinds_of(pad: Pad) -> tuple[Kind, ...]:
    blocks = [step.block for step in walked(pad, walk(pad.controls), slips=NO_SLIPS)]
    raw = np.concatenate([block.raw for block in blocks])
    return report_kinds(raw, np.concatenate([block.size for block in blocks]).astype(np.int64))


@pytest.mark.parametrize("seed", range(16))
def test_the_kind_that_bears_the_controls_stands_alone(seed: int) -> None:
    pad = vendor_pad(4000 + seed)
    kinds = kinds_of(pad)
    mine = pad.truth.controls[0].places[0].field
    assert mine is not None
    fits = [k for k in kinds if mine.begins.startswith(k.begins) and k.length in (0, mine.length)]
    assert len(fits) == 1
    assert len(kinds) >= 2


def test_there_are_pads_whose_reports_only_their_length_tells_apart() -> None:
    forms = [vendor_pad(4000 + seed).traits["head"] for seed in range(16)]
    assert forms.count("length") >= 3


@pytest.mark.parametrize("seed", range(8))
def test_a_pad_of_one_kind_is_not_taken_apart(seed: int) -> None:
    """Neither by its buttons, nor by a counter, nor by the noise of an axis in its first bytes."""
    assert kinds_of(random_pad(5000 + seed, descriptor="none", reports="plain")) == (Kind(),)


@pytest.mark.parametrize("cut", [4, 30], ids=["shorter", "longer"])
def test_a_length_that_bears_the_same_is_a_slip_of_the_link(cut: int) -> None:
    rng = np.random.default_rng(15)
    raw = np.zeros((4000, 32), np.uint8)
    raw[:, :20] = rng.integers(0, 256, (4000, 20), np.uint8)
    size = np.full(4000, 20)
    size[::50] = cut
    raw[::50, cut:] = 0
    assert report_kinds(raw, size) == (Kind(),)


def test_buttons_in_the_first_byte_are_no_type_where_the_length_tells_reports_apart() -> None:
    rng = np.random.default_rng(15)
    raw, size = np.zeros((6000, 12), np.uint8), np.full(6000, 12)
    raw[::2, 0] = np.repeat([0, 1, 0, 2, 0, 4], 500)  # the first byte of one kind: buttons
    raw[::2, 2:] = rng.normal(128, 2, (3000, 10)).astype(np.uint8)
    raw[1::2, :8], size[1::2] = (0x37, 9, 1, 0xFF, 0, 0x55, 0, 0), 8
    assert set(report_kinds(raw, size)) == {Kind(b"", 12), Kind(b"\x37", 8)}


def test_what_is_learned_reads_the_controls_and_can_be_saved() -> None:
    pad = vendor_pad(4001)
    learned = learn(walked(pad, walk(pad.controls), slips=NO_SLIPS), name="Taught")
    found = judged(pad, learned)
    assert "wrong" not in found.values()
    assert list(found.values()).count("right") > 0.8 * len(found)
    assert parse_sheet(sheet_text(learned.sheet), "taught.toml") == learned.sheet
    bind(learned.sheet, Layout((), (), False))


def test_a_control_in_reports_of_one_length_is_read_from_them_alone_and_saved_so() -> None:
    pad = next(pad for pad in map(vendor_pad, range(4000, 4100)) if pad.traits["head"] == "length")
    learned = learn(walked(pad, walk(pad.controls), slips=NO_SLIPS), name="Taught")
    found = judged(pad, learned)
    assert "wrong" not in found.values()
    assert list(found.values()).count("right") > 0.8 * len(found)
    lengths = {f.length for c in learned.sheet.controls for p in c.places if p is not None and (f := p.field)}
    assert lengths == {pad.widths[0]}
    assert parse_sheet(sheet_text(learned.sheet), "taught.toml") == learned.sheet


# --- pads that say nothing until they were spoken to ---------------------------------------------------------


SPOKEN_TO = [seed for seed in range(4000, 4090) if (w := wants_of(seed)) is not None and w.question and w.alive][:3]


@pytest.mark.parametrize("seed", SPOKEN_TO)
@pytest.mark.parametrize("left_out", ["nothing", "steps", "replies", "keep_alive"])
def test_such_a_pad_reports_only_as_long_as_it_is_spoken_to(seed: int, left_out: str) -> None:
    wants, empty = wants_of(seed), {"steps": (), "replies": (), "keep_alive": None}
    assert wants is not None
    device = Device(wants, replace(wants.talk, **{k: v for k, v in empty.items() if k == left_out}))  # type: ignore[arg-type]
    device.open()
    heard_s = sum(b - a for a, b in device.until(20.0))
    assert heard_s == 20.0 if left_out == "nothing" else heard_s < 5.0
