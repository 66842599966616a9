"""A result and its take → what is to be drawn of it. Pure: no file, no window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from station.checks.base import signal_of
from station.checks.looked import NOTHING, Looked, Picture, Spot
from station.checks.registry import check_named, limits_table
from station.checks.said import sentence, title_on
from station.checks.types import Description, Finding, Limits, LimitTable, Reading, Take
from station.evidence.drawing import (
    NO_PLACES,
    Cloud,
    Codes,
    Contact,
    Evidence,
    Level,
    Line,
    OverTime,
    Path,
    Stop,
    Waits,
)
from station.evidence.kept import Kept
from station.measure.arrays import F64, I64, NS_PER_MS, Bool
from station.measure.contacts import closures
from station.sheets.model import Control
from station.sheets.signals import (
    ButtonSignal,
    HatSignal,
    MotionSignal,
    Signal,
    StickSignal,
    TouchSignal,
    TriggerSignal,
)
from station.words import checks, figures
from station.words import evidence_room as words
from station.words.grammar import sentence_start

SILENT_MS, SILENT_PERIODS = 20.0, 5.0
"""a unit that reports all the time and then does not for so long, and for so many of its usual intervals, is silent:
nothing is known of it"""
STEADY, MOSTLY = 3.0, 0.99
"""it reports all the time where this share of the intervals is no longer than so many usual ones"""
BEYOND = 1.05
"""the value axis goes beyond what there is by so much"""


def limits_of(kept: Kept, limits: Limits) -> Limits:
    """The limits in force, and in their place those by which the result was judged: its readings bear them."""
    result = kept.result
    check = check_named(result.check, kept.sheet)
    kinds = {} if check is None else {k.name: k.limit or k.sheet_limit for k in check.about.readings}
    own: dict[str, tuple[float, float]] = {}
    for reading in result.assessment.readings:
        name = next((kinds[k] for k in _base_names(reading.name) if kinds.get(k)), "")
        if name and reading.limit is not None:
            own[name] = reading.limit, reading.limit if reading.fail_beyond is None else reading.fail_beyond
    table = limits_table(result.check)
    return {**limits, table: {**limits.get(table, {}), **own}}


def _base_names(name: str) -> tuple[str, ...]:
    return name, name.rpartition("_")[0]


def evidence_of(kept: Kept, limits: Limits, *, looked: bool = True) -> Evidence:
    """What is to be drawn of a result. `limits`: those in force. `looked` False: without what the check looked at,
    which takes as long as measuring does."""
    take, result = kept.take, kept.result
    check = check_named(result.check, kept.sheet)
    about = check.about if check is not None else Description(())
    limits = limits_of(kept, limits)
    seen = about.looked(take, limits) if looked and kept.whole and about.looked is not None else NOTHING
    used = _used(seen, take)
    lines = tuple(line for control in _shown(take) for line in _lines(control, take))
    table, readings = limits.get(limits_table(result.check), {}), result.assessment.readings
    path, waits = _path(take, about, lines, table), _waits(take, readings)
    codes = tuple(_codes(line, used) for line in lines if take.control is not None and line.unit == words.TRAVEL_UNIT)
    over_time = OverTime(lines, _contacts(take, seen), _levels(about, table), _span(lines, about, table))
    pictures = _pictures(about, over_time, path, codes, waits)
    return Evidence(
        title=sentence_start(title_on(result.check, result.control, kept.sheet)),
        outcome=result.assessment.outcome,
        begin_ns=take.begin_ns,
        end_ns=max(take.end_ns, take.begin_ns + 1),
        reports=len(take.report_t_ns),
        pictures=pictures,
        over_time=over_time,
        path=path,
        codes=codes,
        cloud=_cloud(path, about, used, readings, seen) if "cloud" in pictures else None,
        waits=waits,
        looked=_belonging(seen, result.assessment.findings),
        stops=_stops(result.check, result.assessment.findings, seen, take),
        silent_ns=_silent(take),
        lost=take.lost,
        remark=kept.remark,
    )


# --- which pictures ---------------------------------------------------------------------------------------


def _pictures(
    about: Description, over_time: OverTime, path: Path | None, codes: tuple[Codes, ...], waits: Waits | None
) -> tuple[Picture, ...]:
    """What the check names first, then what there is besides."""
    usual: tuple[Picture, ...] = ("time", "path", "codes", "intervals")
    there = {
        "time": bool(over_time.lines or over_time.contacts),
        "path": path is not None,
        "cloud": path is not None,
        "codes": bool(codes),
        "intervals": waits is not None,
    }
    return tuple(p for p in dict.fromkeys((*about.pictures, *usual)) if there[p])


def _shown(take: Take) -> tuple[Control, ...]:
    """The controls of which lines are drawn: the one that the check is about, else all that move along a range."""
    if take.control is not None:
        return (take.control,)
    return tuple(c for c in take.sheet.controls if c.kind in ("stick", "trigger", "motion") and c.id in take.signals)


# --- over time --------------------------------------------------------------------------------------------


def _lines(control: Control, take: Take) -> Iterator[Line]:
    signal = signal_of(take, control.id)
    if isinstance(signal, StickSignal):
        yield Line(_of(control, words.HORIZONTAL), words.TRAVEL_UNIT, signal.t_ns, signal.x_pct, "x")
        yield Line(_of(control, words.VERTICAL), words.TRAVEL_UNIT, signal.t_ns, signal.y_pct, "y")
    elif isinstance(signal, TriggerSignal):
        yield Line(control.name, words.TRAVEL_UNIT, signal.t_ns, signal.pct)
    elif isinstance(signal, TouchSignal):
        at = signal.touched
        yield Line(_of(control, words.HORIZONTAL), words.TRAVEL_UNIT, signal.t_ns[at], signal.x_pct[at], "x")
        yield Line(_of(control, words.VERTICAL), words.TRAVEL_UNIT, signal.t_ns[at], signal.y_pct[at], "y")
    elif isinstance(signal, MotionSignal):
        for k in range(signal.accel.shape[1]):
            yield Line(_of(control, words.ACCELERATION[k]), signal.accel_unit, signal.t_ns, _column(signal.accel, k))
        for k in range(signal.gyro.shape[1]):
            yield Line(_of(control, words.TURNING[k]), signal.gyro_unit, signal.t_ns, _column(signal.gyro, k))


def _column(values: F64, k: int) -> F64:
    return np.ascontiguousarray(values[:, k])


def _of(control: Control, axis: str) -> str:
    return words.LINE_OF.format(control=control.name, axis=axis)


def _contacts(take: Take, seen: Looked) -> tuple[Contact, ...]:
    """The control's own contact, its twin's, and those that moved along; of the whole unit every button's."""
    own = take.control
    if own is None:
        told = [c for c in take.sheet.controls if c.kind in ("button", "hat") and c.id in take.signals]
        return tuple(c for control in told for c in _closed(control, take) if len(c.start_ns))
    along = {s.other for s in seen.spots if s.other} | ({take.witness} - {None})
    others = [c for c in take.sheet.controls if c.id in along and c.id != own.id]
    return (*_closed(own, take), *(c for o in others for c in _closed(o, take, own=False)))


