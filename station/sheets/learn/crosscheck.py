"""What was learned, held against itself and against the whole walk: each contradiction becomes a doubt.

Every part of the analysis looks at its own kind of control. What only shows when all is known is looked at here: axes
that are too coarse, a switch beside its fellow's range, bits that two controls claim, and bits that move with a control
and are nobody's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from station.hid.decode import find_field
from station.sheets.learn.nuisance import LEAST_REPORTS
from station.sheets.learn.result import DOUBTFUL, Outcome
from station.sheets.learn.streams import Kind
from station.sheets.learn.walked import Walked
from station.sheets.model import Control, ExplicitField, Place

LEAST_WIDTH = 8
"""bits of an axis; fewer are rare enough to ask about (common practice, no source)"""
LEAST_EDGES = 3
"""changes of a bit in one step that are no slip of the hand (one press makes two), nor a charge that sinks"""
BYTE = range(1, 9)
MOSTLY = 0.7
"""share of all its changes that lie in the steps of the control that it moves with"""


def cross_checked(walked: Walked, outcomes: Sequence[Outcome], spoken: set[tuple[int, int]]) -> list[Outcome]:
    """The outcomes, those that a check speaks against in doubt. `spoken`: the bits (stream, bit) of buttons."""
    doubts = (
        _beside(walked, outcomes, spoken) | _shared(walked, outcomes) | _widths(walked, outcomes) | _kinds(outcomes)
    )
    return [
        replace(o, doubt=doubts[o.asked.id], confidence=DOUBTFUL) if o.asked.id in doubts and not o.doubt else o
        for o in outcomes
    ]


def _axes(outcome: Outcome) -> list[Place]:
    made: Iterable[Control] = (c for c in outcome.made if c.kind in ("stick", "trigger"))
    return [p for c in made for p in (c.x, c.y, c.at) if p is not None]


def _field(walked: Walked, place: Place) -> tuple[Kind, int, int] | None:
    """Kind of report, first bit and number of bits of a place."""
    if isinstance(place.field, ExplicitField):
        begins = place.field.begins or _of_id(place.field.report)
        return Kind(begins, place.field.length), place.field.bit, place.field.bits
    field = find_field(walked.layout, place.usage) if walked.layout is not None and place.usage else None
    return (
        None if field is None or field.is_array else (Kind(_of_id(field.report_id)), field.bit_offset, field.bit_width)
    )


def _of_id(report: int) -> bytes:
    return bytes((report,)) if report else b""


def _widths(walked: Walked, outcomes: Sequence[Outcome]) -> dict[str, str]:
    """Axes with hardly any steps: their lower bits were taken for something else. (That one axis has more bits than its
    fellows is no harm: it reads the same, but finer or coarser.) What the descriptor says is taken for granted."""
    return {
        o.asked.id: "coarse"
        for o in outcomes
        for p in _axes(o)
        if p.field is not None and (f := _field(walked, p)) and f[2] < LEAST_WIDTH
    }


def _kinds(outcomes: Sequence[Outcome]) -> dict[str, str]:
    """Of two controls that are each other's like, one is no switch where the other has a range."""
    kinds = {o.asked.id: {c.kind for c in o.made} for o in outcomes if o.made}
    return {
        o.asked.id: "unlike"
        for o in outcomes
        if o.made and o.asked.twin in kinds and kinds[o.asked.twin] != kinds[o.asked.id]
    }


def _shared(walked: Walked, outcomes: Sequence[Outcome]) -> dict[str, str]:
    """A bit belongs to one control; two triggers that are said to share an axis are the exception."""
    owners: dict[tuple[Kind, int], set[str]] = {}
    kinds = {o.asked.id: o.asked.kind for o in outcomes}
    for outcome in outcomes:
        for control in outcome.made:
            for place in (control.at, control.x, control.y):
                if place is not None and (f := _field(walked, place)):
                    for bit in range(f[1], f[1] + f[2]):
                        owners.setdefault((f[0], bit), set()).add(outcome.asked.id)
    clashes = [ids for ids in owners.values() if len(ids) > 1 and any(kinds[i] != "trigger" for i in ids)]
    return {i: "shared" for ids in clashes for i in ids}


def _beside(walked: Walked, outcomes: Sequence[Outcome], spoken: set[tuple[int, int]]) -> dict[str, str]:
    """Bits that move with a control, hardly elsewhere, and that nothing accounts for. The byte below an axis may hold
    more of it that its noise hides: that is no harm."""
    steps = {o.asked.id: walked.steps_of(o.asked.id) for o in outcomes}
    axes = [(o.asked.id, f) for o in outcomes for p in _axes(o) if (f := _field(walked, p))]
    lower = {(control, report, first - k) for control, (report, first, _) in axes for k in BYTE}
    placed = {(report, first + k) for _, (report, first, bits) in axes for k in range(bits)}
    found = {}
    for index, stream in enumerate(walked.streams):
        share = MOSTLY if len(stream) >= LEAST_REPORTS else 1.0  # of a few reports, counters and sums are not known
        for bit in stream.varying():
            if bit in walked.taken[index] or (index, bit) in spoken or (stream.kind, bit) in placed:
                continue
            row = stream.bit(bit)
            edges = np.bincount(stream.step[1:][row[1:] != row[:-1]], minlength=len(walked.steps))
            for control, own in steps.items():
                moves = edges[own].max() >= LEAST_EDGES and edges[own].sum() >= share * edges.sum()
                if moves and (control, stream.kind, bit) not in lower:
                    found[control] = "beside"
    return found
