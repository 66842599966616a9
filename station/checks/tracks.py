"""What a slow movement along one sensor track shows; shared by the slow sweep and the trigger pull."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from station.checks.axes import Axis
from station.checks.base import again, counted, decimals, finding
from station.checks.decide import out_of_limit, outcome_of
from station.checks.looked import Part, Spot
from station.checks.types import (
    Assessment,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Params,
    ParamValue,
    Reading,
    ReadingKind,
)
from station.measure.arrays import F64, I64, Bool
from station.measure.gaps import FINE, Gap, code_gaps, dead_zone
from station.measure.means import ENOUGH_CODES, least_change
from station.measure.passes import Pass
from station.measure.period import period_ns
from station.measure.placement import drawn_outward
from station.measure.reversal import reversals, smoothed
from station.measure.spikes import (
    SHORT_NS,
    Spike,
    at_every_poll,
    departures,
    path_over,
    scatter_beside,
    sharp,
    spikes,
    stands_out,
    usual_interval,
    with_sharp,
)
from station.measure.uncertainty import combined, difference_resolution, expanded, few, half_width, resolution
from station.sheets.model import Control
from station.words import checks as words
from station.words import figures, unseen
from station.words import looked as seen

REVERSAL_PCT = 3.0
SPIKE_EDGE_PCT = 2.0
SAME_PLACE_PCT = 6.0
MIDDLE_PCT = 1.0
"""codes of a stick inside its dead zone spread no farther than this"""
NOTABLE_SHARE, NOTABLE_STEPS = 0.5, 2.5
"""a sharp spike from this share of the limit and so many steps on is measured, though it does not count: by two codes
a value flickers where a trembling hand turns"""
ALONE = 1.6
"""a spike that one pass alone shows counts two-sided from so many times the limit on: a hand that starts anew makes
lower ones (simulated)"""
TWICE = 2.0
"""beside a spike stands another where a track is worn, and a link that looks seldom makes of one that goes up and its
neighbour that goes down one of up to so many times their height"""
SPOT_PCT = 1.6
"""spikes to the same side over no more of the track than this are one spot's"""
ENOUGH_DEGREES = 5
"""so many degrees of freedom tell the scatter of the heights"""
MEDIANS = math.sqrt(math.pi / 2.0)
"""a median scatters by so much more than a mean (normal: Stuart & Ord, *Kendall's Advanced Theory of Statistics* 1,
10.12)"""
LEAP_PCT = 1.0
"""a spike that comes from the other side of a gap to within this of its edge is a leap across it"""
ENDS_PCT = 4.0
"""spikes and gaps are looked for no nearer than this to the turning points, which belong to the hand"""


def track_kinds(parts: tuple[str, ...] = ()) -> tuple[ReadingKind, ...]:
    """The readings of a track, as a check describes them; `parts`: the axes of a stick."""
    return (
        ReadingKind("spikes", words.TRACK_SPIKES, limit="spikes", parts=parts, unseen=unseen.SPIKES),
        ReadingKind(
            "largest_spike", words.TRACK_LARGEST_SPIKE, "%", 1, limit="largest_spike", parts=parts, unseen=unseen.SPIKES
        ),
        ReadingKind("reversals", words.TRACK_REVERSALS, limit="reversals", parts=parts, unseen=unseen.REVERSALS),
        ReadingKind("gap", words.TRACK_GAP, "%", 1, limit="gap", parts=parts, unseen=unseen.GAP),
        *(
            (ReadingKind("dead_zone", words.TRACK_DEAD_ZONE, "%", 1, parts=parts, unseen=unseen.HIDDEN_ZONE),)
            if parts
            else ()
        ),
    )


def _spike_words(params: Params) -> str:
    if "spikes" not in params:
        return words.SPIKES_NONE
    return words.SPIKES_BETWEEN if "last" in params else words.SPIKES_AT


TRACK_FINDINGS = (
    FindingKind(
        "spikes",
        _spike_words,
        {
            "spikes": counted(words.SPIKE),
            "first": decimals(0),
            "last": decimals(0),
            "largest": "largest_spike",
            "at": decimals(0),
        },
    ),
    FindingKind("gap", words.GAP_FOUND, {"gap": "gap", "at": decimals(0)}),
    FindingKind("reversal", words.REVERSAL, {"at": decimals(0)}),
)


