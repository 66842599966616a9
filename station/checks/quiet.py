"""Quiet: what moved over the whole visit although nobody was asked to touch it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from station.checks.base import again, counted, finding, in_a_row
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
from station.checks.watched import Explained, Moves, Watched, by_control, explained
from station.measure.arrays import NS_PER_S
from station.sheets.model import Control, Sheet
from station.words import checks as words
from station.words import grammar, unseen

ENOUGH_NS = 60 * NS_PER_S
"""a shorter visit says nothing (common practice, no source)"""
PLACES = 2
"""a brush comes with the work at one control; what a hand could have done while it worked at so many is asked about"""
MOST_TIMES = 12
"""so many moments are named"""


class Quiet:
    """Nothing to do for it: judged from the visit when all else is done."""

    name = "quiet"
    title = words.QUIET
    about = Description(
        kinds=(),
        unseen=unseen.QUIET,
        readings=(
            ReadingKind("by_itself", words.QUIET_BY_ITSELF, limit="by_itself"),
            ReadingKind("perhaps", words.QUIET_PERHAPS, limit="perhaps"),
            ReadingKind("brushes", words.QUIET_BRUSHES),
            ReadingKind("watched", words.QUIET_WATCHED, "s", 0),
        ),
        findings=(
            FindingKind("by_itself", words.BY_ITSELF, {"times": counted(grammar.TIME), "at": in_a_row}),
            FindingKind("perhaps_by_itself", words.PERHAPS_BY_ITSELF, {"times": counted(grammar.TIME), "at": in_a_row}),
        ),
        counts=True,
        watches="moves",
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and bool(sheet.controls)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.QUIET_DO, words.QUIET_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        watched_ns = take.watched.watched_ns if take.watched else 0
        if watched_ns >= ENOUGH_NS:
            return Progress(True, "", 1.0)
        left = max(1, math.ceil((ENOUGH_NS - watched_ns) / NS_PER_S))
        return Progress(False, words.QUIET_MORE.format(seconds=left), watched_ns / ENOUGH_NS)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        watched = take.watched
        if watched is None or watched.watched_ns < ENOUGH_NS:
            return again(words.QUIET_TOO_SHORT)
        moves = explained(watched, take.sheet)
        by_itself = by_control(moves, ("none",))
        perhaps = _perhaps(moves, by_itself)
        brushes = sum(one.cause == "brush" for one in moves)
        readings = judged(self.name, _readings(watched, by_itself, perhaps, brushes), limits)
        return Assessment(outcome_of(readings), readings, _findings(watched, take.sheet, by_itself, perhaps, limits))


def _perhaps(moves: Sequence[Explained], sure: Moves) -> Moves:
    """What a hand could have done, of controls that moved while it worked at several others; pauses count with it."""
    brushed = by_control(moves, ("brush",))
    unclear = by_control(moves, ("brush", "pause"))
    places = {control: {one.during for one in some} for control, some in brushed.items()}
    return {c: some for c, some in unclear.items() if c not in sure and len(places.get(c, ())) >= PLACES}


def _occasions(moves: Sequence[Explained]) -> int:
    """On how many occasions a control moved: a hand that slips does so more than once in one try, so that all of a try
    at which a hand worked are one; where nothing was to be touched each is one."""
    return len({one.try_ns for one in moves} - {None}) + sum(one.try_ns is None for one in moves)


def _may_be_hand(moves: Sequence[Explained]) -> bool:
    """Whether it was a single occasion, with a hand at work: the person is asked."""
    return _occasions(moves) == 1 and moves[0].try_ns is not None


def _readings(watched: Watched, sure: Moves, perhaps: Moves, brushes: int) -> tuple[Reading, ...]:
    n = len(watched.asked)
    return (
        Reading("by_itself", float(max(map(_occasions, sure.values()), default=0)), "", n=n),
        Reading("perhaps", float(max(map(len, perhaps.values()), default=0)), "", n=n),
        Reading("brushes", float(brushes), "", n=n),
        Reading("watched", watched.watched_ns / NS_PER_S, "s", n=n),
    )


def _findings(watched: Watched, sheet: Sheet, sure: Moves, perhaps: Moves, limits: Limits) -> tuple[Finding, ...]:
    table = limits["quiet"]
    found = []
    for code, some, limit in (("by_itself", sure, "by_itself"), ("perhaps_by_itself", perhaps, "perhaps")):
        for control, moves in some.items():
            if (_occasions(moves) if some is sure else len(moves)) > table[limit][0]:
                at = tuple(_clock(one.moved.begin_ns - watched.begin_ns) for one in moves[:MOST_TIMES])
                asked = "perhaps_by_itself" if some is sure and _may_be_hand(moves) else code
                found.append(finding(asked, sheet.control(control), {"times": len(moves), "at": at}))
    return tuple(found)


def _clock(ns: int) -> str:
    """A moment of the visit: minutes and seconds since it began."""
    seconds = max(0, ns) // NS_PER_S
    return words.QUIET_AT.format(minutes=seconds // 60, seconds=f"{seconds % 60:02d}")
