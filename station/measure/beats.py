"""Presses made on a beat: which press answers which beat, and what became of each beat.

Times are int64 ns. The hand may run ahead of the beat, lag behind it or skip one; none of that is a fault of the unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from station.measure.arrays import I64
from station.measure.contacts import Closures, press_number, without_bounce

BeatState = Literal["waiting", "registered", "missed", "neither", "split", "short", "stays", "void"]
SHORT_NS = 15_000_000
"""A press that closed for less in all is short (common practice, no source)."""
_WITNESS_SLACK_NS = 40_000_000
"""Two fingers that press on one beat do so within some 40 ms of each other; common practice, no source."""


STAYS_NS = 150_000_000
"""A contact that is still closed so long after the finger let go stays closed; common practice, no source."""
_USUAL_PRESSES = 5
"""so many other presses of the try tell how long this hand usually presses"""
_SPREADS = 6.0
"""robust standard deviations by which a press must be longer than usual"""
_WHOLE_NS = 2 * SHORT_NS
"""a press of the witness that lasts shorter than this was cut short by its contact, whatever is usual with it"""

SLOWEST = 90.0
"""beats a minute; a tempo of 0.57…3.8 Hz comes naturally (spontaneous tempo: Front. Psychol. 12:677201, 2021)"""
LONGEST_NS = round(60e9 / SLOWEST)
"""between two beats, where none was withdrawn"""
LATE_START = 4
"""a hand that has not begun yet may let so many beats pass at the head of a try; as many as are counted in"""


@dataclass(frozen=True, slots=True)
class BeatPress:
    """One beat and the press that answered it. `settled` is False while more may still come.

    *neither*: the witness did not register it either, so that nobody knows whether the hand slipped or both missed.
    *stays*: the contact was closed for longer than the finger pressed.

    `closed_ns` is the time the contact was closed in all, `delay_ns` how much later than the beat it first closed.
    """

    t_ns: int
    state: BeatState
    settled: bool
    closures: int = 0
    closed_ns: int = 0
    delay_ns: int | None = None

    @property
    def faulty(self) -> bool:
        return self.state in ("missed", "split", "short", "stays")


@dataclass(frozen=True, slots=True)
class Tally:
    """All beats of a try. `vouched`: a witness answered often enough for its silence to mean a slip of the hand.

    `offset_ns`: by how much this hand's presses lag behind the beats, as a median. `late`: how many beats at the head
    are void because the hand had not begun yet. `elsewhere`: how many because the finger was on another control, and
    `at_one` of them on the one that it was on most often.
    """

    beats: tuple[BeatPress, ...]
    vouched: bool
    offset_ns: int
    late: int = 0
    elsewhere: int = 0
    at_one: int = 0


@dataclass(frozen=True, slots=True)
class _Presses:
    """Presses of one control; press i is made of closures first[i] … last[i]."""

    c: Closures
    first: NDArray[np.intp]
    last: NDArray[np.intp]

    @property
    def start_ns(self) -> I64:
        return self.c.start_ns[self.first]


def tally(
    control: Closures,
    witness: Closures | None,
    beats_ns: Sequence[int],
    end_ns: int,
    others: Sequence[Closures] = (),
) -> Tally:
    """What became of each beat, in order. `beats_ns` holds the beats not withdrawn, `end_ns` the present.

    A beat that neither the control nor its witness answered is *neither*: the hand slipped, or both missed it. Two
    closures in one beat are a split, unless the witness opened and closed in between as well: then the hand pressed
    twice. A witness that answers fewer than half of the beats that were surely pressed (by either) vouches for
    nothing: it was not pressed, or is faulty itself, and doubting beats on its word would hide the control's misses.
    Beats before the first press of either are void, unless something was pressed before the first beat already (in
    the count-in): the hand had not begun yet. Without anyone to vouch they are at most `LATE_START`.
    A contact that stays closed (`_stays`) answers late: the beats that fall into it are its own.
    A beat that the control did not answer while another one did (`others`, none of which may move with it) is void: the
    finger was elsewhere.
    """
    beats = np.asarray(sorted(beats_ns), dtype=np.int64)
    if len(beats) == 0:
        return Tally((), witness is not None, 0)
    interval = beat_interval_ns(beats)
    own, other = _presses(control), None if witness is None else _presses(witness)
    starts = own.start_ns if other is None else np.sort(np.concatenate([own.start_ns, other.start_ns]))
    offset = hand_offset_ns(beats, starts, interval)
    found = match_to_beats(beats, own.start_ns, interval, offset)
    answered = np.zeros(len(beats), dtype=np.bool_)
    if other is not None:
        answered = match_to_beats(beats, other.start_ns, interval, offset) >= 0
    vouched = other is not None and 2 * int(answered.sum()) >= int((answered | (found >= 0)).sum())
    late = _extra_presses(beats, own.start_ns, found, interval, offset)
    stays = _stays(own, other)
    both = (found >= 0) & (answered if other is not None else True)
    strays = _elsewhere(others, beats + offset, interval // 2, found >= 0, both)
    out: list[BeatPress] = []
    for i, at in enumerate(beats.tolist()):
        over = end_ns >= at + max(offset, 0) + interval // 2
        mine = [] if found[i] < 0 else sorted([int(found[i]), *late.get(i, ())])
        if mine:
            pressed = _press_on(at, own, mine, None if other is None else other.c, over)
            out.append(replace(pressed, state="stays") if stays[mine].any() else pressed)
        elif not over:
            out.append(BeatPress(at, "waiting", False))
        elif _within(own, stays, at + offset):
            out.append(BeatPress(at, "stays", True))
        elif strays[:, i].any():
            out.append(BeatPress(at, "void", True))
        else:
            out.append(BeatPress(at, "neither" if vouched and not answered[i] else "missed", True))
    begun = len(starts) > 0 and int(starts[0]) < int(beats[0]) + offset - interval // 2
    silent = 0 if begun else _late_start(out, vouched)
    head = [replace(b, state="void") for b in out[:silent]]
    beside = np.array([b.state == "void" for b in out[silent:]], dtype=np.bool_)
    at_one = int((strays[:, silent:] & beside).sum(axis=1).max(initial=0))
    return Tally((*head, *out[silent:]), vouched, offset, silent, int(beside.sum()), at_one)


def _elsewhere(
    others: Sequence[Closures], due_ns: I64, within_ns: int, answered: NDArray[np.bool_], both: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """bool[other, beat]: whether that control was pressed in its place.

    One that closes as often on beats that control and witness answered is brushed against, or closes by itself: it says
    nothing.
    """
    found = np.zeros((len(others), len(due_ns)), dtype=np.bool_)
    for row, other in zip(found, others, strict=True):
        start = _presses(other).start_ns
        if len(start):
            near = np.abs(start[_nearest(start, due_ns)] - due_ns) <= within_ns
            if int((near & ~answered).sum()) > int((near & both).sum()):
                row |= near & ~answered
    return found


def _late_start(beats: Sequence[BeatPress], vouched: bool) -> int:
    """How many beats at the head found no press at all; at most `LATE_START` where nobody vouches."""
    most = len(beats) if vouched else min(len(beats), LATE_START)
    silent = "neither" if vouched else "missed"
    return next((i for i, b in enumerate(beats[:most]) if b.state != silent), most)


def _stays(own: _Presses, other: _Presses | None) -> NDArray[np.bool_]:
    """bool[press]: was the contact closed for longer than the finger pressed?

    The witness shows the finger: its press that overlaps ended `STAYS_NS` earlier, and was itself no shorter than half
    of its usual, and none that its own contact cut short (`_WHOLE_NS`). Where it shows none the finger is taken to
    press as long as it usually does: the press is longer than the median of the try by `STAYS_NS` and by six robust
    standard deviations (1.4826 MAD: Rousseeuw & Croux, J. Am. Stat. Assoc. 88, 1993, 1273), of at least
    `_USUAL_PRESSES` presses.
    """
    count = len(own.first)
    if count == 0:
        return np.zeros(0, dtype=np.bool_)
    start, end = own.start_ns, own.c.end_ns[own.last]
    length = end - start
    usual = float(np.median(length))
    spread = 1.4826 * float(np.median(np.abs(length - usual)))
    longer = (length > usual + max(float(STAYS_NS), _SPREADS * spread)) & (count > _USUAL_PRESSES)
    if other is None or len(other.first) == 0:
        return np.asarray(longer)
    begun, ended = other.start_ns, other.c.end_ns[other.last]
    k = np.clip(np.searchsorted(begun, start + _WITNESS_SLACK_NS, side="right") - 1, 0, len(begun) - 1)
    beside = (begun[k] <= start + _WITNESS_SLACK_NS) & (ended[k] > start - _WITNESS_SLACK_NS)
    whole = (ended - begun)[k] >= max(float(np.median(ended - begun)) / 2.0, float(_WHOLE_NS))
    return np.where(beside & whole, end - ended[k] > STAYS_NS, longer)


def _within(own: _Presses, stays: NDArray[np.bool_], at_ns: int) -> bool:
    """Does the moment fall into a press that stays closed?"""
    return bool(np.any(stays & (own.start_ns < at_ns) & (own.c.end_ns[own.last] > at_ns))) if len(stays) else False


def _press_on(at: int, own: _Presses, mine: list[int], witness: Closures | None, over: bool) -> BeatPress:
    index = [k for p in mine for k in range(int(own.first[p]), int(own.last[p]) + 1)]
    start, end = int(own.c.start_ns[index[0]]), int(own.c.end_ns[index[-1]])
    held = own.c.held_after and index[-1] == len(own.c) - 1
    closed = sum(int(own.c.end_ns[k]) - int(own.c.start_ns[k]) for k in index)
    breaks = len(index) - 1
    if breaks and _pressed_twice(witness, start, end):
        breaks = 0
    state: BeatState = "registered"
    if breaks:
        state = "split"
    elif closed < SHORT_NS and not held:
        state = "short"
    return BeatPress(at, state, over or not held, 1 + breaks, closed, start - at)


def _pressed_twice(witness: Closures | None, first_ns: int, last_ns: int) -> bool:
    """Did the witness, too, open and close again during this press? Then the hand did it, not the contact."""
    if witness is None or len(witness) < 2:
        return False
    opens, closes = witness.end_ns[:-1], witness.start_ns[1:]
    return bool(np.any((opens > first_ns) & (closes < last_ns + _WITNESS_SLACK_NS)))


def _presses(c: Closures) -> _Presses:
    """Presses without bounce; one that was under way when the stretch began answers no beat."""
    clean = without_bounce(c)
    if len(clean) == 0:
        none = np.empty(0, dtype=np.intp)
        return _Presses(clean, none, none)
    number = press_number(clean)
    first = np.flatnonzero(np.diff(number, prepend=-1))
    last = np.append(first[1:] - 1, len(number) - 1)
    skip = int(clean.held_before)
    return _Presses(clean, first[skip:], last[skip:])


def _extra_presses(
    beats: I64, start_ns: I64, found: NDArray[np.intp], interval_ns: int, offset_ns: int
) -> dict[int, list[int]]:
    """Presses without a beat of their own, by the answered beat in whose half interval they fall."""
    extra: dict[int, list[int]] = {}
    free = np.setdiff1d(np.arange(len(start_ns)), found)
    for press, beat in zip(free.tolist(), _nearest(beats + offset_ns, start_ns[free]).tolist(), strict=True):
        if found[beat] >= 0 and abs(int(start_ns[press]) - int(beats[beat]) - offset_ns) <= interval_ns // 2:
            extra.setdefault(beat, []).append(press)
    return extra


def beat_interval_ns(beats_ns: Sequence[int] | I64, default_ns: int = 600_000_000) -> int:
    """Median interval of the beats, at most that of the slowest tempo: withdrawn ones leave wider gaps, which a median
    bears where they are few. Taken for an interval, such a gap would give the presses on what was withdrawn to the beat
    before it."""
    steps = np.diff(np.asarray(beats_ns, dtype=np.int64))
    return min(int(np.median(steps)), LONGEST_NS) if len(steps) else default_ns


def hand_offset_ns(beats_ns: I64, start_ns: I64, interval_ns: int) -> int:
    """How much later than the beat this hand presses, as a median; negative for a hand that runs ahead.

    The presses' phases are centred on their circular mean before the median is taken, so that a hand that is
    late by about half an interval is not torn into early and late ones. Of the offsets that are one interval
    apart, that which leaves fewest beats without a press counts; between equals the one in −0.3…0.7 intervals,
    since hands run ahead by less than they lag. 0 without presses.
    """
    if len(beats_ns) == 0 or len(start_ns) == 0:
        return 0
    phase = start_ns - beats_ns[_nearest(beats_ns, start_ns)]
    turns = np.exp(2j * np.pi * phase / interval_ns).mean()
    centre = float(np.angle(turns)) / (2 * np.pi) * interval_ns
    spread = (phase - centre + interval_ns / 2) % interval_ns - interval_ns / 2
    offset = centre + float(np.median(spread))
    options = [round(o) for o in (offset, offset + interval_ns) if -0.5 <= o / interval_ns <= 1.0] or [round(offset)]
    ranked = []
    for o in options:
        deviation = np.abs(start_ns[_nearest(start_ns, beats_ns + o)] - beats_ns - o)
        without = int((deviation > interval_ns / 2).sum())
        ranked.append((without, not -0.3 <= o / interval_ns <= 0.7, o))
    return min(ranked)[2]


def match_to_beats(beats_ns: I64, start_ns: I64, interval_ns: int, offset_ns: int = 0) -> NDArray[np.intp]:
    """For each beat the index of its press, −1 where there is none. One press for a beat, one beat for a press.

    Beats and presses keep their order; the sum of the deviations |press − beat − offset| is least, where a beat
    without a press and a press without a beat cost 3/8 of an interval each. So a press within half an interval of
    its beat always finds it, and one that is later by up to three quarters still does when its neighbours have
    presses of their own. Sequence alignment by dynamic programming, in whole ns; each beat looks only at the
    presses within three quarters of an interval, so the work grows with beats + presses.
    """
    gap = 3 * interval_ns // 8
    due = beats_ns + offset_ns
    lows = np.searchsorted(start_ns, due - 2 * gap).tolist()
    highs = np.searchsorted(start_ns, due + 2 * gap, side="right").tolist()
    times, dues = start_ns.tolist(), due.tolist()
    rows: list[list[int]] = []
    before, before_low = [0], 0
    for at, low, high in zip(dues, lows, highs, strict=True):
        row: list[int] = []
        for j in range(low, high + 1):
            best = _cost(before, before_low, j, gap) + gap
            if j > low:
                matched = _cost(before, before_low, j - 1, gap) + abs(times[j - 1] - at)
                best = min(best, matched, row[-1] + gap)
            row.append(best)
        rows.append(row)
        before, before_low = row, low
    return _trace_back(rows, lows, highs, dues, times, gap)


def _cost(row: list[int], low: int, j: int, gap: int) -> int:
    """Cost of a row at j presses used up; presses beyond the row's end are presses without a beat."""
    beyond = j - low - len(row) + 1
    return row[j - low] if beyond <= 0 else row[-1] + gap * beyond


