"""Steady hold: does the contact stay closed while it is held lightly?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.checks.base import again, button_of, count, some, spoken, times
from station.checks.decide import judged, outcome_of
from station.checks.types import Assessment, DueAfter, Finding, Limits, Progress, Prompt, Reading, Take
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.measure.contacts import SAME_PRESS_NS, Closures, closures, poll_period_ns, without_bounce
from station.measure.uncertainty import duration, expanded
from station.sheets.model import Control, Sheet

ASKED_NS = 5 * NS_PER_S
ENOUGH_NS = 4 * NS_PER_S
"""A try that is over counts from here on: nobody counts five seconds exactly."""
LET_GO_NS = 1 * NS_PER_S
"""A contact that stays open for longer was let go of (common practice, no source)."""
CHATTER_NS = 20 * NS_PER_MS
"""A last closure shorter than this belongs to letting go (datasheets: bounce up to 20 ms after 100,000 operations)."""


class HoldCheck:
    """One light press, held for five seconds."""

    name = "hold"
    title = "Steady hold"
    due_after: DueAfter = "its control"

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, f"Hold {spoken(control)} down lightly for five seconds.", "Only just hard enough.")

    def progress(self, take: Take, limits: Limits) -> Progress:
        held = _held(take)
        readings = judged(self.name, _readings(take, held), limits)
        if held.all_the_time:
            return Progress(False, "closed already: let go first", 0.0, readings)
        if held.stretch_ns >= ASKED_NS:
            return Progress(True, "", 1.0, readings)
        if held.stretch_ns == 0:
            return Progress(False, "no press seen yet", 0.0, readings)
        if held.let_go:
            return Progress(False, "let go too early: hold it again", 0.0, readings)
        left_s = -(-(ASKED_NS - held.stretch_ns) // NS_PER_S)
        return Progress(False, f"{some(left_s, 'second')} to go", held.stretch_ns / ASKED_NS, readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        held = _held(take)
        readings = judged(self.name, _readings(take, held), limits)
        who = spoken(take.control)
        if held.stretch_ns == 0:
            return again(f"no press of {who} seen", readings)
        if held.all_the_time:
            return again(f"let go of {who} first, then hold it", readings)
        if held.stretch_ns < ENOUGH_NS and not held.sure:
            return again(f"hold {who} for five seconds", readings)
        outcome = outcome_of(readings)
        if not held.dropouts_ns:
            return Assessment(outcome, readings)
        k, longest = len(held.dropouts_ns), max(held.dropouts_ns) / NS_PER_MS
        text = f"{who}: contact lost while held, {times(k)}, longest {longest:.0f} ms"
        return Assessment(outcome, readings, (Finding("dropouts", text),))


@dataclass(frozen=True, slots=True)
class _Held:
    """The longest go at holding: its length, its dropouts, and whether the contact was let go of since.

    `sure`: some dropouts are so brief that no finger can have made them, however short the go was.
    """

    stretch_ns: int
    dropouts_ns: tuple[int, ...]
    let_go: bool
    all_the_time: bool = False
    """closed before the try began and never opened: that shows nothing"""

    @property
    def sure(self) -> bool:
        return any(d < SAME_PRESS_NS for d in self.dropouts_ns)


def _held(take: Take) -> _Held:
    signal = button_of(take)
    if signal is None:
        return _Held(0, (), False)
    c = without_bounce(closures(signal.t_ns, signal.closed, take.end_ns))
    if len(c) == 0:
        return _Held(0, (), False)
    if c.held_before and c.held_after and len(c) == 1:
        return _Held(take.end_ns - take.begin_ns, (), False, all_the_time=True)
    gaps = c.start_ns[1:] - c.end_ns[:-1]
    first = np.append(0, np.flatnonzero(gaps >= LET_GO_NS) + 1)
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
    counted = opens < start + ASKED_NS
    return _Held(int(c.end_ns[last]) - start, tuple((closes - opens)[counted].tolist()), let_go)


def _readings(take: Take, held: _Held) -> tuple[Reading, ...]:
    period = poll_period_ns(take.report_t_ns)
    uncertainty = 0.0 if period is None else expanded(duration(period / NS_PER_MS))
    blind = "the reports do not show how finely the link looks"
    if period is not None:
        blind = "" if period < 2 * NS_PER_MS else f"a dropout shorter than {period / NS_PER_MS:.0f} ms can go unseen"
    n = len(held.dropouts_ns)
    longest = max(held.dropouts_ns, default=0) / NS_PER_MS
    return (
        count("dropouts", n, reason=blind),
        Reading("longest_dropout", longest, "ms", uncertainty if n else 0.0, n=n),
        Reading("held", held.stretch_ns / NS_PER_S, "s", uncertainty / 1000.0),
    )