@dataclass(frozen=True, slots=True)
class Largest:
    """The height of the greatest spike, its expanded uncertainty, where it is, and how many passes showed it."""

    height: float
    u: float
    at: float
    n: int = 0


@dataclass(frozen=True, slots=True)
class Track:
    """What the passes over a track show. Values in % of the control's range.

    `reversals`: passes that go backwards at one place, `reversal_at`, at which at least half of them do (a hand turns
    back once, a track each time). `gap` None: swept too fast to tell. `noise`: rms about the path. `dead_zone`: the
    wider of two like gaps on either side of where a stick rests, the firmware's. `told_from`: of a gap narrower than
    this only a bound is told.
    """

    spikes: tuple[Spike, ...]
    largest: Largest
    reversals: int
    reversal_at: float | None
    gap: Gap | None
    step: float
    noise: float
    passes: int
    dead_zone: Gap | None = None
    told_from: float = 0.0


def track(
    t_ns: I64,
    values: F64,
    step: float,
    found: list[Pass],
    report_ns: float,
    limits: tuple[float, float],
    centred: bool = False,
) -> Track:
    """Examine the passes `found` of one value. `limits`: the height from which a spike counts, and the gap that still
    passes, which the speed must be able to show; `centred`: the control rests in the middle of its range."""
    threshold, widest_ok = limits
    code, step = step, max(step, _reported_by(values))
    notable: list[Spike] = []
    parts: list[tuple[I64, F64]] = []
    back: list[list[float]] = []
    noise: list[float] = []
    below: tuple[float, float] = (0.0, 0.0)
    notable_from = max(NOTABLE_SHARE * threshold, min(NOTABLE_STEPS * step, threshold))
    for one in found:
        t, v = at_every_poll(t_ns[one.first : one.stop], values[one.first : one.stop])
        every_ns = usual_interval(t)
        way, departure = departures(v, every_ns)
        size = np.abs(departure)
        ends = _off_the_ends(way, v) | _off_the_ends(path_over(v, SHORT_NS, every_ns), v)
        inside = ends & stands_out(v, departure, step, every_ns)
        edged = sharp(t, v, way, notable_from, ends, every_ns)
        here = spikes(t, v, way, departure, threshold, inside)
        notable += [s for s in with_sharp(here, edged) if s.height > 0.0]  # against the line beside it, some are none
        path = smoothed(v, every_ns)
        parts.append((t, np.where(size > threshold, way, path)))
        calm = size[size <= threshold]  # a spike is no noise
        rms = float(np.sqrt(np.mean(calm**2))) if len(calm) else threshold
        noise.append(max(rms, scatter_beside(v, step)))
        back.append(_backwards(v, path, size, one.up, every_ns))
        below = max(below, _below(size, way, inside & (size <= threshold)))
    number, at = _repeated(back)
    rms = float(np.median(noise)) if noise else 0.0
    looked_for = (report_ns, (code, step), widest_ok, rms, centred)
    gap, zone = _gap(parts, [s.at for s in notable if s.height > threshold], *looked_for)
    if notable:
        across, beside = _gap(parts, [], *looked_for)
        leapt = [across] if across is not None and across.sure else []
        flickers = [s for s in notable if any(_leaps(s, one, step) for one in (*leapt, *beside))]
        if flickers:
            notable = [s for s in notable if s not in flickers]
            gap, zone = _gap(parts, [s.at for s in notable if s.height > threshold], *looked_for)
    dead_zone = max(zone, key=lambda one: one.width, default=None)
    spiky = [s for s in notable if s.height > threshold]
    largest = _largest(notable, below, step, rms, threshold)
    return Track(tuple(spiky), largest, number, at, gap, step, rms, len(found), dead_zone, NOTABLE_SHARE * widest_ok)


