"""A roll around the rim, sector by sector: covered, reach, and the difference between the two ways.

A sector spans 5°; sector 0 begins at bearing 0 (up), then clockwise. The hand can only take the stick off the rim,
so of several passes through a sector the farthest counts, and those that agree with it are averaged. Whether a short
sector is the unit's doing is seen from the passes agreeing: a hand that cuts a corner seldom cuts it twice alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from station.measure.arrays import F64, I64, NS_PER_MS, Bool

SECTORS = 72
WIDTH_DEG = 360.0 / SECTORS
ON_RIM_PCT = 45.0
"""nearer than this the stick is not being rolled around the rim at all"""
STEP_DEG = 15.0
"""two neighbouring reports no farther apart than this cover what lies between them"""
AGREE_PCT, CLOSE_PCT = 2.0, 0.5
"""passes through a sector that agree with its farthest this well followed the rim; within this they are averaged"""
SEPARATE = 4096.0
"""more than any reach, so that one sort orders by pass and sector first"""
WAY_NS = 120 * NS_PER_MS
"""the way of a roll is told from the movement over this long on either side, so that noise does not turn it"""


def sector_of(bearing_deg: F64) -> I64:
    """The sector in which each bearing lies (0 = up, clockwise; any number of turns)."""
    return ((bearing_deg % 360.0) / WIDTH_DEG).astype(np.int64) % SECTORS


def centre_deg(sector: int) -> float:
    """The bearing of the middle of a sector: 2.5° for sector 0. Where a sector is drawn or named, it is by this."""
    return (sector + 0.5) * WIDTH_DEG


def centres_deg() -> F64:
    """The bearings of the middles of all sectors, float[72]."""
    return np.asarray((np.arange(SECTORS) + 0.5) * WIDTH_DEG, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll by sector, float[72] in %, NaN where not covered.

    `reach`: mean of the passes close to the farthest, `u_reach` its standard uncertainty from their scatter;
    `agreeing`: number of passes within `AGREE_PCT` of the farthest (0 where not covered); `clockwise` and
    `anticlockwise`: reach by way.
    """

    reach: F64
    agreeing: I64
    u_reach: float
    clockwise: F64
    anticlockwise: F64
    turns_clockwise: float
    turns_anticlockwise: float

    @property
    def covered(self) -> Bool:
        """Sectors the roll went through, bool[72]."""
        return np.isfinite(self.reach)