def _trace_back(
    rows: list[list[int]], lows: list[int], highs: list[int], dues: list[int], times: list[int], gap: int
) -> NDArray[np.intp]:
    found = np.full(len(rows), -1, dtype=np.intp)
    j = len(times)
    for i in range(len(rows) - 1, -1, -1):
        before, before_low = (rows[i - 1], lows[i - 1]) if i else ([0], 0)
        j = min(j, highs[i])
        while j > lows[i]:
            here = rows[i][j - lows[i]]
            if here == _cost(before, before_low, j - 1, gap) + abs(times[j - 1] - dues[i]):
                j -= 1
                found[i] = j
                break
            if here == _cost(before, before_low, j, gap) + gap:
                break
            j -= 1
    return found


def _nearest(sorted_ns: I64, at_ns: I64) -> NDArray[np.intp]:
    """Index of the element of `sorted_ns` (not empty) nearest to each of `at_ns`."""
    right = np.clip(np.searchsorted(sorted_ns, at_ns), 1, max(1, len(sorted_ns) - 1))
    if len(sorted_ns) == 1:
        return np.zeros(len(at_ns), dtype=np.intp)
    return np.where(at_ns - sorted_ns[right - 1] <= sorted_ns[right] - at_ns, right - 1, right).astype(np.intp)
