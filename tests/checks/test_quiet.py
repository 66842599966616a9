"""Quiet: which movements a hand explains, and what the rest come to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.quiet import Quiet
from station.checks.takes import take_between
from station.checks.types import Assessment, Outcome
from station.checks.watched import Asked, Moved, Watched, explained
from station.judgement.limits import in_force
from station.sheets.model import Control, Sheet

S, MS = 1_000_000_000, 1_000_000
SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("south", "button", "South button", "right hand"),
        Control("east", "button", "East button", "right hand"),
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("left_stick_press", "button", "Left stick press", "left hand"),
        Control("paddle", "button", "Left paddle", "back"),
    ),
)
PRESS_EAST = Asked(10 * S, "light", ("east",), True)
PAUSE = Asked(30 * S, "light", ("east",))
PUSH_STICK = Asked(40 * S, "travel", ("left_stick",), True)
REST = Asked(60 * S, "rest", ("left_stick",), True, True)
ASKED = (Asked(0), PRESS_EAST, PAUSE, PUSH_STICK, REST)
EAST = tuple(Moved("east", at * S // 2, at * S // 2 + 120 * MS) for at in range(22, 58))
STICK = (Moved("left_stick", 41 * S, 44 * S),)


def moved(control: str, at_s: float, ms: int) -> Moved:
    return Moved(control, round(at_s * S), round(at_s * S) + ms * MS)


def judged(*more: Moved, watched_s: int = 100) -> Assessment:
    take = take_between(SHEET, {}, 0, 0, np.zeros(0, np.int64))
    watched = Watched(0, watched_s * S, (*EAST, *STICK, *more), ASKED)
    return Quiet().assess(replace(take, watched=watched), in_force(SHEET))


@pytest.mark.parametrize(
    ("one", "cause"),
    [
        (moved("south", 15.2, 100), "brush"),
        (moved("south", 15.0, 100), "along"),
        (moved("south", 15.2, 900), "none"),
        (moved("paddle", 42.0, 100), "brush"),
        (moved("south", 42.0, 100), "none"),
        (moved("left_stick_press", 42.0, 100), "asked"),
        (moved("left_stick", 70.0, 100), "asked"),
        (moved("south", 70.0, 50), "none"),
        (moved("south", 35.0, 50), "pause"),
        (moved("east", 30.5, 50), "asked"),
    ],
    ids=[
        "brief and near",
        "with a press of the button asked for",
        "near and long",
        "at the back, where fingers lie",
        "far from the hand",
        "the press under the stick that is moved",
        "the stick that is to rest, which its check sees",
        "while nothing is to be touched",
        "between tries",
        "the button that was just let go",
    ],
)
def test_what_explains_a_movement(one: Moved, cause: str) -> None:
    found = explained(Watched(0, 100 * S, (*EAST, *STICK, one), ASKED), SHEET)
    assert next(e.cause for e in found if e.moved == one) == cause


def test_a_hand_on_another_button_is_elsewhere() -> None:
    watched = Watched(0, 100 * S, (moved("paddle", 12.0, 100),), ASKED)
    assert [e.cause for e in explained(watched, SHEET)] == ["elsewhere"]


def test_a_visit_without_any_passes() -> None:
    found = judged()
    assert (found.outcome, found.findings) == (Outcome.PASS, ())


def test_once_is_asked_about_and_twice_fails_with_its_times() -> None:
    once, twice = judged(moved("south", 42.0, 100)), judged(moved("south", 42.0, 100), moved("south", 73.0, 100))
    assert (once.outcome, twice.outcome) == (Outcome.BORDERLINE, Outcome.FAIL)
    assert [f.code for f in once.findings] == ["perhaps_by_itself"]
    (found,) = twice.findings
    assert (found.code, found.params["times"], found.params["at"]) == ("by_itself", 2, ("0:42", "1:13"))


def test_brushes_beside_one_control_are_the_hands() -> None:
    found = judged(*(moved("south", at + 0.2, 100) for at in range(12, 24)))
    assert (found.outcome, found.readings[2].value) == (Outcome.PASS, 12.0)


def test_brushes_beside_several_are_asked_about() -> None:
    found = judged(*(moved("paddle", at, 100) for at in (15.2, 16.2, 42.0)), moved("paddle", 35.0, 100))
    assert found.outcome is Outcome.BORDERLINE
    assert [(f.code, f.params["times"]) for f in found.findings] == [("perhaps_by_itself", 4)]


def test_a_short_visit_says_nothing() -> None:
    assert judged(moved("south", 42.0, 100), watched_s=30).again


def test_a_press_given_to_another_button_is_elsewhere_on_the_beat_too() -> None:
    """The presses before and after it are a beat away; a button that closes by itself is nearer to one of them."""
    on_beats = tuple(Moved("east", at * S // 2, at * S // 2 + 150 * MS) for at in range(22, 58) if at != 30)
    given, by_itself = moved("paddle", 15.03, 140), moved("paddle", 16.71, 140)
    found = explained(Watched(0, 100 * S, (*on_beats, given, by_itself), ASKED), SHEET)
    assert [e.cause for e in found if e.moved in (given, by_itself)] == ["elsewhere", "brush"]


TWO_STICKS = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("right_stick", "stick", "Right stick", "right hand"),
    ),
)


@pytest.mark.parametrize(
    ("left", "cause"), [((), "elsewhere"), ((moved("left_stick", 61.0, 150),), "none")], ids=["before", "after"]
)
def test_the_wrong_stick_flicked_before_a_rest(left: tuple[Moved, ...], cause: str) -> None:
    """The stick that is to rest is flicked first; who flicks the other one has taken the wrong one."""
    wrong = moved("right_stick", 62.0, 150)
    found = explained(Watched(0, 100 * S, (*left, wrong), ASKED), TWO_STICKS)
    assert next(e.cause for e in found if e.moved == wrong) == cause


@pytest.mark.parametrize(
    ("at_s", "outcome", "code"),
    [
        ((42.0, 43.0, 44.0), Outcome.BORDERLINE, "perhaps_by_itself"),
        ((42.0, 15.2), Outcome.FAIL, "by_itself"),
        ((73.0,), Outcome.BORDERLINE, "by_itself"),
        ((73.0, 74.0), Outcome.FAIL, "by_itself"),
    ],
    ids=["three times in one try", "in two tries", "once at rest", "twice at rest"],
)
def test_a_hand_that_slips_in_one_try_is_asked_about(at_s: tuple[float, ...], outcome: Outcome, code: str) -> None:
    """Nobody can tell a second slip of the same hand from a button that closes by itself; another try, or hands off,
    can."""
    found = judged(*(moved("south", at, 900 if at < 30.0 else 100) for at in at_s))
    assert found.outcome is outcome
    assert [(f.code, f.params["times"]) for f in found.findings] == [(code, len(at_s))]
