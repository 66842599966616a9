"""Steady hold: does the contact stay closed while it is held lightly, still and rocked?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.checks.base import again, button_of, count, finding, how_often, spoken
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.looked import NOTHING, Looked, Part, Spot
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
from station.measure.contacts import SAME_PRESS_NS, Closures, closures, without_bounce
from station.measure.lateness import lateness
from station.measure.uncertainty import COVERAGE_FACTOR, slowest_of
from station.sheets.model import Control, Sheet
from station.words import checks as words
from station.words import figures, unseen
from station.words import looked as seen
from station.words.grammar import some

ASKED_NS = 5 * NS_PER_S
ENOUGH_NS = 4 * NS_PER_S
"""A try that is over counts from here on: nobody counts five seconds exactly."""
LET_GO_NS = 1 * NS_PER_S
"""A contact that stays open for longer was let go of (common practice, no source)."""
ROCKED_NS = ASKED_NS // 2
"""From here on the button is to be rocked."""
CHATTER_NS = 20 * NS_PER_MS
"""A last closure shorter than this belongs to letting go (datasheets: bounce up to 20 ms after 100,000 operations)."""


class HoldCheck:
    """One light press, held for five seconds: the first half still, the second rocked."""

    name = "hold"
    title = words.HOLD
    about = Description(
        kinds=("button",),
        together="fingers",
        do_together=words.HOLD_DO,
        unseen=unseen.HOLD,
        readings=(
            ReadingKind("dropouts", words.HOLD_DROPOUTS, limit="dropouts"),
            ReadingKind("longest_dropout", words.HOLD_LONGEST_DROPOUT, "ms", 1),
            ReadingKind(
                "rocking_dropouts", words.HOLD_ROCKING_DROPOUTS, limit="rocking_dropouts", unseen=unseen.HOLD_ROCKED
            ),
            ReadingKind("longest_rocking", words.HOLD_LONGEST_ROCKING, "ms", 1, unseen=unseen.HOLD_ROCKED),
            ReadingKind("held", words.HOLD_HELD, "s", 2),
        ),
        findings=(
            FindingKind("dropouts", words.DROPOUTS, {"times": how_often, "longest": "longest_dropout"}),
            FindingKind("rocking_dropouts", words.ROCKING_DROPOUTS, {"times": how_often, "longest": "longest_rocking"}),
        ),
        short=words.HOLD_SHORT,
        counts=True,
        pictures=("time",),
        looked=lambda take, limits: _looked(take),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.HOLD_DO.format(who=spoken(control)), words.HOLD_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        held = _held(take)
        readings = judged(self.name, _readings(take, held), limits)
        if held.all_the_time:
            return Progress(False, words.HOLD_CLOSED, 0.0, readings)
        if held.stretch_ns >= ASKED_NS:
            return Progress(True, "", 1.0, readings)
        if held.stretch_ns == 0:
            return Progress(False, words.NO_PRESS_YET, 0.0, readings)
        if held.let_go:
            return Progress(False, words.HOLD_TOO_EARLY, 0.0, readings)
        left_s = -(-(ASKED_NS - held.stretch_ns) // NS_PER_S)
        to_go = words.TO_GO.format(what=some(left_s, words.SECOND))
        if held.stretch_ns >= ROCKED_NS:
            to_go = words.HOLD_ROCK.format(to_go=to_go)
        return Progress(False, to_go, held.stretch_ns / ASKED_NS, readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        held = _held(take)
        readings = judged(self.name, _readings(take, held), limits)
        who = spoken(take.control)
        if held.stretch_ns == 0:
            return again(words.HOLD_UNSEEN.format(who=who), readings)
        if held.all_the_time:
            return again(words.HOLD_LET_GO_FIRST.format(who=who), readings)
        if held.stretch_ns < ENOUGH_NS and not held.sure:
            return again(words.HOLD_FOR_FIVE.format(who=who), readings)
        return Assessment(outcome_of(readings), readings, _findings(take, held, readings))


def _looked(take: Take) -> Looked:
    held = _held(take)
    if held.stretch_ns == 0 or held.all_the_time:
        return NOTHING
    begin, end = held.begin_ns, min(held.begin_ns + held.stretch_ns, held.begin_ns + ASKED_NS)
    parts = (
        Part(take.begin_ns, begin, seen.BEFORE_HELD),
        Part(begin, end),
        Part(end, take.end_ns, seen.AFTER_HELD),
    )
    still = len(held.dropouts_ns)
    spots = (
        Spot(
            "dropouts" if k < still else "rocking_dropouts",
            seen.OPEN_FOR.format(ms=figures.number((closed - opened) / NS_PER_MS, 1)),
            opened,
            closed,
        )
        for k, (opened, closed) in enumerate(held.opened_ns)
    )
    return Looked(tuple(p for p in parts if p.end_ns > p.begin_ns), tuple(spots))


def _findings(take: Take, held: _Held, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    value = {r.name: r for r in readings}
    found = []
    for code, times, longest in (
        ("dropouts", len(held.dropouts_ns), "longest_dropout"),
        ("rocking_dropouts", len(held.rocked_ns), "longest_rocking"),
    ):
        if times and (out_of_limit(value[code]) or out_of_limit(value[longest])):
            found.append(finding(code, take.control, {"times": times, "longest": value[longest]}))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Held:
    """The longest go at holding: its length, its dropouts held still and rocked, and whether it was let go of since.

    `sure`: some dropouts are so brief that no finger can have made them, however short the go was.
    """

    stretch_ns: int
    dropouts_ns: tuple[int, ...]
    rocked_ns: tuple[int, ...]
    let_go: bool
    all_the_time: bool = False
    """closed before the try began and never opened: that shows nothing"""
    begin_ns: int = 0
    opened_ns: tuple[tuple[int, int], ...] = ()
    """when each dropout began and ended, those held still first"""

    @property
    def sure(self) -> bool:
        return any(d < SAME_PRESS_NS for d in self.dropouts_ns + self.rocked_ns)


def _held(take: Take) -> _Held:
    signal = button_of(take)
    if signal is None:
        return _Held(0, (), (), False)
    c = without_bounce(closures(signal.t_ns, signal.closed, take.end_ns))
    if len(c) == 0:
        return _Held(0, (), (), False)
    if c.held_before and c.held_after and len(c) == 1:
        return _Held(take.end_ns - take.begin_ns, (), (), False, all_the_time=True)
    gaps = c.start_ns[1:] - c.end_ns[:-1]
    apart = gaps >= LET_GO_NS
    if c.held_before:  # "let go first": the first opening that a finger can have made is just that, and no dropout
        apart[np.flatnonzero(gaps >= SAME_PRESS_NS)[:1]] = True
    first = np.append(0, np.flatnonzero(apart) + 1)
    last = np.append(first[1:] - 1, len(c) - 1)
    best = int(np.argmax(c.end_ns[last] - c.start_ns[first]))
    let_go = not c.held_after and take.end_ns - int(c.end_ns[-1]) >= LET_GO_NS
    return _longest(c, int(first[best]), int(last[best]), let_go)


def _longest(c: Closures, first: int, last: int, let_go: bool) -> _Held:
    """Dropouts are openings in the first five seconds, but not the chatter of a contact that is being let go of."""
    held_to_the_end = c.held_after and last == len(c) - 1
    if last > first and not held_to_the_end and c.end_ns[last] - c.start_ns[last] < CHATTER_NS:
        last -= 1
    start = int(c.start_ns[first])
    opens, closes = c.end_ns[first:last], c.start_ns[first + 1 : last + 1]
    lasts = closes - opens
    still, rocked = opens < start + ROCKED_NS, (opens >= start + ROCKED_NS) & (opens < start + ASKED_NS)
    when = [(int(a), int(b)) for part in (still, rocked) for a, b in zip(opens[part], closes[part], strict=True)]
    both = tuple(lasts[still].tolist()), tuple(lasts[rocked].tolist())
    return _Held(int(c.end_ns[last]) - start, *both, let_go, begin_ns=start, opened_ns=tuple(when))


def _readings(take: Take, held: _Held) -> tuple[Reading, ...]:
    late = lateness(take.report_t_ns)
    late = late if late is not None and late.enough else None
    u_ms = 0.0 if late is None else late.duration_ns() / NS_PER_MS
    blind = words.HOLD_BLIND
    if late is not None and late.sure:
        period_ms = late.period_ns / NS_PER_MS
        below = words.HOLD_BLIND_BELOW.format(period=figures.number(period_ms, 0, figures.PAPER))
        blind = "" if period_ms < 2 else below
    unknown = words.PRESS_PERIOD_UNKNOWN if late is None else ""
    still, rocked = held.dropouts_ns, held.rocked_ns
    return (
        count("dropouts", len(still), reason=blind),
        _longest_of("longest_dropout", still, u_ms, unknown),
        count("rocking_dropouts", len(rocked), reason=blind),
        _longest_of("longest_rocking", rocked, u_ms, unknown),
        Reading("held", held.stretch_ns / NS_PER_S, "s", COVERAGE_FACTOR * u_ms / 1000.0, reason=unknown),
    )


def _longest_of(name: str, dropouts_ns: tuple[int, ...], u_ms: float, unknown: str) -> Reading:
    """The longest is picked among several that may be alike."""
    n = len(dropouts_ns)
    if n == 0:
        return Reading(name, 0.0, "ms")
    uncertainty = max(COVERAGE_FACTOR, slowest_of(n)) * u_ms
    return Reading(name, max(dropouts_ns) / NS_PER_MS, "ms", uncertainty, n=n, reason=unknown)
