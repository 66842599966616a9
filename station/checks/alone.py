"""Left alone: plugged in and untouched, for ten minutes to a night, while the bench goes on with other units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from station.checks.base import again, count, counted, finding, in_a_row
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.moving import Movements, joined
from station.checks.takes import reported_in
from station.checks.types import (
    Absence,
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.checks.watched import Asked, Moved, Moves, Watched, by_control, explained
from station.measure.arrays import F64, I64, NS_PER_S, Bool
from station.measure.drift import Drift, drift
from station.measure.held import grid_ns
from station.measure.uncertainty import difference_resolution, expanded
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal, TriggerSignal
from station.words import alone as words
from station.words import checks, grammar, unseen

MIN_NS = 60 * NS_PER_S
ENOUGH_NS = 9 * MIN_NS + 30 * NS_PER_S
"""a shorter watch says nothing: ten minutes are asked for (common practice, no source)"""
BRIEF_AWAY_NS = 30 * NS_PER_S
"""who is back by then has dropped out; a longer absence is somebody who pulled the plug (common practice, no source)"""
GRACE_NS = NS_PER_S
"""a unit that comes back wakes up first (common practice, no source)"""
PIECE_NS = MIN_NS
SAMPLE_NS = NS_PER_S
"""the mean place is taken from values a second apart"""
SHARE, LEAST_NS, MOST_NS = 10, 30 * NS_PER_S, 5 * MIN_NS
"""the first and the last tenth of the time are compared, at least half a minute of it and at most five"""
MOST_TIMES = 6
"""so many moments are named"""
NS_PER_H = 3600 * NS_PER_S


@dataclass(frozen=True, slots=True)
class _Drifted:
    """A stick or trigger, what became of its place, and when it was farthest off."""

    control: Control
    found: Drift

    @property
    def drift(self) -> Reading:
        return Reading("drift", self.found.distance, "%", self.found.u_expanded)

    @property
    def excursion(self) -> Reading:
        return Reading("excursion", self.found.farthest, "%", self.found.farthest_u)


class Alone:
    """Done away from the front of the bench; its evidence is a capture that was thinned out (`bench.thinning`)."""

    name = "alone"
    title = words.ALONE
    about = Description(
        kinds=(),
        readings=(
            ReadingKind("by_itself", checks.QUIET_BY_ITSELF, limit="by_itself"),
            ReadingKind("drift", words.DRIFT, "%", 1, limit="drift"),
            ReadingKind("excursion", words.EXCURSION, "%", 1, limit="excursion"),
            ReadingKind("disconnects", words.DISCONNECTS, limit="disconnects"),
            ReadingKind("longest_away", words.LONGEST_AWAY, "s", 1),
            ReadingKind("watched", words.WATCHED, "min", 1),
            ReadingKind("unwatched", words.UNWATCHED, "min", 1),
            ReadingKind("seen_once_in", words.SEEN_ONCE_IN, "min", 1),
            ReadingKind("cell_per_hour", words.CELL_PER_HOUR, "%", 1),
        ),
        findings=(
            FindingKind("moves_alone", words.MOVES_BY_ITSELF, {"times": counted(grammar.TIME), "at": in_a_row}),
            FindingKind("drifts", words.DRIFTS, {"drift": "drift"}),
            FindingKind("leaves_rest", words.LEAVES_REST, {"excursion": "excursion"}),
            FindingKind(
                "dropped_out",
                words.DISCONNECT,
                {"times": counted(grammar.TIME), "at": in_a_row, "longest": "longest_away"},
            ),
        ),
        unplug_counts=True,
        hands_off=True,
        left_alone=True,
        unseen=unseen.ALONE,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and bool(sheet.controls)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.DO, words.HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        watched_ns = sum(end - begin for begin, end in spans_of(take))
        left = max(1, math.ceil((ENOUGH_NS - watched_ns) / MIN_NS))
        enough = watched_ns >= ENOUGH_NS
        return Progress(enough, "" if enough else words.MORE.format(minutes=left), min(1.0, watched_ns / ENOUGH_NS))

    def assess(self, take: Take, limits: Limits) -> Assessment:
        spans = spans_of(take)
        watched_ns = sum(end - begin for begin, end in spans)
        moves = by_itself(take)
        drifted = _drifted(take, spans)
        dropped = dropped_out(take)
        readings = judged(self.name, _readings(take, watched_ns, moves, drifted, dropped), limits)
        had = [r for r in readings if r.value is not None]
        outcome = outcome_of(had)
        if watched_ns < ENOUGH_NS and outcome is not Outcome.FAIL:
            return again(words.LEAVE_LONGER.format(minutes=watched_ns // MIN_NS), readings)
        findings = (
            *_by_itself_findings(take, moves, limits),
            *_drift_findings(take, [d for d in drifted if d.control.id not in moves], limits),
            *_disconnect_findings(take, dropped, readings),
        )
        return Assessment(outcome, readings, findings)


# --- what was watched -----------------------------------------------------------------------------------


def spans_of(take: Take) -> tuple[tuple[int, int], ...]:
    """The stretches of time in which the unit was there and watched."""
    found, since = [], take.begin_ns
    for one in sorted(take.absences, key=lambda a: a.begin_ns):
        if one.begin_ns > since:
            found.append((since, min(one.begin_ns, take.end_ns)))
        since = max(since, one.end_ns + GRACE_NS)
    if take.end_ns > since:
        found.append((since, take.end_ns))
    return tuple(found)


def by_itself(take: Take) -> Moves:
    """Control → its movements; nobody was to touch anything, so no hand explains one."""
    movements = Movements()
    ended: list[Moved] = []
    for begin, end in spans_of(take):
        for at in range(begin, end, PIECE_NS):
            until = min(at + PIECE_NS, end)
            movements.follow(reported_in(take.signals, at, until), at, until)
        ended += movements.going(end)
        movements.lose()
    moved = joined([*movements.moved, *ended])
    asked = (Asked(take.begin_ns, Alone.name, (), running=True, hands_off=True),)
    return by_control(explained(Watched(take.begin_ns, 0, moved, asked), take.sheet), ("none",))


def dropped_out(take: Take) -> tuple[Absence, ...]:
    """The absences from which the unit came back soon."""
    ended = (a for a in take.absences if a.away and a.end_ns < take.end_ns)
    return tuple(a for a in ended if a.end_ns - a.begin_ns <= BRIEF_AWAY_NS)


def _drifted(take: Take, spans: Sequence[tuple[int, int]]) -> tuple[_Drifted, ...]:
    """The sticks and triggers that reported, in the order of the sheet."""
    if not spans:
        return ()
    whole = sum(end - begin for begin, end in spans)
    window = min(max(whole // SHARE, LEAST_NS), MOST_NS)
    moments = np.concatenate([grid_ns(begin, end, SAMPLE_NS) for begin, end in spans])
    first = moments[: max(1, window // SAMPLE_NS)]
    last = moments[-max(1, window // SAMPLE_NS) :]
    found = []
    for control in take.sheet.controls:
        signal = take.signals.get(control.id)
        axes: tuple[F64, ...]
        steps: tuple[float, ...]
        if isinstance(signal, StickSignal):
            axes, steps = (signal.x_pct, signal.y_pct), (signal.x_step_pct, signal.y_step_pct)
        elif isinstance(signal, TriggerSignal) and control.kind == "trigger":
            axes, steps = (signal.pct,), (signal.step_pct,)
        else:
            continue
        seen = _inside(signal.t_ns, spans)
        if seen.any():
            at = signal.t_ns[seen]
            found.append(_Drifted(control, drift(at, tuple(v[seen] for v in axes), steps, first, last)))
    return tuple(found)


def _inside(t_ns: I64, spans: Sequence[tuple[int, int]]) -> Bool:
    inside = np.zeros(len(t_ns), dtype=np.bool_)
    for begin, end in spans:
        first, last = np.searchsorted(t_ns, (begin, end)).tolist()
        inside[first:last] = True
    return inside


# --- readings and findings ------------------------------------------------------------------------------


def _readings(
    take: Take, watched_ns: int, moves: Moves, drifted: Sequence[_Drifted], dropped: Sequence[Absence]
) -> tuple[Reading, ...]:
    found = [count("by_itself", max(map(len, moves.values()), default=0))]
    if any(c.kind in ("stick", "trigger") for c in take.sheet.controls):
        nothing = (Reading(name, None, "%", reason=words.NOTHING_KNOWN) for name in ("drift", "excursion"))
        found += _worst(drifted) if drifted else nothing
    found.append(count("disconnects", len(dropped)))
    if dropped:
        found.append(Reading("longest_away", _seconds(dropped), "s"))
    unwatched_ns = take.end_ns - take.begin_ns - watched_ns
    found.append(Reading("watched", watched_ns / MIN_NS, "min"))
    if unwatched_ns > 0:
        found.append(Reading("unwatched", unwatched_ns / MIN_NS, "min"))
    found.append(Reading("seen_once_in", watched_ns / MIN_NS / -math.log(0.05), "min"))
    return (*found, *_cell(take))


def _worst(drifted: Sequence[_Drifted]) -> tuple[Reading, Reading]:
    drifts, excursions = [d.drift for d in drifted], [d.excursion for d in drifted]
    return max(drifts, key=lambda r: r.value or 0.0), max(excursions, key=lambda r: r.value or 0.0)


def _seconds(dropped: Sequence[Absence]) -> float:
    return max(a.end_ns - a.begin_ns for a in dropped) / NS_PER_S


def _cell(take: Take) -> tuple[Reading, ...]:
    """Charge in an hour, by the unit's own word; none where it spoke for less than ten minutes.

    U: two readings of the resolution of that word (δ/√6), over the time between them.
    """
    said = [one for one in take.cell if take.begin_ns <= one.t_ns <= take.end_ns]
    if not said or said[-1].t_ns - said[0].t_ns < ENOUGH_NS:
        return ()
    hours = (said[-1].t_ns - said[0].t_ns) / NS_PER_H
    u = expanded(difference_resolution(max(one.step_pct for one in said)))
    return (Reading("cell_per_hour", (said[-1].level_pct - said[0].level_pct) / hours, "%", u / hours, n=len(said)),)


def _by_itself_findings(take: Take, moves: Moves, limits: Limits) -> Iterable[Finding]:
    for control, some in moves.items():
        if len(some) > limits[Alone.name]["by_itself"][0]:
            at = _clocks(take, (one.moved.begin_ns for one in some[:MOST_TIMES]))
            yield finding("moves_alone", take.sheet.control(control), {"times": len(some), "at": at})


def _drift_findings(take: Take, drifted: Sequence[_Drifted], limits: Limits) -> Iterable[Finding]:
    for one in drifted:
        moved, farthest = judged(Alone.name, (one.drift, one.excursion), limits)
        if out_of_limit(moved):
            yield finding("drifts", one.control, {"drift": moved})
        elif out_of_limit(farthest):
            at = _clocks(take, (one.found.farthest_ns,))[0]
            yield finding("leaves_rest", one.control, {"excursion": farthest, "at": at})


def _disconnect_findings(take: Take, dropped: Sequence[Absence], readings: Sequence[Reading]) -> Iterable[Finding]:
    if any(r.name == "disconnects" and out_of_limit(r) for r in readings):
        at = _clocks(take, (a.begin_ns for a in dropped[:MOST_TIMES]))
        yield finding("dropped_out", None, {"times": len(dropped), "at": at, "longest": _seconds(dropped)})


def _clocks(take: Take, times_ns: Iterable[int]) -> tuple[str, ...]:
    """Moments as hours, minutes and seconds since it was left alone."""
    seconds = (max(0, t - take.begin_ns) // NS_PER_S for t in times_ns)
    return tuple(
        words.AT.format(hours=s // 3600, minutes=f"{s // 60 % 60:02d}", seconds=f"{s % 60:02d}") for s in seconds
    )
