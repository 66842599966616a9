"""Each fault as the reports show it: measured here by plain means, against what was dialled in and the truth."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from station.errors import InputError
from station.hid.decode import column
from station.sources.simulated import Item, PadDesign, SimulatedHand, UnitSpec, expected, faults, make_capture
from station.sources.simulated.faults import CODES, Fault
from station.sources.simulated.gates import gauge
from station.sources.simulated.naming import told

DESIGN = PadDesign("packed", 1000)
KINDS_AND_PLACES = ("left_stick", "left_trigger", "left_shoulder")


class Seen:
    """What a recording of one go at a check shows, normalised by hand; times in s."""

    def __init__(
        self, fault: Fault | None, check: str, control: str, design: PadDesign = DESIGN, seed: int = 1
    ) -> None:
        spec = UnitSpec(design, seed, (fault,) if fault else ())
        self.truth = spec.truth()
        capture = make_capture(spec, SimulatedHand(1.0, seed), [Item(check, control, "right_shoulder", beats=60)])
        self._design, self._block = design, capture.block
        self.t_s = capture.block.t_ns / 1e9

    def values(self, control: str) -> tuple[np.ndarray, ...]:
        """Each usage of a control: axes in % (up positive), triggers in %, else codes."""
        pad = self._design.control(control)
        out = []
        for k, usage in enumerate(pad.usages):
            field = self._design.fields[usage]
            code = column(field, self._block).value
            if pad.kind == "stick":
                pct = 200.0 * (code - field.logical_min) / (field.logical_max - field.logical_min) - 100.0
                out.append(-pct if k == 1 and pad.up == "low" else pct)
            elif pad.kind == "trigger":
                out.append(100.0 * code / field.logical_max)
            else:
                out.append(code)
        return tuple(out)

    def stick(self) -> np.ndarray:
        return np.column_stack(self.values("left_stick"))


def at_rest(seen: Seen) -> np.ndarray:
    return seen.stick()[-1500:]


@pytest.mark.parametrize("bearing", ["right", 200.0])
def test_off_centre_rests_where_it_was_dialled(bearing: str | float) -> None:
    x, y = at_rest(Seen(faults.off_centre("left_stick", bearing, 14.0), "rest", "left_stick")).mean(axis=0)
    assert np.hypot(x, y) == pytest.approx(14.0, abs=1.5)
    assert np.degrees(np.arctan2(x, y)) % 360 == pytest.approx(90.0 if bearing == "right" else bearing, abs=6)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_noise_spans_its_peak_to_peak_on_its_axis_only(axis: str) -> None:
    both = np.ptp(at_rest(Seen(faults.noisy_track("left_stick", axis, 6.0), "rest", "left_stick")), axis=0)
    mine, other = both if axis == "x" else both[::-1]
    assert 5.5 < mine < 7.0
    assert other < 1.0


@pytest.mark.parametrize(
    ("direction", "axis", "sign"), [("up", 1, 1), ("right", 0, 1), ("down", 1, -1), ("left", 0, -1)]
)
def test_short_reach_ends_where_it_was_dialled_and_only_there(direction: str, axis: int, sign: int) -> None:
    seen = Seen(faults.short_reach("left_stick", direction, 80.0), "travel", "left_stick")
    far = {
        name: np.quantile(s * seen.stick()[:, a], 0.97)
        for name, (a, s) in {"up": (1, 1), "right": (0, 1), "down": (1, -1), "left": (0, -1)}.items()
    }
    assert far[direction] == pytest.approx(80.0, abs=1.0)
    assert all(value > 97.0 for name, value in far.items() if name != direction)
    assert seen.truth["travel", "left_stick"][f"reach_{direction}"] == pytest.approx(80.0, abs=0.5)


def test_flat_rim_is_flat_at_its_bearing() -> None:
    seen = Seen(faults.flat_rim("left_stick", 130.0, 75.0), "rim", "left_stick")
    xy = seen.stick()
    reach, bearing = gauge(xy, "round") * 100, np.degrees(np.arctan2(xy[:, 0], xy[:, 1])) % 360
    rolling = reach > 60.0
    near = rolling & (np.abs(bearing - 130.0) < 3.0)
    assert np.median(reach[near]) == pytest.approx(75.0, abs=0.7)
    assert np.median(reach[rolling & (np.abs(bearing - 310.0) < 40.0)]) > 99.0
    told = seen.truth["rim", "left_stick"]
    assert told["least_reach"] == pytest.approx(75.0, abs=0.3)
    assert told["least_reach_bearing"] == pytest.approx(130.0, abs=3.0)


def test_slow_arrival_takes_its_time_in_its_direction() -> None:
    seen = Seen(faults.slow_arrival("left_stick", "right", 400.0), "travel", "left_stick")
    x, y = seen.stick().T
    held = 100.0
    right = np.flatnonzero((x > 0.8 * held) & (np.abs(y) < 40))
    there = np.flatnonzero((x >= 0.98 * held) & (np.abs(y) < 40))
    assert seen.t_s[there[0]] - seen.t_s[right[0]] == pytest.approx(0.4, abs=0.03)
    assert seen.truth["travel", "left_stick"]["creep"] == pytest.approx(400.0, abs=15.0)
    up = np.flatnonzero((y > 80.0) & (np.abs(x) < 40))
    assert seen.t_s[np.flatnonzero((y >= 98.0) & (np.abs(x) < 40))[0]] - seen.t_s[up[0]] < 0.04


def falls(seen: Seen) -> list[tuple[np.ndarray, float]]:
    """For each flick: the positions from leaving 80 % to half a second later, and how long it took to within 3 %."""
    xy = seen.stick()
    r = np.hypot(*xy.T)
    leaving = np.flatnonzero((r[:-1] >= 80.0) & (r[1:] < 80.0))
    found = []
    for at in leaving:
        path = xy[at : at + 520]
        if len(path) < 520 or np.hypot(*path[-1]) > 40:
            continue
        away = np.hypot(*(path - path[-60:].mean(axis=0)).T)
        found.append((path, float(np.flatnonzero(away > 3.0)[-1] + 1) / 1000.0))
    return found


def test_slow_settle_takes_its_time() -> None:
    seen = Seen(faults.slow_settle("left_stick", 350.0), "letgo", "left_stick")
    times = [seconds for _, seconds in falls(seen)]
    assert len(times) >= 7
    assert np.median(times) == pytest.approx(0.35, abs=0.04)
    assert seen.truth["letgo", "left_stick"]["settle_time"] == pytest.approx(350.0, rel=0.12)


def test_a_sound_stick_settles_within_a_tenth_of_a_second() -> None:
    seen = Seen(None, "letgo", "left_stick")
    assert max(seconds for _, seconds in falls(seen)) < 0.1


def test_no_return_stays_on_the_side_it_came_from() -> None:
    for path, _ in falls(Seen(faults.no_return("left_stick", 15.0), "letgo", "left_stick")):
        end = path[-60:].mean(axis=0)
        assert np.hypot(*end) > 6.0
        assert end @ path[0] > 0


def test_scatter_spreads_the_places_it_comes_back_to() -> None:
    ends = [p[-60:].mean(axis=0) for seed in (1, 2, 3) for p, _ in falls(_scattered(seed))]
    away = np.hypot(*(np.array(ends) - np.mean(ends, axis=0)).T)
    assert away.mean() + 3 * away.std(ddof=1) == pytest.approx(15.0, rel=0.3)


def _scattered(seed: int) -> Seen:
    return Seen(faults.scatter("left_stick", 15.0), "letgo", "left_stick", seed=seed)


def test_play_makes_the_two_ways_round_differ() -> None:
    seen = Seen(faults.two_way_lag("left_stick", "x", 10.0), "rim", "left_stick")
    xy = seen.stick()
    bearing = np.unwrap(np.arctan2(xy[:, 0], xy[:, 1]))
    rate = np.gradient(bearing) * 1000.0
    r = np.hypot(*xy.T)
    at = np.abs(np.degrees(bearing) % 360 - 60.0) < 5.0
    cw, ccw = (np.median(r[at & (s * rate > 1.0) & (r > 70)]) for s in (1, -1))
    assert abs(cw - ccw) == pytest.approx(10.0, abs=3.0)


def test_a_gap_leaves_out_its_codes_and_no_others() -> None:
    seen = Seen(faults.code_gap("left_stick", "x", 30.0, 9.0), "sweep", "left_stick")
    x = np.unique(seen.values("left_stick")[0])
    widest = int(np.argmax(np.diff(x)))
    assert np.diff(x)[widest] == pytest.approx(9.0, abs=1.0)
    assert x[widest : widest + 2].mean() == pytest.approx(30.0, abs=4.0)
    assert np.sort(np.diff(x))[-2] < 1.0
    assert seen.truth["sweep", "left_stick"]["gap_x"] == pytest.approx(9.0, abs=0.1)


def test_a_worn_stretch_spikes_inside_it_only() -> None:
    from scipy.ndimage import median_filter

    seen = Seen(faults.worn_track("left_stick", "y", -40.0, 10.0), "sweep", "left_stick")
    y = seen.values("left_stick")[1]
    smooth = median_filter(y, 61)
    moving = np.abs(smooth) < 90
    off = np.where(moving, np.abs(y - smooth), 0.0)
    spiky = smooth[off > 4.0]
    assert len(spiky) > 20
    assert spiky.min() > -40.0 * 1.08 - 10
    assert spiky.max() < -40.0 + 12
    assert 8.0 < off.max() < 13.5  # the height, and how far the median of 61 ms trails the hand


def test_a_fold_runs_back_while_the_hand_goes_on() -> None:
    seen = Seen(faults.fold("left_stick", "x", 20.0, 6.0), "sweep", "left_stick")
    x = seen.values("left_stick")[0]
    up = x[np.argmin(x) : np.argmin(x) + int(np.argmax(x[np.argmin(x) :] > 95))]
    assert (np.maximum.accumulate(up) - up).max() == pytest.approx(6.0, abs=1.2)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_dead_axis_never_changes(axis: str) -> None:
    x, y = Seen(faults.dead_axis("left_stick", axis), "travel", "left_stick").values("left_stick")
    dead, alive = (x, y) if axis == "x" else (y, x)
    assert np.ptp(dead) == 0
    assert np.ptp(alive) > 190


def test_a_trigger_that_rests_high_and_one_that_ends_short() -> None:
    (high,) = Seen(faults.rest_high("left_trigger", 9.0), "trigger", "left_trigger").values("left_trigger")
    (short,) = Seen(faults.short_pull("left_trigger", 84.0), "trigger", "left_trigger").values("left_trigger")
    assert np.median(high[-200:]) == pytest.approx(9.0, abs=0.3)
    assert np.quantile(high, 0.95) > 99.0
    assert np.median(short[short > 80]) == pytest.approx(84.0, abs=0.5)
    assert np.median(short[-200:]) < 1.5


def closings(seen: Seen, button: str = "left_shoulder") -> tuple[np.ndarray, np.ndarray]:
    """Begin and length of each closure, s."""
    (code,) = seen.values(button)
    change = np.diff(code, prepend=0)
    begin, end = seen.t_s[change == 1], seen.t_s[change == -1]
    return begin[: len(end)], end - begin[: len(end)]


def light(fault: Fault | None) -> Seen:
    return Seen(fault, "light", "left_shoulder")


@pytest.mark.parametrize(
    ("fault", "of_60"),
    [
        (None, (57, 62)),
        (faults.weak_contact("left_shoulder", 0.5), (18, 45)),
        (faults.never("left_shoulder"), (0, 0)),
    ],
    ids=["a sound contact answers every beat", "a film leaves out about half", "never"],
)
def test_light_presses_that_register(fault: Fault | None, of_60: tuple[int, int]) -> None:
    begin, length = closings(light(fault))
    beats = len(np.unique(np.round(begin[length > 0.005] * 2)))
    assert of_60[0] <= beats <= of_60[1]


def test_splits_and_shorts_last_as_long_as_dialled() -> None:
    begin, length = closings(light(faults.split("left_shoulder", 0.5, 12.0)))
    opened = begin[1:] - begin[:-1] - length[:-1]
    found = opened[(opened > 0.006) & (opened < 0.1)]
    assert 18 < len(found) < 42
    assert np.median(found) == pytest.approx(0.012, abs=0.0015)
    _, length = closings(light(faults.short_contact("left_shoulder", 0.5, 9.0)))
    brief = length[(length > 0.004) & (length < 0.03)]
    assert 18 < len(brief) < 42
    assert np.median(brief) == pytest.approx(0.009, abs=0.0015)


def test_dropouts_while_held() -> None:
    seen = Seen(faults.dropouts("left_shoulder", 3.0, 20.0), "hold", "left_shoulder")
    begin, length = closings(seen)
    opened = begin[1:] - begin[:-1] - length[:-1]
    assert 6 <= len(opened) <= 30
    assert np.median(opened) == pytest.approx(0.02, abs=0.005)


@pytest.mark.parametrize(("beyond_deg", "openings"), [(6.0, range(5, 12)), (9.0, range(1))])
def test_a_wobbly_button_loses_contact_only_while_it_is_rocked(beyond_deg: float, openings: range) -> None:
    begin, length = closings(Seen(faults.wobbly("left_shoulder", beyond_deg), "hold", "left_shoulder"))
    lost = begin[1:] - (begin + length)[:-1] > 0.02  # without bounce
    assert len(begin[1:][lost]) in openings
    assert not (begin[1:][lost] < begin[0] + 2.3).any()


def test_crosstalk_closes_the_other_button_along() -> None:
    seen = Seen(faults.crosstalk("south", "north"), "contact", "south")
    (south,), (north,) = seen.values("south"), seen.values("north")
    np.testing.assert_array_equal(south, north)
    assert (np.diff(south) == 1).sum() >= 3


def test_a_short_to_an_axis_pulls_it_to_its_end_while_the_button_is_closed() -> None:
    seen = Seen(faults.axis_short("south", "left_stick", "x"), "contact", "south")
    (south,), (x, _) = seen.values("south"), seen.values("left_stick")
    assert (x[south == 1] == x.max()).all()
    assert x[south == 0].max() < 0.6 * x.max()
    assert (np.diff(south) == 1).sum() >= 3


def test_the_hat_misses_its_direction() -> None:
    (code,) = Seen(faults.hat_missing(2), "hat", "hat").values("hat")
    assert set(code.tolist()) == {0, 4, 5, 6, 7, 15}


def test_gaps_in_the_link_last_as_long_as_dialled_and_come_while_flexing() -> None:
    steps = np.diff(Seen(faults.link_gaps(2.0, 120.0), "link", "").t_s)
    gaps = steps[steps > 0.03]
    assert 8 <= len(gaps) <= 40
    assert np.median(gaps) == pytest.approx(0.12, abs=0.01)
    assert np.diff(Seen(faults.link_gaps(2.0, 120.0), "rest", "left_stick").t_s).max() < 0.01


def test_a_slow_rate_is_slow_whatever_the_model() -> None:
    assert np.median(np.diff(Seen(faults.slow_rate(40), "link", "").t_s)) == pytest.approx(0.025, rel=0.02)


@pytest.mark.parametrize(
    "fault",
    [
        Fault("rattle", "left_stick"),
        faults.stuck("hat"),
        faults.dead_axis("left_stick", "z"),
        faults.off_centre("left_trigger", "up", 9.0),
        faults.slow_settle("left_stick", 5.0),
        faults.never("third_shoulder"),
        Fault("stuck"),
    ],
)
def test_a_fault_that_the_model_cannot_have_is_refused_in_one_sentence(fault: Fault) -> None:
    with pytest.raises(InputError, match=r"; (choose|give) .*\.$"):
        _ = UnitSpec(DESIGN, 1, (fault,)).parts


def test_every_kind_of_fault_has_its_finding() -> None:
    makers: list[Callable[..., Fault]] = [getattr(faults, kind) for kind in CODES]
    assert all(callable(make) for make in makers)
    assert all("{" not in told(Fault(kind)) for kind in CODES)
    assert told(faults.split("south", 0.4, 14.0)) == "opens for 14 ms in 40% of presses"
    found = expected(faults.short_reach("left_stick", "down", 70.0))
    assert (found.check, found.code, found.axis, found.direction) == ("travel", "short_reach", "y", "down")


@pytest.mark.parametrize("kit", ["8bit", "16bit", "packed"])
@pytest.mark.parametrize("seed", range(8))
def test_sound_units_are_sound_by_the_usual_limits(kit: str, seed: int) -> None:
    truth = UnitSpec(PadDesign(kit), seed).truth()
    for stick in ("left_stick", "right_stick"):
        assert truth["rest", stick]["offset"] < 4.0
        assert truth["letgo", stick]["settle_offset"] < 5.0
        assert truth["letgo", stick]["settle_time"] < 120.0
        assert min(v for k, v in truth["travel", stick].items() if k != "creep") > 96.0
        assert truth["rim", stick]["least_reach"] > 94.0
    assert truth["trigger", "left_trigger"]["released"] < 1.5
    assert truth["trigger", "left_trigger"]["full"] > 98.0
