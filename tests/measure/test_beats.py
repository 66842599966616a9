"""Presses on a beat: who answers what, for hands of every kind."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from station.measure.beats import LONGEST_NS, SHORT_NS, Tally, beat_interval_ns, hand_offset_ns, match_to_beats, tally
from station.measure.contacts import Closures

MS = 1_000_000


def _made(stretches: list[tuple[float, float]], before: bool = False, after: bool = False) -> Closures:
    start = np.array([int(a * MS) for a, _ in stretches], dtype=np.int64)
    return Closures(start, np.array([int(b * MS) for _, b in stretches], dtype=np.int64), before, after)


def _states(found: Tally) -> str:
    """One letter a beat: r m n(either) s(plit) h(short) c(losed) v w."""
    letter = {
        "registered": "r",
        "missed": "m",
        "split": "s",
        "short": "h",
        "neither": "n",
        "stays": "c",
        "void": "v",
        "waiting": "w",
    }
    return "".join(letter[b.state] for b in found.beats)


BEATS = [1000 + 500 * i for i in range(8)]
ON = [(b, b + 90) for b in BEATS]
WITHOUT_THIRD = ON[:2] + ON[3:]


def _tallied(own, witness=None, beats=BEATS, end_ms=6000.0):
    ns = [int(b * MS) for b in beats]
    return tally(_made(own), None if witness is None else _made(witness), ns, int(end_ms * MS))


def _moved(stretches, by):
    return [(a + by, b + by) for a, b in stretches]


CASES = {
    "every press on its beat": (ON, None, "rrrrrrrr"),
    "a hand that is 200 ms late": (_moved(ON, 200), None, "rrrrrrrr"),
    "a hand that is 320 ms late, more than half an interval": (_moved(ON, 320), None, "rrrrrrrr"),
    "a hand that runs 120 ms ahead": (_moved(ON, -120), None, "rrrrrrrr"),
    "a miss of a late hand stays where it was": (_moved(WITHOUT_THIRD, 230), None, "rrmrrrrr"),
    "one press 240 ms late among others on the beat": (
        [*ON[:3], (BEATS[3] + 240, BEATS[3] + 330), *ON[4:]], None, "rrrrrrrr",
    ),
    "one press 330 ms late just before the next is still its own beat's": (
        [*ON[:3], (BEATS[3] + 330, BEATS[3] + 400), *ON[4:]], None, "rrrrrrrr",
    ),
    "one press 200 ms early": ([*ON[:3], (BEATS[3] - 200, BEATS[3] - 110), *ON[4:]], None, "rrrrrrrr"),
    "missed, though the witness was pressed": (WITHOUT_THIRD, ON, "rrmrrrrr"),
    "neither registered": (WITHOUT_THIRD, WITHOUT_THIRD, "rrnrrrrr"),
    "both hands begin at the sixth beat": (ON[5:], ON[5:], "vvvvvrrr"),
    "a twin that misses another beat": (WITHOUT_THIRD, ON[:4] + ON[5:], "rrmrrrrr"),
    "closed 300 ms longer than the witness": (
        [*ON[:2], (2000, 2390), *ON[3:]], ON, "rrcrrrrr",
    ),
    "closed over the next beat, with a witness": ([*ON[:2], (2000, 2700), *ON[4:]], ON, "rrccrrrr"),
    "closed over the next beat, alone": ([*ON[:2], (2000, 2700), *ON[4:]], None, "rrccrrrr"),
    "held longer by both fingers": ([*ON[:2], (2000, 2390), *ON[3:]], [*ON[:2], (2010, 2380), *ON[3:]], "rrrrrrrr"),
    "a witness that broke off says nothing of the finger": (
        [*ON[:2], (2000, 2200), *ON[3:]], [*ON[:2], (2000, 2012), *ON[3:]], "rrrrrrrr",
    ),
    "a twin that cuts all its presses short shows no finger": (
        [(b, b + 190) for b in BEATS], [(b, b + 12) for b in BEATS], "rrrrrrrr",
    ),
    "a hand that presses for 90 to 200 ms": ([(b, b + 90 + 16 * i) for i, b in enumerate(BEATS)], None, "rrrrrrrr"),
    "missed for want of a witness": (WITHOUT_THIRD, None, "rrmrrrrr"),
    "a witness that was hardly pressed vouches for nothing": (WITHOUT_THIRD, ON[:2], "rrmrrrrr"),
    "a dead button with a good witness": ([], ON, "mmmmmmmm"),
    "nobody pressed at all": ([], [], "vvvvvvvv"),
    "two closures in one beat": ([*ON[:2], (2000, 2030), (2055, 2110), *ON[3:]], None, "rrsrrrrr"),
    "a second closure 130 ms after the first": ([*ON[:2], (2000, 2040), (2170, 2230), *ON[3:]], None, "rrsrrrrr"),
    "a press too many that the witness shows as well": (
        [*ON[:2], (2000, 2060), (2200, 2260), *ON[3:]],
        [*ON[:2], (2010, 2070), (2190, 2250), *ON[3:]],
        "rrrrrrrr",
    ),
    "a split while the witness stayed closed": (
        [*ON[:2], (2000, 2030), (2055, 2110), *ON[3:]], ON, "rrsrrrrr",
    ),
    "bounce is no split": ([*ON[:2], (2000, 2002), (2004, 2090), *ON[3:]], None, "rrrrrrrr"),
    "closed for 8 ms": ([*ON[:2], (2000, 2008), *ON[3:]], None, "rrhrrrrr"),
    "closed for exactly 15 ms is long enough": ([*ON[:2], (2000, 2015), *ON[3:]], None, "rrrrrrrr"),
}  # fmt: skip


LATE = {
    "a hand that begins at the third beat": (ON[2:], None, "vvrrrrrr", 2),
    "a hand that begins at the sixth beat: four are let pass": (ON[5:], None, "vvvvmrrr", 4),
    "nobody to vouch and no press at all": ([], None, "vvvvmmmm", 4),
    "a hand that pressed in the count-in has begun": ([(500, 590), *ON[2:]], None, "mmrrrrrr", 0),
    "a witness pressed in the count-in shows it too": (ON[2:], [(500, 590)], "mmrrrrrr", 0),
    "a late hand in the count-in": ([(750, 840), *[(a + 250, b + 250) for a, b in ON[1:]]], None, "mrrrrrrr", 0),
    "a first press that is early is no count-in": ([(900, 990), *ON[1:]], None, "rrrrrrrr", 0),
    "a good witness decides by itself": (ON[2:], ON, "mmrrrrrr", 0),
    "later misses count": (ON[:2] + ON[4:], None, "rrmmrrrr", 0),
}  # fmt: skip


@pytest.mark.parametrize(("own", "witness", "states", "late"), LATE.values(), ids=LATE)
def test_beats_before_the_hand_has_begun_do_not_count(own, witness, states, late):
    found = _tallied(own, witness)
    assert (_states(found), found.late) == (states, late)


def test_a_beat_that_may_still_be_answered_ends_the_late_start():
    assert _states(_tallied([], None, [1000, 1500], 1600.0)) == "vw"


@pytest.mark.parametrize(("own", "witness", "states"), CASES.values(), ids=CASES)
def test_what_became_of_each_beat(own, witness, states):
    assert _states(_tallied(own, witness)) == states


def test_a_withdrawn_beat_leaves_no_trace_even_if_it_was_pressed():
    beats = BEATS[:3] + BEATS[4:]
    assert _states(_tallied(ON, ON, beats)) == "rrrrrrr"
    assert _states(_tallied(ON[:3] + ON[4:], ON, beats)) == "rrrrrrr"


def test_a_beat_waits_until_its_press_could_no_longer_come():
    at = [1000, 1500]
    early = _tallied(ON[:1], None, at, 1600.0)
    assert _states(early) == "rw"
    assert [b.settled for b in early.beats] == [True, False]
    assert _states(_tallied(ON[:1], None, at, 1751.0)) == "rm"


def test_a_press_under_way_is_shown_but_not_settled():
    own = _made([(1000, 1090), (1500, 1510)], after=True)
    found = tally(own, None, [1000 * MS, 1500 * MS], 1510 * MS)
    assert _states(found) == "rr"
    assert [b.settled for b in found.beats] == [True, False]


def test_a_press_that_began_before_the_try_answers_no_beat():
    own = _made([(1000, 1100), *ON[1:]], before=True)
    assert _states(tally(own, None, [b * MS for b in BEATS], 6000 * MS)) == "vrrrrrrr"


def test_delay_closed_time_and_closures_are_told():
    beat = _tallied([(1030, 1060), (1085, 1100)], None, [1000], 2000.0).beats[0]
    assert (beat.state, beat.delay_ns, beat.closed_ns, beat.closures) == ("split", 30 * MS, 45 * MS, 2)
    assert beat.faulty
    assert SHORT_NS == 15 * MS


HANDS = [
    (bpm, late)
    for bpm in (90, 120, 150)
    for late in (-140, -60, 0, 90, 180, 240, 290, 340)
    if -0.3 <= late * bpm / 60_000 <= 0.7  # nobody is farther off than that
]


@pytest.mark.parametrize(("bpm", "late_ms"), HANDS, ids=[f"{late} ms at {bpm} a minute" for bpm, late in HANDS])
def test_the_hands_offset_is_found_at_every_pace(bpm, late_ms):
    interval = 60_000 / bpm
    rng = np.random.default_rng(1)
    at = (1000 + interval * np.arange(31)) * MS
    start = np.sort(at + late_ms * MS + rng.normal(0, 25 * MS, 31)).astype(np.int64)
    found = hand_offset_ns(at.astype(np.int64), start, int(interval * MS))
    assert found / MS == pytest.approx(late_ms, abs=20)


@pytest.mark.parametrize("bpm", [90, 120, 150])
def test_a_good_button_under_a_human_hand_has_no_fault(bpm):
    """Offset −80…280 ms, scatter 45 ms, beats forgotten now and then: with a witness nothing counts against it."""
    interval = 60_000 / bpm
    for seed in range(150):
        rng = np.random.default_rng(seed)
        at = 1000 + interval * np.arange(60)
        pressed = rng.random(60) > 0.05
        hand = at + rng.uniform(-80, 0.45 * interval) + np.clip(rng.normal(0, 45, 60), -110, 110)
        length = rng.uniform(60, 130, 60)
        own = [(h, h + n) for h, n, p in zip(hand, length, pressed, strict=True) if p]
        other = [(a + rng.uniform(-25, 25), b + rng.uniform(-25, 25)) for a, b in own]
        found = _tallied(own, other, at.tolist(), at[-1] + 2000)
        faulty = [i for i, b in enumerate(found.beats) if b.faulty]
        assert not faulty, (seed, faulty)
        assert sum(b.state in ("void", "neither") for b in found.beats) == 60 - pressed.sum()


def test_misses_of_a_bad_button_are_counted_exactly():
    for seed in range(100):
        rng = np.random.default_rng(seed)
        at = 1000 + 500.0 * np.arange(60)
        hand = at + rng.uniform(-60, 200) + np.clip(rng.normal(0, 35, 60), -90, 90)
        works = rng.random(60) > 0.15
        every = [(h, h + 90) for h in hand]
        own = [e for e, w in zip(every, works, strict=True) if w]
        found = _tallied(own, [(a + 8, b + 3) for a, b in every], at.tolist(), at[-1] + 2000)
        assert [b.state == "missed" for b in found.beats] == (~works).tolist(), seed


# --- the assignment itself -----------------------------------------------------------------------------


def _total(beats, starts, pairs, gap, offset):
    matched = sum(abs(starts[p] - beats[b] - offset) for b, p in pairs)
    return matched + gap * (len(beats) + len(starts) - 2 * len(pairs))


def _least(beats, starts, gap, offset):
    """Every order-keeping assignment, tried out."""
    best = gap * (len(beats) + len(starts))
    for k in range(1, min(len(beats), len(starts)) + 1):
        for chosen in combinations(range(len(beats)), k):
            for used in combinations(range(len(starts)), k):
                pairs = list(zip(chosen, used, strict=True))
                best = min(best, _total(beats, starts, pairs, gap, offset))
    return best


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.integers(1, 3), max_size=5),
    st.lists(st.integers(0, 3500), max_size=6),
    st.integers(-100, 200),
)
def test_the_assignment_is_the_cheapest_of_all(steps, starts, offset):
    interval = 500
    beats = np.cumsum(np.array(steps, dtype=np.int64) * interval, dtype=np.int64)
    start = np.array(sorted(starts), dtype=np.int64)
    found = match_to_beats(beats, start, interval, offset)
    pairs = [(b, int(p)) for b, p in enumerate(found) if p >= 0]
    assert [p for _, p in pairs] == sorted({p for _, p in pairs})
    gap = 3 * interval // 8
    assert _total(beats, start, pairs, gap, offset) == _least(beats.tolist(), start.tolist(), gap, offset)


def test_the_interval_is_a_median_so_withdrawn_beats_do_not_change_it():
    assert beat_interval_ns([0, 500, 1000, 2000, 2500]) == 500
    assert beat_interval_ns([7]) == 600 * MS


def test_the_gap_of_a_withdrawn_beat_is_no_interval():
    """Two beats are left of a tempo of 167, the withdrawn one between them and the count-in that followed: what was
    pressed on the withdrawn one breaks the first up no more. The second was pressed on the click before it, too, which
    nobody can tell from a contact that opens."""
    presses = [(588, 716), (1296, 1436), (1628, 1744), (2012, 2260), (2680, 2812), (2892, 2992)]
    assert beat_interval_ns([1222 * MS, 2826 * MS]) == LONGEST_NS
    assert _states(_tallied(presses, beats=[1222, 2826], end_ms=3400)) == "rs"


def test_work_grows_with_the_number_of_presses_not_with_its_square():
    """Counted, not timed: each beat looks at the presses near it only."""
    looked = []
    for n in (200, 400):
        beats = np.arange(n, dtype=np.int64) * 500 * MS
        start = np.sort(np.concatenate([beats + 10 * MS, beats + 200 * MS]))
        due = beats
        gap = 3 * 500 * MS // 8
        near = np.searchsorted(start, due + 2 * gap, "right") - np.searchsorted(start, due - 2 * gap)
        looked.append(int(near.sum()))
        assert (match_to_beats(beats, start, 500 * MS) >= 0).all()
    assert looked[1] <= 2.1 * looked[0]