def _closed(control: Control, take: Take, own: bool = True) -> Iterator[Contact]:
    signal = signal_of(take, control.id)
    if isinstance(signal, ButtonSignal):
        yield _contact(control.name, signal, signal.closed, take, own)
    elif isinstance(signal, HatSignal):
        for k, direction in enumerate(checks.HAT_EIGHTHS):
            name = words.DIRECTION_OF.format(control=control.name, direction=direction)
            yield _contact(name, signal, signal.direction == k, take, own)


def _contact(name: str, signal: Signal, closed: Bool, take: Take, own: bool) -> Contact:
    c = closures(signal.t_ns, closed, take.end_ns)
    return Contact(name, c.start_ns, c.end_ns, own)


def _levels(about: Description, table: LimitTable) -> tuple[Level, ...]:
    if about.plot is None:
        return ()
    values = about.plot.lines(table)
    return tuple(Level(v, words.LIMIT.format(value=_with_unit(v))) for v in values)


def _with_unit(value: float) -> str:
    return figures.with_unit(figures.plain(value), words.TRAVEL_UNIT)


def _span(lines: tuple[Line, ...], about: Description, table: LimitTable) -> tuple[float, float]:
    """What the check plots while it runs, and all that there is beyond it."""
    low, high = about.plot.span(table) if about.plot is not None else (0.0, 0.0)
    least = min((float(line.values.min()) for line in lines if len(line.values)), default=low)
    most = max((float(line.values.max()) for line in lines if len(line.values)), default=high)
    return min(low, BEYOND * least), max(high, BEYOND * most)


# --- the other pictures -----------------------------------------------------------------------------------


def _path(take: Take, about: Description, lines: tuple[Line, ...], table: LimitTable) -> Path | None:
    control = take.control
    if control is None or control.kind != "stick" or len(lines) != 2:
        return None
    ring = about.dial.ring if about.dial is not None else ""
    limit = table.get(ring, (0.0, 0.0))[0]
    return Path(lines[0], lines[1], control.gate, limit)


