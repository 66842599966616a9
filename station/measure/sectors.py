"""A roll around the rim, sector by sector: covered, reach, and the difference between the two ways.

A sector spans 5°; sector 0 begins at bearing 0 (up), then clockwise. The hand can only take the stick off the rim,
so of several passes through a sector the farthest counts, and those that agree with it are pooled: the reach is the
median of all their samples, which a rail that cuts noise off hardly moves. Whether a short sector is the unit's doing
is seen from the passes agreeing: a hand that cuts a corner seldom cuts it twice alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable
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
PIECE_DEG = 0.5
PIECES = round(360.0 / PIECE_DEG)
PER_SECTOR = PIECES // SECTORS
"""a tenth of a sector. Between reports farther apart than this points are put, and those nearer are pooled, so that a
sector's median is over its angle: where the stick turned round or hung back it stood for long"""
NEAR_SECTORS = 2
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

    `reach`: pooled median of the passes close to the farthest; `scatter`: how those passes, float[passes, 72], lie off
    it, NaN where a pass did not count; `number`: how many counted, as a rule; `agreeing`: number of passes within
    `AGREE_PCT` of the farthest (0 where not covered); `clockwise` and `anticlockwise`: reach by way, and `apart`,
    float[2, 72], the difference between two passes of one way.
    """

    reach: F64
    agreeing: I64
    scatter: F64
    number: int
    clockwise: F64
    anticlockwise: F64
    apart: F64
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
        empty, none = np.full(SECTORS, np.nan), np.zeros(SECTORS, dtype=np.int64)
        return Roll(
            empty, none, np.full((2, SECTORS), np.nan), 0, empty, empty, np.full((2, SECTORS), np.nan), 0.0, 0.0
        )
    way = _way(t, angle)
    angle, reach, way = _fill(angle, reach, way)
    turned = np.diff(angle, prepend=angle[0])
    clockwise = np.cumsum(np.where(way > 0, np.maximum(turned, 0.0), 0.0))
    anticlockwise = np.cumsum(np.where(way < 0, np.maximum(-turned, 0.0), 0.0))
    turn = np.where(way > 0, 2 * (clockwise // 360.0), 2 * (anticlockwise // 360.0) + 1).astype(np.int64)
    moving = way != 0
    samples = _Samples(((angle % 360.0) / PIECE_DEG).astype(np.int64)[moving] % PIECES, turn[moving], reach[moving])
    passes = _pass_medians(samples)
    close, agreeing = _close(passes)
    pooled = _medians(samples, close)
    ways = [_medians(samples, _close(passes[k::2], k, len(passes))[0]) for k in (0, 1)]
    return Roll(
        reach=pooled,
        agreeing=agreeing,
        scatter=np.where(close, passes - pooled, np.nan),
        number=int(np.median(close.sum(axis=0))),
        clockwise=ways[0],
        anticlockwise=ways[1],
        apart=np.stack([_apart(passes[k::2]) for k in (0, 1)]),
        turns_clockwise=float(clockwise[-1]) / 360.0,
        turns_anticlockwise=float(anticlockwise[-1]) / 360.0,
    )


def _way(t_ns: I64, angle: F64) -> F64:
    """+1 clockwise, −1 anticlockwise, 0 where the stick hardly turns."""
    seconds = (t_ns - t_ns[0]).astype(np.float64)
    ahead = np.interp(seconds + WAY_NS, seconds, angle) - np.interp(seconds - WAY_NS, seconds, angle)
    return np.where(np.abs(ahead) >= 6.0, np.sign(ahead), 0.0)


def _fill(angle: F64, reach: F64, way: F64) -> tuple[F64, F64, F64]:
    """Put points between neighbouring reports that are more than `PIECE_DEG` but no more than `STEP_DEG` apart."""
    gap = np.abs(np.diff(angle))
    pieces = np.where(gap <= STEP_DEG, np.ceil(gap / PIECE_DEG), 1).astype(np.int64)
    pieces = np.maximum(pieces, 1)
    if pieces.max() == 1:
        return angle, reach, way
    index = np.repeat(np.arange(len(pieces)), pieces)
    share = (np.arange(len(index)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[index]
    return (
        angle[index] + share * (angle[index + 1] - angle[index]),
        reach[index] + share * (reach[index + 1] - reach[index]),
        way[index],
    )


@dataclass(frozen=True, slots=True)
class _Samples:
    """Samples on the rim: piece of the angle (720), number of the pass, reach."""

    piece: I64
    turn: I64
    reach: F64


def _pass_medians(samples: _Samples) -> F64:
    """Median reach of each pass through each sector, float[turns, 72]; NaN where a pass did not touch it."""
    turns = max(int(samples.turn.max()) + 1, 2) if len(samples.turn) else 2
    key = samples.turn * PIECES + samples.piece
    return _over_sectors(_grouped(key, samples.reach, turns * PIECES)).reshape(turns, SECTORS)


def _medians(samples: _Samples, used: Bool) -> F64:
    """Median of the samples of the used passes bool[turns, 72] in each sector, float[72]; NaN where there is none."""
    here = used[samples.turn, samples.piece // PER_SECTOR]
    return _over_sectors(_grouped(samples.piece[here], samples.reach[here], PIECES))


def _over_sectors(pieces: F64) -> F64:
    """Median over the pieces of each sector; NaN where none is known."""
    ordered = np.sort(pieces.reshape(-1, PER_SECTOR), axis=1)  # NaN last
    count = np.isfinite(ordered).sum(axis=1)
    row, last = np.arange(len(ordered)), np.maximum(count - 1, 0)
    return np.asarray((ordered[row, last // 2] + ordered[row, (last + 1) // 2]) / 2.0)


def _grouped(key: I64, reach: F64, groups: int) -> F64:
    """Median of each group, NaN for an empty one. O(n log n)."""
    medians = np.full(groups, np.nan)
    if len(key) == 0:
        return medians
    order = np.argsort(key * SEPARATE + reach)
    key, reach = key[order], reach[order]
    first = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
    count = np.diff(np.append(first, len(key)))
    medians[key[first]] = (reach[first + (count - 1) // 2] + reach[first + count // 2]) / 2.0
    return medians


def _close(passes: F64, first: int = 0, turns: int = 0) -> tuple[Bool, I64]:
    """Which passes count for each sector, and the number of those that agree with the farthest.

    Those count that lie within `CLOSE_PCT` of the farthest, or three times their usual scatter if that is more: a pass
    that has slackened a little confirms the sector but would lower it. With `turns`, bool[turns, 72] in which the given
    passes are every other one from `first` on.
    """
    known = np.where(np.isnan(passes), -np.inf, passes)
    farthest = known.max(axis=0)
    agree = np.isfinite(known) & (known >= farthest - AGREE_PCT)
    mean = np.where(agree, passes, 0.0).sum(axis=0) / np.maximum(agree.sum(axis=0), 1)
    off = np.abs(np.where(agree, passes - mean, 0.0)[agree])
    usual = 1.48 * float(np.median(off)) if len(off) else 0.0
    close = np.isfinite(known) & (known >= farthest - min(max(CLOSE_PCT, 3.0 * usual), AGREE_PCT))
    if turns:
        every = np.zeros((turns, SECTORS), dtype=np.bool_)
        every[first::2] = close
        close = every
    return close, agree.sum(axis=0)


def _apart(passes: F64) -> F64:
    """How far the two farthest passes of one way are apart, float[72], NaN where there are no two; what is shorter than
    five sectors left out, since a hand wanders slowly and noise does not."""
    if len(passes) < 2:
        return np.full(SECTORS, np.nan)
    known = np.sort(median_of_neighbours(np.where(np.isnan(passes), -np.inf, passes)), axis=0)
    both = np.isfinite(known[-2])
    return np.asarray(np.subtract(known[-1], known[-2], out=np.full(SECTORS, np.nan), where=both))


def wandered(one: Roll, bearing_deg: float | None = None) -> float:
    """By how much the passes of one way differ, in %, on the quarter of the rim where they agree least, or around a
    bearing if it is more there: a gate repeats itself, and so does a stick that lags; a hand that does not press
    outwards wanders. Infinite where no two passes of one way met."""
    known = one.apart[np.isfinite(one.apart)]
    if not len(known):
        return math.inf
    least = float(np.quantile(known, 0.75))
    if bearing_deg is None:
        return least
    here = (int(bearing_deg / WIDTH_DEG) + np.arange(-NEAR_SECTORS, NEAR_SECTORS + 1)) % SECTORS
    low = one.apart[0 if np.nansum(one.clockwise[here] - one.anticlockwise[here]) < 0 else 1, here]
    return max(least, float(np.nanmedian(low))) if np.isfinite(low).any() else math.inf


# --- what selection does ------------------------------------------------------------------------------

DRAWS = 400
NEIGHBOURS = 4
"""sectors to either side among which a sector's reach is likely to lie"""
SPREAD_SURE = 1.94
"""less than so many times the noise's variance nine values spread by noise alone (95 % of χ² with 8 degrees, over 8)"""


