"""Contact: three firm presses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sample_units.make import sheet_of
from station.checks.contact import ContactCheck
from station.checks.said import sentence
from station.checks.types import Outcome
from station.evidence.assess import assess_capture
from station.sheets.model import Sheet
from station.sources.simulated import Item, PadDesign, SimulatedHand, UnitSpec, faults, make_capture
from tests.checks.button_moves import (
    LEFT,
    LIMITS,
    LONE,
    PADDLE,
    RIGHT,
    SHEET,
    STICK,
    STICK_PRESS,
    TRIGGER,
    contact,
    hat,
    idle,
    presses_at,
    stick,
    take,
    trigger,
)

CHECK = ContactCheck()
THREE = presses_at([500, 1000, 1500])


def _assess(stretches, end_ms=3000.0, control=LEFT, sheet=SHEET, **others):
    signals = {control.id: contact(stretches, end_ms), **others}
    return CHECK.assess(take(control, signals, end_ms, sheet=sheet), LIMITS)


def _values(assessment):
    return {r.name: r.value for r in assessment.readings}


def test_three_presses_pass():
    found = _assess(THREE)
    assert found.outcome is Outcome.PASS
    assert _values(found) == {"registered": 3, "released": 3, "others": 0}
    assert not found.findings


def test_a_button_that_never_closes_fails_once_the_person_ends_the_try():
    found = _assess([])
    assert found.outcome is Outcome.FAIL
    assert [(f.code, sentence("contact", f)) for f in found.findings] == [("never", "left shoulder: never closes")]


def test_ending_at_once_is_a_slip_and_not_a_fail():
    found = _assess([], end_ms=900)
    assert found.outcome is Outcome.NOT_DONE
    assert found.again == "again, please: no press of left shoulder seen"


def test_a_button_that_has_not_reported_says_so():
    found = CHECK.assess(take(LEFT, {}, 3000), LIMITS)
    assert found.readings[0].reason == "the control has not reported yet"
    assert found.findings[0].code == "never"


@pytest.mark.parametrize(("presses", "left"), [(1, "two presses"), (2, "one press")])
def test_too_few_presses_ask_for_more_because_nobody_called_for_them(presses, left):
    found = _assess(THREE[:presses])
    assert (found.outcome, found.again) == (Outcome.NOT_DONE, f"again, please: {left} to go")


def test_closed_from_beginning_to_end_is_stuck():
    found = _assess([(0, 9000)])
    assert [f.code for f in found.findings] == ["stuck"]
    assert found.outcome is Outcome.FAIL
    assert _values(found)["released"] == 0


def test_not_coming_back_after_the_last_press_is_stuck():
    assert [f.code for f in _assess([*THREE[:2], (1500, 9000)], 4500).findings] == ["stuck"]


def test_the_last_press_still_held_asks_to_go_on():
    found = _assess([*THREE[:2], (1500, 9000)], 2000)
    assert found.again == "again, please: one press to go"


def test_bounce_is_not_counted_as_presses():
    found = _assess([(500, 502), (504, 590), (1000, 1090)])
    assert _values(found)["registered"] == 2


def test_more_presses_than_asked_pass_too():
    assert _assess(presses_at([300, 600, 900, 1200])).outcome is Outcome.PASS


class TestOthers:
    """What may move along, and what must not."""

    def test_a_button_that_closes_with_it_is_crosstalk(self):
        found = _assess(THREE, menu=contact(presses_at([505, 1004, 1506]), 3000))
        assert [(f.code, sentence("contact", f)) for f in found.findings] == [
            ("crosstalk", "left shoulder: menu moves with it")
        ]
        assert (found.outcome, _values(found)["others"]) == (Outcome.FAIL, 1)

    def test_two_that_move_are_both_named(self):
        also = contact(presses_at([505, 1004, 1506]), 3000)
        found = _assess(THREE, menu=also, right_shoulder=also)
        assert sentence("contact", found.findings[0]) == "left shoulder: right shoulder and menu move with it"

    def test_another_button_pressed_once_is_a_slip_of_the_hand(self):
        assert _assess(THREE, menu=contact(presses_at([1004]), 3000)).outcome is Outcome.PASS

    def test_another_button_pressed_between_the_presses_is_no_crosstalk(self):
        assert _assess(THREE, menu=contact(presses_at([700, 1200, 1700]), 3000)).outcome is Outcome.PASS

    def test_a_paddle_that_repeats_the_button_may_move(self):
        assert _assess(THREE, left_paddle=contact(THREE, 3000)).outcome is Outcome.PASS

    def test_the_button_that_a_paddle_repeats_may_move(self):
        assert _assess(THREE, control=PADDLE, left_shoulder=contact(THREE, 3000)).outcome is Outcome.PASS

    def test_the_hat_moving_with_it_is_crosstalk(self):
        moves = hat([(0, -1), (505, 2), (560, -1), (1010, 2), (1070, -1), (1505, 2), (1580, -1)])
        assert [f.code for f in _assess(THREE, d_pad=moves).findings] == ["crosstalk"]

    def test_a_stick_pulled_to_its_end_is_crosstalk(self):
        moves = stick([(0, 0, 0), (505, 100, 0), (580, 0, 0), (1010, 100, 0), (1080, 0, 0)])
        assert [f.code for f in _assess(THREE, left_stick=moves).findings] == ["crosstalk"]

    def test_a_stick_nudged_by_the_hand_is_not(self):
        moves = stick([(0, 0, 0), (505, 30, 5), (580, 0, 0), (1010, 35, 0), (1080, 0, 0)])
        assert _assess(THREE, left_stick=moves).outcome is Outcome.PASS

    def test_a_sticks_own_press_may_move_the_stick(self):
        moves = stick([(0, 0, 0), (505, 60, 0), (580, 0, 0), (1010, -60, 0), (1080, 0, 0)])
        assert _assess(THREE, control=STICK_PRESS, left_stick=moves).outcome is Outcome.PASS

    def test_a_trigger_moving_with_it_is_crosstalk(self):
        moves = trigger([(0, 0), (505, 80), (590, 0), (1005, 80), (1090, 0)])
        assert [f.code for f in _assess(THREE, left_trigger=moves).findings] == ["crosstalk"]

    def test_without_a_sheet_nobody_knows_which_button_is_a_triggers_so_it_may_move(self):
        drawn = replace(SHEET, drawn_up=True)
        moves = trigger([(0, 0), (505, 80), (590, 0), (1005, 80), (1090, 0)])
        assert _assess(THREE, sheet=drawn, left_trigger=moves).outcome is Outcome.PASS


def _telegraph(rng, end_ms, away_s, per_s, height=80.0):
    """A stick at rest on a worn spot: its x jumps away `per_s` times a second for `away_s` on average, by itself."""
    t, at, rows = 0.0, 0, [(0.0, 0.0, 0.0)]
    while True:
        t += 1000 * float(rng.exponential(away_s if at else 1 / per_s))
        if t >= end_ms:
            return stick(rows)
        at = not at
        rows.append((t, height * at, 0.0))


class TestAWornStick:
    """It jumps whenever it likes, and that is no button's fault (0.3–1 % of sound controls failed before)."""

    @pytest.mark.parametrize(
        ("away_s", "per_s"), [(0.004, 20), (0.02, 5), (0.1, 1), (0.1, 3), (0.3, 1)],
        ids=["flickers", "spikes", "a jump now and then", "many jumps", "long jumps"],
    )  # fmt: skip
    def test_its_jumps_condemn_hardly_any_button(self, away_s, per_s):
        """Drawn tries of 2.5 s; where nothing belongs to the presses at most 1 % may look so."""
        rng = np.random.default_rng([10, round(1000 * away_s), per_s])
        units = 300
        found = 0
        for _ in range(units):
            begins = np.cumsum(rng.uniform(350, 650, 3)) + 100
            pressed = [(b, b + rng.uniform(80, 200)) for b in begins]
            found += _assess(pressed, 2500, left_stick=_telegraph(rng, 2500, away_s, per_s)).outcome is Outcome.FAIL
        assert found <= 0.01 * units

    def test_a_single_report_at_the_rail_during_two_presses_is_nothing(self):
        moves = stick([(0, 0, 0), (520, 100, 0), (524, 0, 0), (1030, -100, 0), (1034, 0, 0)])
        assert _assess(THREE, left_stick=moves).outcome is Outcome.PASS

    def test_a_short_to_an_axis_of_a_worn_stick_is_still_found(self):
        rows = [(0, 0, 0), (300, 90, 0), (306, 0, 0)]
        for start, end in THREE:
            rows += [(start + 4, 100, 0), (start + 30, 20, 0), (start + 34, 100, 0), (end + 4, 0, 0)]
        assert [f.code for f in _assess(THREE, left_stick=stick(rows)).findings] == ["crosstalk"]

    def test_a_short_to_an_axis_that_rests_off_centre_is_found(self):
        rows = [(0, 40, 0)]
        for start, end in THREE:
            rows += [(start + 4, -100, 0), (end + 4, 40, 0)]
        assert [f.code for f in _assess(THREE, left_stick=stick(rows)).findings] == ["crosstalk"]

    def test_a_short_and_one_nudge_between_the_presses_is_found(self):
        rows = [(0, 0, 0), (700, 80, 0), (760, 0, 0)]
        for start, end in THREE:
            rows += [(start + 4, 100, 0), (end + 4, 0, 0)]
        rows.sort()
        assert [f.code for f in _assess(THREE, left_stick=stick(rows)).findings] == ["crosstalk"]

    def test_a_stick_that_was_pushed_over_all_presses_is_the_hands(self):
        assert _assess(THREE, left_stick=stick([(0, 0, 0), (400, 90, 0), (1700, 0, 0)])).outcome is Outcome.PASS