def roll(t_ns: I64, x_pct: F64, y_pct: F64, reach_pct: F64) -> Roll:
    """Measure a roll. `reach_pct` is the deflection as the gate measures it. O(n log n)."""
    on_rim = np.hypot(x_pct, y_pct) >= ON_RIM_PCT
    angle = np.unwrap(np.arctan2(x_pct[on_rim], y_pct[on_rim])) * (180.0 / np.pi)
    t, reach = t_ns[on_rim], reach_pct[on_rim]
    if len(t) < 2:
        empty = np.full(SECTORS, np.nan)
        return Roll(empty, np.zeros(SECTORS, dtype=np.int64), 0.0, empty, empty, 0.0, 0.0)
    way = _way(t, angle)
    t, angle, reach, way = _fill(t, angle, reach, way)
    turned = np.diff(angle, prepend=angle[0])
    clockwise = np.cumsum(np.where(way > 0, np.maximum(turned, 0.0), 0.0))
    anticlockwise = np.cumsum(np.where(way < 0, np.maximum(-turned, 0.0), 0.0))
    turn = np.where(way > 0, 2 * (clockwise // 360.0), 2 * (anticlockwise // 360.0) + 1).astype(np.int64)
    sector = sector_of(angle)
    moving = way != 0
    passes = _pass_medians(sector[moving], turn[moving], reach[moving])
    reach, agreeing, u_reach = _agreed(passes)
    return Roll(
        reach=reach,
        agreeing=agreeing,
        u_reach=u_reach,
        clockwise=_agreed(passes[0::2])[0],
        anticlockwise=_agreed(passes[1::2])[0],
        turns_clockwise=float(clockwise[-1]) / 360.0,
        turns_anticlockwise=float(anticlockwise[-1]) / 360.0,
    )


def _way(t_ns: I64, angle: F64) -> F64:
    """+1 clockwise, −1 anticlockwise, 0 where the stick hardly turns."""
    seconds = (t_ns - t_ns[0]).astype(np.float64)
    ahead = np.interp(seconds + WAY_NS, seconds, angle) - np.interp(seconds - WAY_NS, seconds, angle)
    return np.where(np.abs(ahead) >= 6.0, np.sign(ahead), 0.0)


def _fill(t_ns: I64, angle: F64, reach: F64, way: F64) -> tuple[I64, F64, F64, F64]:
    """Put points between neighbouring reports that are more than half a sector but no more than `STEP_DEG` apart."""
    gap = np.abs(np.diff(angle))
    pieces = np.where(gap <= STEP_DEG, np.ceil(gap / (WIDTH_DEG / 2)), 1).astype(np.int64)
    pieces = np.maximum(pieces, 1)
    if pieces.max() == 1:
        return t_ns, angle, reach, way
    index = np.repeat(np.arange(len(pieces)), pieces)
    share = (np.arange(len(index)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[index]
    return (
        t_ns[index],
        angle[index] + share * (angle[index + 1] - angle[index]),
        reach[index] + share * (reach[index + 1] - reach[index]),
        way[index],
    )


def _pass_medians(sector: I64, turn: I64, reach: F64) -> F64:
    """Median reach of each pass through each sector, float[turns, 72]; NaN where a pass did not touch it."""
    if len(sector) == 0:
        return np.full((2, SECTORS), np.nan)
    turns = int(turn.max()) + 1
    medians = np.full((max(turns, 2), SECTORS), np.nan)
    key = turn * SECTORS + sector
    order = np.argsort(key * SEPARATE + reach)
    key, reach = key[order], reach[order]
    first = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
    count = np.diff(np.append(first, len(key)))
    middle = (reach[first + (count - 1) // 2] + reach[first + count // 2]) / 2.0
    medians.reshape(-1)[key[first]] = middle
    return medians


def _agreed(passes: F64) -> tuple[F64, I64, float]:
    """For each sector its reach, the number of passes that agree with the farthest, and u of the reach.

    The reach is the mean of the passes within `CLOSE_PCT` of the farthest, or three times their usual scatter if that
    is more: a pass that has slackened a little confirms the sector but would lower its mean. u is the scatter of those
    passes about their sectors' means (pooled), over the root of their usual number.
    """
    known = np.where(np.isnan(passes), -np.inf, passes)
    farthest = known.max(axis=0)
    agree = np.isfinite(known) & (known >= farthest - AGREE_PCT)
    off = np.abs(_residuals(passes, agree)[agree])
    usual = 1.48 * float(np.median(off)) if len(off) else 0.0
    close = np.isfinite(known) & (known >= farthest - min(max(CLOSE_PCT, 3.0 * usual), AGREE_PCT))
    number = close.sum(axis=0)
    residual = _residuals(passes, close)
    freedom = int((number - 1)[number > 1].sum())
    scatter = float(np.sqrt((residual**2).sum() / freedom)) if freedom else 0.0
    mean = np.where(number > 0, np.where(close, passes, 0.0).sum(axis=0) / np.maximum(number, 1), np.nan)
    return mean, agree.sum(axis=0), max(scatter, usual) / np.sqrt(max(float(np.median(number)), 1.0))


def _residuals(passes: F64, used: Bool) -> F64:
    """The used passes less their sectors' means; 0 for the others."""
    mean = np.where(used, passes, 0.0).sum(axis=0) / np.maximum(used.sum(axis=0), 1)
    return np.where(used, passes - mean, 0.0)


def least_reach(one: Roll, within: float) -> tuple[float, float, float]:
    """Least reach of any covered sector, its bearing (deg), and half the angle over which the reach is alike within
    `within` (180 when it is alike all around)."""
    worst = int(np.nanargmin(one.reach))
    alike = one.reach <= one.reach[worst] + within
    off = np.abs((np.flatnonzero(alike) - worst + SECTORS // 2) % SECTORS - SECTORS // 2)
    return float(one.reach[worst]), centre_deg(worst), (float(off.max()) + 0.5) * WIDTH_DEG


def two_way_difference(one: Roll, neighbours: int = 5) -> tuple[float, float]:
    """Greatest difference between the ways, as a median over neighbouring sectors, and its bearing (deg).

    NaN, 0 when fewer than half of the sectors were rolled through both ways.
    """
    difference = one.clockwise - one.anticlockwise
    if np.isfinite(difference).sum() < SECTORS // 2:
        return np.nan, 0.0
    known = np.where(np.isfinite(difference), difference, 0.0)
    around = np.stack([np.roll(known, k) for k in range(-(neighbours // 2), neighbours // 2 + 1)])
    smooth = np.abs(np.median(around, axis=0))
    worst = int(np.argmax(smooth))
    return float(smooth[worst]), centre_deg(worst)
