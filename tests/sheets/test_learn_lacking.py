"""A taught sheet says itself what the pad declares and does not have, where the walk shows it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.app.shelf_of_sheets import carried_over
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.beyond import beyond
from station.sheets.learn import Learned, accepted, closed, learn, walk
from station.sheets.learn.types import Ignored
from station.sheets.model import Sheet
from tests.app.taught_pad import steady_pad
from tests.sheets.learn_hand import NO_SLIPS, walked

PAD = steady_pad(9001, descriptor="right")
SPARE = (0x9_0000 + 77, 0x9_0000 + 78)


def declares_more(layout: Layout) -> Layout:
    """Two more buttons, behind all that the pad sends: their bits are always zero."""
    (first, *others) = layout.reports
    like = next(f for f in layout.input_fields() if f.usage >> 16 == 9)
    more = (replace(like, usage=u, bit_offset=8 * (first.width + 2) + k, is_array=False) for k, u in enumerate(SPARE))
    return replace(layout, reports=(replace(first, fields=(*first.fields, *more)), *others))


@pytest.fixture(scope="module")
def layout() -> Layout:
    return declares_more(parse_descriptor(PAD.descriptor))


@pytest.fixture(scope="module")
def learned(layout: Layout) -> Learned:
    found = learn(walked(PAD, walk(PAD.controls), slips=NO_SLIPS), layout=layout)
    return accepted(found, [q.control for q in found.questions])


def test_what_never_moved_while_every_control_was_worked_is_absent(learned: Learned, layout: Layout) -> None:
    sheet = closed(learned, layout).sheet
    assert set(SPARE) <= set(sheet.absent)
    assert {one.usage for one in beyond(learned.sheet, [layout]).unnamed} >= set(SPARE), "the sheet alone names none"


def test_where_a_control_stayed_out_nothing_is_called_absent(learned: Learned, layout: Layout) -> None:
    """It may be the one that was not found."""
    less = replace(learned, sheet=replace(learned.sheet, controls=learned.sheet.controls[1:]))
    assert closed(less, layout).sheet.absent == ()
    assert closed(learned, None).sheet.absent == ()


@pytest.mark.parametrize(("what", "absent"), [("other", False), ("sensor", False), ("counter", True)])
def test_what_moved_and_was_not_explained_is_not_absent(learned: Learned, layout: Layout, what, absent: bool) -> None:
    spare = next(f for f in layout.input_fields() if f.usage == SPARE[0])
    moved = replace(learned, ignored=(Ignored(what, spare.report_id, spare.bit_offset, 1),))
    assert (SPARE[0] in closed(moved, layout).sheet.absent) is absent
    assert SPARE[1] in closed(moved, layout).sheet.absent


def test_what_a_sheet_said_before_is_kept_unless_it_is_named_now(learned: Learned) -> None:
    usage = next(p.usage for c in learned.sheet.controls for p in c.places if p.usage is not None)
    before = Sheet("before", absent=(SPARE[0], usage))
    taught = replace(learned.sheet, absent=(SPARE[1],))
    assert carried_over(taught, before).absent == (SPARE[1], SPARE[0])