def _largest(notable: list[Spike], below: tuple[float, float], step: float, noise: float, threshold: float) -> Largest:
    """The place whose spikes are highest: their median over the passes. One that a single pass shows has to be higher
    by `TWICE` than any that two agree on.

    u: the scatter of spikes at one and the same place, pooled over all places (JCGM 100, 4.2.4), no degrees to tell it:
    what an entry scatters against a line between two. The highest of several places that are alike is drawn outward,
    which is taken off (`drawn_outward`). A higher one that a single pass shows may be a spot that the others jumped
    over, or two that look like one: what lies between is open. Without a spike only so much is known that none is
    higher: the middle of that, ± half; and so of a low one that a single pass shows, as a hand that starts anew makes
    it.
    """
    if not notable:
        half = below[0] / 2.0
        return Largest(half, half, below[1])
    least = combined(noise, resolution(step)) * math.sqrt(1.5)
    places: list[list[Spike]] = []
    for one in sorted(notable, key=lambda s: s.at):
        near = (p for p in places if _upward(p[0]) is _upward(one) and one.at - p[0].at <= SPOT_PCT)
        spot = next(near, None)
        if spot is None:
            places.append([one])
        else:
            spot.append(one)
    shown = [(float(np.median([s.height for s in p])), p) for p in places]
    height, best = max(shown, key=lambda p: p[0] / (1.0 if len(p[1]) > 1 else TWICE))
    squares = sum(sum((s.height - middle) ** 2 for s in p) for middle, p in shown)
    degrees = sum(len(p) - 1 for _, p in shown)
    scatter = math.sqrt(squares / degrees) * few(degrees) if degrees >= ENOUGH_DEGREES else least
    if len(best) == 1 and height <= ALONE * threshold:  # no pass agrees: it may be the hand's
        half = (height + expanded(combined(scatter, resolution(step)))) / 2.0
        return Largest(half, half, best[0].at, 1)
    agreed = [(middle, scatter * _of_median(len(p))) for middle, p in shown if len(p) > 1] or [(height, scatter)]
    height -= drawn_outward(agreed)
    u = scatter * _of_median(len(best))
    higher = max(s.height for s in notable) - height - expanded(u)  # seen once: the others may have jumped over it
    open_ = max(higher, 0.0) / 2.0
    return Largest(height + open_, half_width(u, unknown=open_), best[0].at, len(best))


def _of_median(count: int) -> float:
    """Standard uncertainty of a median of so many, in standard deviations of one."""
    return (MEDIANS if count > 2 else 1.0) / math.sqrt(count)


def _upward(one: Spike) -> bool:
    return one.top > one.at


def _off_the_ends(way: F64, values: F64) -> Bool:
    """Where a path lies that far from either end of the pass."""
    low, high = sorted((float(values[0]), float(values[-1])))
    return np.asarray((way > low + ENDS_PCT) & (way < high - ENDS_PCT))


def _below(size: F64, way: F64, counted: Bool) -> tuple[float, float]:
    """The greatest departure that does not count as a spike, and its place."""
    top = int(np.argmax(np.where(counted, size, 0.0)))
    return float(size[top] * counted[top]), float(way[top])


def _backwards(v: F64, path: F64, size: F64, up: bool, every_ns: float) -> list[float]:
    """Places at which one pass goes backwards by more than noise does."""
    noise = float(np.quantile(size, 0.75)) if len(size) else 0.0
    return [at for _, at in reversals(v, path, up, max(REVERSAL_PCT, 2.0 * noise), every_ns)]