class TestWhileItRuns:
    def _progress(self, stretches, end_ms):
        return CHECK.progress(take(LEFT, {LEFT.id: contact(stretches, end_ms)}, end_ms), LIMITS)

    @pytest.mark.parametrize(
        ("stretches", "missing"),
        [
            ([], "no press seen yet"),
            ([(500, 9000)], "let go"),
            (THREE[:1], "two presses to go"),
            (THREE[:2], "one press to go"),
            ([(0, 9000)], "closed all the time: let go, or end it now"),
        ],
    )
    def test_it_says_what_is_missing(self, stretches, missing):
        end_ms = 1200.0
        found = self._progress(stretches, end_ms)
        assert (found.complete, found.missing) == (False, missing)

    def test_it_is_complete_with_the_third_release_and_not_before(self):
        assert not self._progress(THREE, 1560.0).complete
        done = self._progress(THREE, 1600.0)
        assert (done.complete, done.share) == (True, 1.0)

    def test_shares_never_fall(self):
        shares = [self._progress(THREE, t).share for t in range(100, 1700, 50)]
        assert shares == sorted(shares)


def test_it_applies_to_buttons_only():
    assert [c.id for c in SHEET.controls if CHECK.applies(c, SHEET)] == [
        c.id for c in (LEFT, RIGHT, LONE, PADDLE, STICK_PRESS)
    ]
    assert not CHECK.applies(None, SHEET)
    assert not CHECK.applies(STICK, SHEET)
    assert not CHECK.applies(TRIGGER, SHEET)