@dataclass(frozen=True, slots=True)
class Selected:
    """What noise does to a value that is picked as the least or greatest of many: by how much it shifts it on average,
    and the standard uncertainty of the value that is corrected for it."""

    shift: float
    u: float


def noise_draws(one: Roll) -> F64:
    """Errors that the reach of the sectors may have had, float[draws, 72], from how the passes scatter.

    A bootstrap of the residuals in whole passes, each turned by a random angle, so that what is slow in the noise stays
    together (Efron, Ann. Stat. 7, 1979, 1; circular blocks: Politis & Romano, in *Exploring the Limits of Bootstrap*,
    1992, 263); they are as great as the scatter around each sector, since a rail cuts noise off. All zero where no two
    passes met. Always the same draws for the same roll.
    """
    known = ~np.isnan(one.scatter)
    rows = np.flatnonzero(known.sum(axis=1) > SECTORS // 4)
    if one.number < 2 or len(rows) < 2:
        return np.zeros((DRAWS, SECTORS))
    scatter = np.where(known, one.scatter, 0.0)
    local = np.sqrt(_around(np.square(scatter).sum(axis=0)) / np.maximum(_around(known.sum(axis=0)), 1))
    scatter = np.divide(scatter, local, out=np.zeros_like(scatter), where=local > 0)
    usual = float(np.sqrt(np.mean(np.square(scatter[known & (local > 0)])))) if local.any() else 0.0
    rng = np.random.default_rng(SECTORS)
    take = rng.choice(rows, (DRAWS, one.number))
    turned = (np.arange(SECTORS) + rng.integers(0, SECTORS, (DRAWS, one.number, 1))) % SECTORS
    counts = known & (local > 0)
    drawn, counted = scatter[take[..., None], turned], counts[take[..., None], turned]
    mean = drawn.sum(axis=1) / np.maximum(counted.sum(axis=1), 1)
    return np.asarray(mean * local / max(usual, 1e-12) * np.sqrt(one.number / (one.number - 1.0)))


def _around(values: F64 | I64) -> F64:
    """Sum of each sector and its neighbours."""
    return np.asarray(sum(np.roll(values, k) for k in range(-NEIGHBOURS, NEIGHBOURS + 1)), dtype=np.float64)


def likely(values: F64, draws: F64) -> F64:
    """Values of neighbouring sectors drawn towards their mean by as much of their spread as is noise.

    The spread of measured values is that of the true ones and the noise's together; what is picked from them would be
    corrected for less than it should (empirical Bayes: Efron & Morris, J. Am. Stat. Assoc. 70, 1975, 311). Where their
    spread may be all noise they are drawn to their mean.
    """
    known = np.isfinite(values)
    if not known.all() or not draws.any():
        return values
    around = np.stack([np.roll(values, k) for k in range(-NEIGHBOURS, NEIGHBOURS + 1)])
    mean, spread = around.mean(axis=0), around.var(axis=0, ddof=1)
    noise = float(draws.var())
    share = np.divide(noise, spread, out=np.ones(SECTORS), where=spread > SPREAD_SURE * noise)
    return np.asarray(mean + (1.0 - share) * (values - mean))


def selected(values: F64, draws: F64, pick: Callable[[F64], F64]) -> Selected:
    """What noise does to `pick`(values), which takes float[..., 72] to float[...]."""
    true = likely(values, draws)
    shifts = pick(true + draws) - pick(true)
    shift = float(shifts.mean())
    # the correction is known to no better than itself: of 72 alike sectors it takes off two thirds (computed)
    return Selected(shift, math.hypot(float(shifts.std()), shift))


def steepness(values: F64, sector: int) -> float:
    """How much the value of a sector changes per degree, by its steeper side: at a corner or a notch of a gate it
    depends on where in the sector the stick was seen."""
    around = np.abs(np.diff(np.take(values, range(sector - 1, sector + 2), mode="wrap")))
    return float(around.max()) / WIDTH_DEG if np.isfinite(around).all() else 0.0


def least_reach(one: Roll, within: float) -> tuple[float, float, float]:
    """Least reach of any covered sector, its bearing (deg), and half the angle over which the reach is alike within
    `within` (180 when it is alike all around)."""
    worst = int(np.nanargmin(one.reach))
    alike = one.reach <= one.reach[worst] + within
    off = np.abs((np.flatnonzero(alike) - worst + SECTORS // 2) % SECTORS - SECTORS // 2)
    return float(one.reach[worst]), centre_deg(worst), (float(off.max()) + 0.5) * WIDTH_DEG


def two_way_difference(one: Roll) -> tuple[float, float]:
    """Greatest difference between the ways, as a median over five neighbouring sectors, and its bearing (deg).

    NaN, 0 when fewer than half of the sectors were rolled through both ways.
    """
    difference = one.clockwise - one.anticlockwise
    if np.isfinite(difference).sum() < SECTORS // 2:
        return np.nan, 0.0
    size = np.abs(median_of_neighbours(np.where(np.isfinite(difference), difference, 0.0)))
    worst = int(np.argmax(size))
    return float(size[worst]), centre_deg(worst)


def median_of_neighbours(values: F64, neighbours: int = 5) -> F64:
    """Median of each sector and its neighbours, along the last axis."""
    around = np.stack([np.roll(values, k, axis=-1) for k in range(-(neighbours // 2), neighbours // 2 + 1)])
    return np.asarray(np.median(around, axis=0))