def _used(seen: Looked, take: Take) -> tuple[tuple[int, int], ...]:
    """The stretches that the measure used; all of the try where it does not say."""
    used = tuple((p.begin_ns, p.end_ns) for p in seen.parts if not p.why)
    return used or ((take.begin_ns, take.end_ns),)


def _inside(t_ns: I64, stretches: tuple[tuple[int, int], ...]) -> Bool:
    found = np.zeros(len(t_ns), dtype=np.bool_)
    for begin, end in stretches:
        found[np.searchsorted(t_ns, begin) : np.searchsorted(t_ns, end, side="right")] = True
    return found


def _codes(line: Line, used: tuple[tuple[int, int], ...]) -> Codes:
    values, count = np.unique(line.values[_inside(line.t_ns, used)], return_counts=True)
    low = 0.0 if line.axis == "" else -100.0
    return Codes(line.name, line.axis, values, count.astype(np.int64), (low, 100.0))


Stretches = tuple[tuple[int, int], ...]


def _cloud(
    path: Path | None, about: Description, used: Stretches, readings: tuple[Reading, ...], seen: Looked
) -> Cloud | None:
    if path is None:
        return None
    inside = _inside(path.x.t_ns, used)
    cloud = Cloud(
        path.x.values[inside],
        path.y.values[inside],
        limit_pct=path.limit_pct,
        settled=NO_PLACES if seen.settled is None else seen.settled,
        set_aside=NO_PLACES if seen.set_aside is None else seen.set_aside,
    )
    names = about.dial.point if about.dial is not None else ("", "")
    told = {r.name: r for r in readings if r.value is not None}
    x, y = told.get(names[0]), told.get(names[1])
    if x is None or y is None or x.value is None or y.value is None:
        return cloud
    return replace(cloud, centre=(x.value, y.value), uncertainty=(x.uncertainty, y.uncertainty))


def _waits(take: Take, readings: tuple[Reading, ...]) -> Waits | None:
    t = take.report_t_ns
    if len(t) < 2:
        return None
    judged = [r for r in readings if r.unit == words.MILLISECONDS and r.limit is not None]
    levels = tuple(
        Level(r.limit, words.LIMIT.format(value=figures.with_unit(figures.plain(r.limit), r.unit)))
        for r in judged
        if take.control is None and r.limit is not None
    )
    return Waits(t[:-1], np.diff(t) / NS_PER_MS, levels)


def _silent(take: Take) -> I64:
    """Stretches of which nothing is known: it was away, nobody watched, or it stopped although it reports all the time.
    int64[k, 2], in order."""
    told = [(a.begin_ns, a.end_ns) for a in take.absences]
    t = take.report_t_ns
    if len(t) > 2:
        spans = np.diff(t)
        usual = float(np.median(spans))
        if float(np.quantile(spans, MOSTLY)) <= STEADY * usual:
            long = np.flatnonzero(spans > max(SILENT_PERIODS * usual, SILENT_MS * NS_PER_MS))
            told += [(int(t[k] + usual), int(t[k + 1])) for k in long]
    return np.array(sorted(told), dtype=np.int64).reshape(-1, 2)


# --- findings ---------------------------------------------------------------------------------------------


def _belongs(spot: Spot, finding: Finding) -> bool:
    """Whether a place shows what a finding says."""
    if spot.code != finding.code or (spot.axis and finding.axis and spot.axis != finding.axis):
        return False
    return not spot.direction or not isinstance(finding.direction, str) or spot.direction == finding.direction


def _belonging(seen: Looked, findings: tuple[Finding, ...]) -> Looked:
    """Where a finding of the result shows, something is wrong, whatever the place shows otherwise."""
    spots = tuple(replace(s, faulty=s.faulty or any(_belongs(s, f) for f in findings)) for s in seen.spots)
    return replace(seen, spots=spots)


def _stops(check: str, findings: tuple[Finding, ...], seen: Looked, take: Take) -> tuple[Stop, ...]:
    """The places of all findings, one finding after the other, each in the order of time."""
    found: list[Stop] = []
    for finding in findings:
        text = sentence(check, finding)
        here = [s for s in seen.spots if _belongs(s, finding)]
        found += [Stop(text, s.begin_ns, s.end_ns, s) for s in sorted(here, key=lambda s: s.begin_ns)]
        if not here:
            found.append(Stop(text, take.begin_ns, take.end_ns))
    return tuple(found)
