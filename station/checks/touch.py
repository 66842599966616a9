"""A touch pad: untouched, and swiped all over."""

from __future__ import annotations

import math

import numpy as np

from station.checks.base import again, count, finding, how_often
from station.checks.decide import judged, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.measure.contacts import closures
from station.measure.touch import COLUMNS, FINER, ROWS, Swiped, swiped
from station.sheets.model import Control, Sheet
from station.sheets.signals import TouchSignal
from station.words import checks as words
from station.words import unseen
from station.words.grammar import listed

_FINE = (FINER * ROWS, FINER * COLUMNS)
ASKED_NS = 3 * NS_PER_S
LEAVES_NS = NS_PER_S // 2
"""a finger that was there as the try began has so long to leave"""


def _first(control: Control | None, sheet: Sheet) -> bool:
    """Whether it is the contact that stands for its pad: the first of its zone."""
    if control is None or control.kind != "touch":
        return False
    of_pad = (c.id for c in sheet.controls if c.kind == "touch" and c.zone == control.zone)
    return next(of_pad, control.id) == control.id


def _contacts(take: Take) -> list[TouchSignal]:
    """All contacts of the pad that have reported."""
    own = take.control
    if own is None:
        return []
    found = (take.signals.get(c.id) for c in take.sheet.controls if c.kind == "touch" and c.zone == own.zone)
    return [s for s in found if isinstance(s, TouchSignal) and len(s.t_ns)]


class Untouched:
    """Three seconds with no finger on it."""

    name = "untouched"
    title = words.UNTOUCHED
    about = Description(
        kinds=("touch",),
        readings=(
            ReadingKind("touches", words.UNTOUCHED_TOUCHES, limit="touches"),
            ReadingKind("touched", words.UNTOUCHED_SHARE, "%", 1, limit="touched"),
        ),
        findings=(FindingKind("ghost_touch", words.GHOST_TOUCH, {"times": how_often}),),
        hands_off=True,
        grip="laid down",
        unseen=unseen.UNTOUCHED,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return _first(control, sheet)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.UNTOUCHED_DO, words.UNTOUCHED_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        left_ns = ASKED_NS + LEAVES_NS - (take.end_ns - take.begin_ns)
        if left_ns <= 0:
            return Progress(True, "", 1.0)
        left = max(1, math.ceil(left_ns / NS_PER_S))
        return Progress(False, words.UNTOUCHED_MORE.format(seconds=left), 1.0 - left_ns / (ASKED_NS + LEAVES_NS))

    def assess(self, take: Take, limits: Limits) -> Assessment:
        begin_ns = take.begin_ns + LEAVES_NS
        if take.end_ns - begin_ns < ASKED_NS:
            return again(words.UNTOUCHED_MORE.format(seconds=ASKED_NS // NS_PER_S))
        touches, touched_ns = 0, 0
        for signal in _contacts(take):
            c = closures(signal.t_ns, signal.touched, take.end_ns)
            after = c.end_ns > begin_ns
            touches += int(after.sum())
            touched_ns += int((c.end_ns[after] - np.maximum(c.start_ns[after], begin_ns)).sum())
        share = 100.0 * touched_ns / (take.end_ns - begin_ns)
        readings = judged(self.name, (count("touches", touches), Reading("touched", share, "%")), limits)
        found = (finding("ghost_touch", take.control, {"times": touches}),) if touches else ()
        return Assessment(outcome_of(readings), readings, found)


class Swipe:
    """One finger over all of it, to and fro and up and down."""

    name = "swipe"
    title = words.SWIPE
    about = Description(
        kinds=("touch",),
        readings=(
            ReadingKind("felt", words.SWIPE_FELT, "%", 0, limit="felt"),
            ReadingKind("dead_places", words.SWIPE_DEAD, limit="dead_places"),
            ReadingKind("lost", words.SWIPE_LOST, limit="lost"),
            ReadingKind("longest_lost", words.SWIPE_LONGEST, "ms", 0),
            ReadingKind("jumps", words.SWIPE_JUMPS, limit="jumps"),
        ),
        findings=(
            FindingKind("dead_zone", words.DEAD_ZONE),
            FindingKind("lost_touch", words.LOST_TOUCH, {"times": how_often, "longest": "longest_lost"}),
            FindingKind("touch_jumps", words.TOUCH_JUMPS, {"times": how_often}),
        ),
        works_all=True,
        unseen=unseen.SWIPE,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return _first(control, sheet)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.SWIPE_DO, words.SWIPE_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        seen = _swiped(take)
        if not seen.felt.any():
            return Progress(False, words.SWIPE_BEGIN, 0.0)
        left = seen.left
        share = 1.0 - float(left.mean())
        return Progress(not left.any(), _where_left(seen) if left.any() else "", share)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        seen = _swiped(take)
        readings = judged(self.name, _swipe_readings(seen), limits)
        if not seen.felt.any():
            return again(words.SWIPE_BEGIN, readings)
        if seen.left.any():
            return again(_where_left(seen), readings)
        return Assessment(outcome_of(readings), readings, _swipe_findings(take, seen, readings))


def _swiped(take: Take) -> Swiped:
    """The contacts of the pad as one finger: the first that touches; a second finger says nothing of the pad."""
    found = [swiped(s.t_ns, s.touched, s.x_pct, s.y_pct) for s in _contacts(take)]
    if not found:
        return Swiped(np.zeros((ROWS, COLUMNS), dtype=np.bool_), np.zeros(_FINE, dtype=np.bool_), 0, 0, 0)
    return Swiped(
        np.logical_or.reduce([s.felt for s in found]),
        np.logical_or.reduce([s.dead for s in found]),
        sum(s.lost for s in found),
        max(s.longest_lost_ns for s in found),
        sum(s.jumps for s in found),
    )


def _swipe_readings(seen: Swiped) -> tuple[Reading, ...]:
    cells = ROWS * COLUMNS
    return (
        Reading("felt", 100.0 * float(seen.felt.mean()), "%", n=cells),
        count("dead_places", int(seen.dead.sum()), seen.dead.size),
        count("lost", seen.lost),
        Reading("longest_lost", seen.longest_lost_ns / NS_PER_MS, "ms", n=seen.lost),
        count("jumps", seen.jumps),
    )


def _swipe_findings(take: Take, seen: Swiped, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    found = []
    if seen.dead.any():
        row, column = np.nonzero(seen.dead)
        where = _place(float(row.mean()) / FINER, float(column.mean()) / FINER)
        found.append(
            finding("dead_zone", take.control, {"share": round(100.0 * len(row) / seen.dead.size), "where_at": where})
        )
    if seen.lost:
        longest = next(r for r in readings if r.name == "longest_lost")
        found.append(finding("lost_touch", take.control, {"times": seen.lost, "longest": longest}))
    if seen.jumps:
        found.append(finding("touch_jumps", take.control, {"times": seen.jumps}))
    return tuple(found)


def _where_left(seen: Swiped) -> str:
    row, column = np.nonzero(seen.left)
    places = dict.fromkeys(_place(float(r), float(c)) for r, c in zip(row, column, strict=True))
    return words.SWIPE_MORE.format(where=listed(tuple(places)))


def _place(row: float, column: float) -> str:
    """One of nine words; the low end of y is taken for the far side of the pad, as pads count it towards the user."""
    third = min(2, int(3 * (row + 0.5) / ROWS))
    return words.SWIPE_PLACES[2 - third][min(2, int(3 * (column + 0.5) / COLUMNS))]
