"""Tracks of a simulated unit: what each fault does to the output."""

from __future__ import annotations

import numpy as np
import pytest

from station.sources.simulated.parts import Spot, Track
from station.sources.simulated.sensor import TrackSensor, clean_output

QUIET = Track(white_pct=0.0, wander_pct=0.0)


def run(part: Track, place: np.ndarray, poll_s: float = 0.001, seed: int = 0) -> np.ndarray:
    return TrackSensor(part, poll_s, np.random.default_rng(seed)).run(place)[0]


def quiet(**changes: object) -> Track:
    return Track(**{"white_pct": 0.0, "wander_pct": 0.0, **changes})


def test_a_sound_track_follows_the_wiper() -> None:
    place = np.linspace(-100, 100, 501)
    np.testing.assert_allclose(run(QUIET, place), place)


def test_gain_and_offset_move_the_output_and_the_range_ends_it() -> None:
    out = run(quiet(gain=1.1, offset_pct=5.0), np.array([-100.0, 0.0, 100.0]))
    assert out == pytest.approx([-100.0, 5.0, 100.0])


def test_the_output_steps_over_a_gap_of_just_that_width() -> None:
    out = clean_output(quiet(gaps=((20.0, 7.0),)), np.linspace(-100, 100, 20001))
    steps = np.diff(out)
    assert steps.max() == pytest.approx(7.0, abs=0.02)
    assert not ((out > 16.51) & (out < 23.49)).any()
    assert (out[0], out[-1]) == (-100.0, 100.0)


def test_a_fold_runs_back_by_its_depth_and_then_catches_up() -> None:
    place = np.linspace(-100, 100, 20001)
    out = clean_output(quiet(folds=((10.0, 4.0),)), place)
    assert (np.maximum.accumulate(out) - out).max() == pytest.approx(4.0, abs=0.02)
    far = (place <= 10.0) | (place >= 22.0)
    np.testing.assert_allclose(out[far], place[far], atol=1e-9)


def test_play_lets_the_sensor_lag_by_half_of_it_either_way() -> None:
    there = np.linspace(-80, 80, 400)
    out = run(quiet(play_pct=6.0), np.concatenate((there, there[::-1])))
    assert out[390] == pytest.approx(there[390] - 3.0)
    assert out[-1] == pytest.approx(-77.0)
    assert np.ptp(out[399:410]) == 0.0


def test_a_bad_spot_shows_only_while_the_wiper_is_on_it() -> None:
    place = np.linspace(-50, 50, 1001)
    off = run(quiet(spots=(Spot(10.0, 1.0, -8.0),)), place) - place
    on = np.abs(place - 10.0) <= 0.5
    assert off[on] == pytest.approx(-8.0)
    assert off[~on] == pytest.approx(0.0)


def test_a_dead_axis_says_the_middle_without_a_flicker() -> None:
    assert not run(Track(dead=True), np.linspace(-100, 100, 50)).any()


def test_contact_noise_spans_its_peak_to_peak_and_no_more() -> None:
    out = run(quiet(jumps_pct=6.0), np.zeros(20_000))
    assert 5.8 < np.ptp(out) <= 6.0
    lengths = np.diff(np.flatnonzero(np.diff(out)))
    assert lengths.mean() == pytest.approx(8.5, rel=0.1)  # a level lasts 8 ms; changes within a poll are one


@pytest.mark.parametrize("poll_s", [0.001, 0.008])
def test_noise_has_the_rms_that_the_part_says_at_any_rate(poll_s: float) -> None:
    out = run(Track(white_pct=0.2, wander_pct=0.3), np.zeros(200_000), poll_s)
    assert out.std() == pytest.approx(np.hypot(0.2, 0.3), rel=0.05)


def test_slow_noise_is_correlated_as_long_as_the_part_says() -> None:
    out = run(Track(white_pct=0.0, wander_pct=1.0, wander_s=0.05), np.zeros(400_000))
    lagged = np.corrcoef(out[:-50], out[50:])[0, 1]
    assert lagged == pytest.approx(np.exp(-1.0), abs=0.05)


def test_chunks_make_no_difference() -> None:
    part = Track(jumps_pct=3.0, play_pct=2.0, spots=(Spot(0.0, 4.0, 9.0),))
    place = np.linspace(-60, 60, 900)
    one = TrackSensor(part, 0.001, np.random.default_rng(5))
    np.testing.assert_allclose(
        np.concatenate([one.run(piece)[0] for piece in np.split(place, [1, 50, 51, 600])]), run(part, place, seed=5)
    )