def _repeated(back: list[list[float]]) -> tuple[int, float | None]:
    """The place at which most passes went backwards, if at least half of them (and two) did, and how many."""
    best, place = 0, None
    for at in (at for places in back for at in places):
        number = sum(any(abs(other - at) <= SAME_PLACE_PCT for other in places) for places in back)
        if number > best:
            best, place = number, at
    return (best, place) if best >= max(2, (len(back) + 1) // 2) else (0, None)


def _gap(
    parts: list[tuple[I64, F64]],
    spiky: list[float],
    report_ns: float,
    codes: tuple[float, float],
    widest_ok: float,
    noise: float,
    centred: bool,
) -> tuple[Gap | None, tuple[Gap, ...]]:
    """The widest gap; of those that would not pass only one that speed does not explain, and None if speed may
    explain them all. Where a spike sits its codes are missing too: that is the spike's fault, not a gap of its own.
    `codes`: how far they lie apart, and the least change that is ever reported.
    Besides the two sides of a dead zone, which is no gap, if the value rests in the middle of its range (`centred`)."""
    if not parts:
        return None, ()
    step = codes[1]
    low = float(np.median([values.min() for _, values in parts])) + ENDS_PCT
    high = float(np.median([values.max() for _, values in parts])) - ENDS_PCT
    passing = max(widest_ok - expanded(difference_resolution(step)), step)
    gaps = code_gaps(parts, report_ns, low, high, 0.0 if spiky or centred else passing, noise, codes)
    zone = dead_zone(gaps, max(2.0 * step, MIDDLE_PCT)) if centred else ()
    gaps = [gap for gap in gaps if gap not in zone] or gaps[-1:]
    gaps = [gap for gap in gaps if not _holds(gap, spiky)] or gaps[-1:]
    doubtful = [gap for gap in gaps if gap.width > passing]
    widest = next((gap for gap in doubtful if gap.called), None) if doubtful else gaps[0] if gaps else None
    return widest, tuple(zone)


def _leaps(spike: Spike, gap: Gap, step: float) -> bool:
    """Whether a spike goes from one side of a gap to its other edge: a hand that trembles there leaps across and back.

    Its height does not tell, since the line from before to after is drawn across the gap as well."""
    near, half = max(LEAP_PCT, 2.0 * step), gap.width / 2.0
    top, *feet = (value - gap.at for value in (spike.top, *spike.feet))
    outside = half > near and all(abs(foot) >= half - near for foot in feet)
    return outside and abs(abs(top) - half) <= near and any(foot * top < 0.0 for foot in feet)


def _reported_by(values: F64) -> float:
    """The least change that is ever reported, where enough changes are seen to tell: firmware with a hysteresis reports
    in steps wider than its codes, and leaves out others each time; 0 where it cannot be told."""
    return least_change(values) if np.count_nonzero(np.diff(values)) >= ENOUGH_CODES else 0.0


def _holds(gap: Gap, places: list[float]) -> bool:
    """Whether one of the places lies in the gap or at its edge."""
    return any(abs(place - gap.at) <= gap.width / 2.0 + SPIKE_EDGE_PCT for place in places)


def _gap_reading(one: Track, suffix: str) -> Reading:
    """U: resolution of both edges, and how well each is known. Of an interval that is no sure gap only so much is known
    that a gap in it is no wider: the middle between one code and its width, ± half of it."""
    if one.gap is None:
        return Reading(f"gap{suffix}", None, "%", reason=words.TRACK_TOO_FAST)
    ends = expanded(difference_resolution(one.step))
    if not one.gap.sure or one.gap.width < one.told_from:
        half = max(one.gap.width + max(one.gap.edges, _lead_in(one)) - one.step, 0.0) / 2.0
        return Reading(f"gap{suffix}", one.step + half, "%", half + min(ends, one.step), n=one.passes)
    return Reading(f"gap{suffix}", max(one.gap.likely_width, one.step), "%", one.gap.expanded, n=one.passes)


def _lead_in(one: Track) -> float:
    """By how much noise makes a gap look narrower: the outermost of some ten values at either edge lie 2 σ inside."""
    return 4.0 * one.noise if one.noise > FINE * one.step else 0.0


def track_readings(one: Track, suffix: str = "") -> tuple[Reading, ...]:
    """spikes, largest_spike, reversals and gap of a track, with `suffix` "_x", "_y" or none."""
    return (
        Reading(f"spikes{suffix}", float(len(one.spikes)), "", n=one.passes),
        _largest_reading(one, suffix),
        Reading(f"reversals{suffix}", float(one.reversals), "", n=one.passes),
        _gap_reading(one, suffix),
        *_dead_zone_reading(one, suffix),
    )


def _dead_zone_reading(one: Track, suffix: str) -> tuple[Reading, ...]:
    """How far from its middle a stick with a dead zone says that it is there; no reading for one without."""
    if one.dead_zone is None:
        return ()
    hides = words.TRACK_DEAD_ZONE_HIDES
    return (
        Reading(
            f"dead_zone{suffix}", one.dead_zone.likely_width, "%", one.dead_zone.expanded, n=one.passes, reason=hides
        ),
    )


def _largest_reading(one: Track, suffix: str) -> Reading:
    """See `_largest`."""
    return Reading(f"largest_spike{suffix}", one.largest.height, "%", one.largest.u, n=one.passes)


def track_limits(check: str, limits: Limits) -> tuple[float, float]:
    """The height from which a spike counts, and the gap that still passes: the limits of this check."""
    return limits[check]["largest_spike"][0], limits[check]["gap"][0]


def usual_report_ns(t_ns: I64, found: list[Pass]) -> float:
    """The interval at which the device reports while the value moves: the lower quartile of those in the passes.

    A device that reports on change waits longer where codes are missing; that wait must not count as its rate. The
    period of the link if that is longer.
    """
    spans = [np.diff(t_ns[one.first : one.stop]) for one in found]
    return max(float(np.quantile(np.concatenate(spans), 0.25)), period_ns(t_ns)) if spans else 0.0


def track_assessment(
    readings: tuple[Reading, ...], findings: tuple[Finding, ...], tracks: tuple[Track, ...]
) -> Assessment:
    """The verdict; "again" where only the speed of the hand stands in the way of one."""
    outcome = outcome_of(readings)
    if outcome is not Outcome.FAIL and any(one.gap is None for one in tracks):
        return again(words.TRACK_SLOWER, readings)
    return Assessment(outcome, readings, findings)


def track_looked(
    one: Track, t_ns: I64, values: F64, found: list[Pass], axis: Axis | None, widest_ok: float
) -> tuple[tuple[Part, ...], tuple[Spot, ...]]:
    """The passes, and where spikes, a gap that does not pass and a reversal lie in them."""
    parts = tuple(Part(int(t_ns[p.first]), int(t_ns[p.stop - 1])) for p in found)
    spots = [
        Spot(
            "spikes",
            seen.SPIKE.format(height=figures.number(s.height, 1), at=figures.number(s.at, 0)),
            s.t_ns,
            s.t_ns,
            axis,
            s.at,
        )
        for s in one.spikes
    ]
    if one.gap is not None and one.gap.width > widest_ok:
        text = seen.GAP.format(width=figures.number(one.gap.likely_width, 1), at=figures.number(one.gap.at, 0))
        spots += _crossings("gap", text, t_ns, values, found, axis, (one.gap.at, one.gap.width))
    if one.reversal_at is not None:
        text = seen.REVERSAL.format(at=figures.number(one.reversal_at, 0))
        spots += _crossings("reversal", text, t_ns, values, found, axis, (one.reversal_at, 0.0))
    return parts, tuple(spots)


def _crossings(
    code: str, text: str, t_ns: I64, values: F64, found: list[Pass], axis: Axis | None, place: tuple[float, float]
) -> list[Spot]:
    """The times that the passes went across a place."""
    spots = []
    for one in found:
        above = values[one.first : one.stop] >= place[0]
        index = int(np.argmax(above != above[0])) if len(above) else 0
        if index:
            begin, end = int(t_ns[one.first + index - 1]), int(t_ns[one.first + index])
            spots.append(Spot(code, text, begin, end, axis, *place))
    return spots


def track_findings(
    readings: tuple[Reading, ...], one: Track, control: Control | None, axis: Axis | None
) -> tuple[Finding, ...]:
    """spikes, gap and reversal of one track, with the place on it."""
    suffix = f"_{axis}" if axis else ""
    bad = {r.name: r for r in readings if out_of_limit(r)}
    found = []
    if f"spikes{suffix}" in bad or f"largest_spike{suffix}" in bad:
        largest = next(r for r in readings if r.name == f"largest_spike{suffix}")
        found.append(finding("spikes", control, _spike_params(one, largest), axis=axis))
    gap = bad.get(f"gap{suffix}")
    if gap is not None and one.gap is not None:
        found.append(finding("gap", control, {"gap": gap, "at": one.gap.at}, axis=axis))
    if one.reversal_at is not None and f"reversals{suffix}" in bad:
        found.append(finding("reversal", control, {"at": one.reversal_at}, axis=axis))
    return tuple(found)


def _spike_params(one: Track, largest: Reading) -> dict[str, ParamValue | Reading]:
    """The largest departure and where, and how many spikes between which places."""
    params: dict[str, ParamValue | Reading] = {"largest": largest, "at": one.largest.at}
    if one.spikes:
        places = [float(spike.at) for spike in one.spikes]
        params |= {"spikes": len(places), "first": min(places)}
        params |= {"last": max(places)} if len(places) > 1 else {}
    return params