def test_the_prompt_names_the_button_and_how_to_end():
    prompt = CHECK.prompt(LEFT, SHEET)
    assert (prompt.title, prompt.do) == ("Contact", "Press left shoulder three times.")
    assert "End it now" in prompt.hint


def test_a_paddle_that_only_repeats_a_button_is_read_from_that_button():
    found = CHECK.assess(take(PADDLE, {LEFT.id: contact(THREE, 3000)}, 3000), LIMITS)
    assert found.outcome is Outcome.PASS


def test_an_idle_neighbour_is_fine():
    assert _assess(THREE, menu=idle(3000), sheet=Sheet("x", controls=SHEET.controls)).outcome is Outcome.PASS


@pytest.mark.parametrize("rate_hz", [125, 1000])
def test_shorts_of_a_simulated_unit_are_found_and_a_sound_button_is_not_blamed(rate_hz):
    """One button shorts to an axis of a stick, one to another button, one is sound."""
    design = PadDesign("16bit", rate_hz)
    broken = (faults.axis_short("south", "left_stick", "x"), faults.crosstalk("east", "west"))
    for seed in range(3):
        plan = [Item("contact", "south"), Item("contact", "north"), Item("contact", "east")]
        capture = make_capture(UnitSpec(design, seed, broken), SimulatedHand(0.7, seed), plan)
        done = assess_capture(capture, sheet_of(design)).checks
        assert [[f.code for f in c.assessment.findings] for c in done] == [["crosstalk"], [], ["crosstalk"]]
