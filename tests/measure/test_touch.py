"""Strokes over a touch pad: where it feels nothing, where it loses the finger, and what is only a lifted finger."""

from __future__ import annotations

import numpy as np

from station.measure.touch import COLUMNS, FINER, ROWS, Swiped, swiped

MS = 1_000_000


def strokes(*lines: np.ndarray) -> Swiped:
    """Lines of (touched, x, y) at 250 Hz, one after the other."""
    every = np.concatenate(lines)
    return swiped(np.arange(len(every)) * 4 * MS, every[:, 0] > 0, every[:, 1], every[:, 2])


def line(y: float, seconds: float = 0.5, dead: tuple[float, float] = (200.0, 200.0)) -> np.ndarray:
    """Left to right at one height, and lifted for 0.1 s; not felt between two places."""
    x = np.linspace(0.0, 100.0, round(seconds * 250))
    felt = (x < dead[0]) | (x > dead[1])
    return np.concatenate((np.column_stack((felt, x, np.full(len(x), y))), np.zeros((25, 3))))


def all_over(dead: tuple[float, float] = (200.0, 200.0)) -> list[np.ndarray]:
    return [line(y, dead=dead if 40 < y < 60 else (200.0, 200.0)) for y in np.arange(4.0, 100.0, 8.0)]


def test_a_pad_that_feels_everything() -> None:
    found = strokes(*all_over())
    assert found.felt.all()
    assert (found.dead.sum(), found.lost, found.jumps) == (0, 0, 0)


def test_places_without_a_touch_that_strokes_went_across_are_dead() -> None:
    found = strokes(*all_over((40.0, 62.0)), *all_over((40.0, 62.0)))
    assert found.dead.any()
    row, column = np.nonzero(found.dead)
    assert 0.4 * FINER * COLUMNS - 1 <= column.min() <= column.max() <= 0.62 * FINER * COLUMNS
    assert 0.4 * FINER * ROWS - 1 <= row.min() <= row.max() <= 0.6 * FINER * ROWS
    assert not found.left.any()
    assert found.lost == 0


def test_a_finger_that_is_lost_once_is_lost_and_no_place_is_dead() -> None:
    every = all_over()
    every[3][40:50, 0] = 0.0
    found = strokes(*every)
    assert (found.lost, found.longest_lost_ns, found.dead.sum()) == (1, 40 * MS, 0)


def test_a_finger_that_is_lifted_to_begin_anew_is_not_lost() -> None:
    assert strokes(line(10.0), line(30.0)).lost == 0


def test_a_jump_is_longer_than_its_neighbours() -> None:
    one = line(50.0)
    one[60, 2] = 95.0
    assert strokes(one).jumps == 2  # there and back


def test_where_no_stroke_went_is_left() -> None:
    found = strokes(*all_over()[:6])
    assert found.left[ROWS // 2 + 1 :].all()
    assert not found.left[: ROWS // 2 - 1].any()
