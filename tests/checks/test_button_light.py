"""Light press: beats, witness, sequential test, and what the link cannot show."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest

from station.checks.light import LightCheck, plan_of, witness_of
from station.checks.limits import limits_for
from station.checks.registry import check_named
from station.checks.said import sentence, value_text
from station.checks.strengths import contrast, strength_of
from station.checks.types import Assessment, Outcome, Reading
from station.measure.binomial import clopper_pearson
from station.measure.sequential import characteristic
from station.sheets.model import Control
from tests.checks.button_moves import LEFT, LIMITS, LONE, MS, RIGHT, SHEET, beats, contact, presses_at, take

CHECK = LightCheck()


def _take(own, other, at, *, end_ms=None, period_ms=1.0, witness=RIGHT.id, control=LEFT):
    end_ms = at[-1] + 1500 if end_ms is None else end_ms
    signals = {control.id: contact(own, end_ms, period_ms)}
    if other is not None:
        signals[RIGHT.id] = contact(other, end_ms, period_ms)
    return take(control, signals, end_ms, beats_ms=at, witness=witness, period_ms=period_ms)


def _values(assessment):
    return {r.name: r.value for r in assessment.readings}


def _without(stretches, *missing):
    return [s for i, s in enumerate(stretches) if i not in missing]


def test_31_clean_presses_pass():
    at = beats(31)
    found = CHECK.assess(_take(presses_at(at), presses_at(at), at), LIMITS)
    assert found.outcome is Outcome.PASS
    assert _values(found) == {
        "good_rate": 1.0, "bad_rate": 10.0,
        "beats": 31, "registered": 31, "missed": 0, "neither": 0, "split": 0, "short": 0, "stays_closed": 0,
        "longest_run": 0, "tries": 1, "slips": 0,
        "miss_rate_upper": pytest.approx(100 * (1 - 0.05 ** (1 / 31))), "shortest": 90.0,
    }  # fmt: skip
    assert not found.findings


def test_the_rates_that_judged_a_press_go_with_its_result():
    """No reading has them as its limit, so nothing said afterwards which they were."""
    at, limits = beats(31), {**LIMITS, "light": {**LIMITS["light"], "faulty_rate": (2.5, 20.0)}}
    for check in (CHECK, LightCheck("firm")):
        found = check.assess(_take(presses_at(at), presses_at(at), at), limits)
        said = {r.name: value_text(check.name, r) for r in found.readings}
        assert (said["good_rate"], said["bad_rate"]) == ("2.50\N{NO-BREAK SPACE}%", "20.00\N{NO-BREAK SPACE}%")
        assert all(r.limit is None for r in found.readings if r.name.endswith("_rate"))


def test_30_clean_presses_are_one_too_few():
    at = beats(30)
    found = CHECK.assess(_take(presses_at(at), presses_at(at), at), LIMITS)
    assert (found.outcome, found.again) == (Outcome.NOT_DONE, "again, please: one press more; those made so far count")


def test_misses_fail_and_are_told_with_their_figures():
    at = beats(22)
    every = presses_at(at)
    found = CHECK.assess(_take(_without(every, 4, 11, 21), every, at), LIMITS)
    assert found.outcome is Outcome.FAIL
    assert [(f.code, sentence("light", f)) for f in found.findings] == [
        ("misses", "left shoulder: misses light presses, 3 of 22")
    ]
    assert _values(found)["miss_rate_upper"] == pytest.approx(100 * clopper_pearson(3, 22, 0.95, "upper")[1])


def test_splits_and_shorts_are_faults_of_their_own():
    at = beats(12)
    own = presses_at(at)
    own[2:3] = [(2000, 2030), (2060, 2100)]
    own[8] = (5000, 5010) if own[8][0] == 5000 else (own[8][0], own[8][0] + 10)
    found = CHECK.assess(_take(own, presses_at(at), at), LIMITS)
    assert found.outcome is Outcome.FAIL
    assert {f.code: sentence("light", f) for f in found.findings} == {
        "splits": "left shoulder: light presses break up, 1 of 12",
        "shorts": "left shoulder: light presses close only for a moment, 1 of 12",
    }


def test_60_beats_without_a_decision_are_borderline():
    at = beats(60)
    every = presses_at(at)
    found = CHECK.assess(_take(_without(every, 25, 50), every, at), LIMITS)
    assert found.outcome is Outcome.BORDERLINE
    assert sentence("light", found.findings[0]) == "left shoulder: misses light presses, 2 of 60"


def test_one_beat_that_both_missed_takes_as_many_more_presses_as_a_miss_would():
    """One fault is accepted after 57 presses, whoever's it was."""
    at = beats(57)
    both = _without(presses_at(at), 9)
    assert not CHECK.progress(_take(both[:-1], both[:-1], at[:-1], end_ms=at[-2] + 450), LIMITS).complete
    found = CHECK.assess(_take(both, both, at), LIMITS)
    assert found.outcome is Outcome.PASS
    assert (_values(found)["beats"], _values(found)["missed"], _values(found)["neither"]) == (57, 0, 1)
    upper = binomtest(1, 57).proportion_ci(0.90, "exact").high
    assert _values(found)["miss_rate_upper"] == pytest.approx(100 * upper)


def test_too_many_beats_that_both_missed_are_looked_at_again_without_the_twin():
    """They passed as void before: the twins vouched for each other."""
    at = beats(40)
    both = _without(presses_at(at), *range(0, 40, 3))
    found = CHECK.assess(_take(both, both, at), LIMITS)
    assert found.outcome is Outcome.NOT_DONE
    assert found.again == (
        "again, please: too many beats that neither registered, press left shoulder without right shoulder"
    )
    assert [f.code for f in found.findings] == ["neither"]
    alone = CHECK.going_on((found,), LIMITS)
    assert (alone.alone, alone.before.beats) == (True, 0)
    assert alone.prompt(LEFT, SHEET).do == "Press left shoulder lightly on each beat."
    at = beats(60)  # a hand slips on 15 % at most
    again = alone.assess(_take(_without(presses_at(at), *range(0, 60, 3)), None, at, witness=None), LIMITS)
    assert again.outcome is Outcome.FAIL


def test_the_second_look_lets_a_bad_one_pass_half_as_often():
    """h = ln[(1 − α/2)/(β/2)]/k = 1.528, so 39 presses without a fault instead of 31."""
    at = beats(39)
    alone = LightCheck(alone=True)
    assert alone.assess(_take(presses_at(at[:38]), None, at[:38], witness=None), LIMITS).again
    assert alone.assess(_take(presses_at(at), None, at, witness=None), LIMITS).outcome is Outcome.PASS


def test_both_looks_together_pass_a_button_of_10_percent_in_less_than_7_percent():
    """Whatever its twin does: it has either look at most once; exact (METHOD, Twins that miss too)."""
    first, second = plan_of(LIMITS), LightCheck(alone=True)._plan(LIMITS)
    passed = [characteristic(plan, 0.1).accept for plan in (first, second)]
    assert passed[0] + (1 - passed[0]) * passed[1] == pytest.approx(0.067, abs=0.0005)
    assert characteristic(second, 0.01).reject < 0.0125


class TestStaysClosed:
    """Once in so many presses the contact is still closed after the finger let go."""

    def _assessed(self, *late, beats_made=60):
        at = beats(beats_made)
        own = [(a, b + 260 * (i in late)) for i, (a, b) in enumerate(presses_at(at))]
        return CHECK.assess(_take(own, presses_at(at), at), LIMITS)

    @pytest.mark.parametrize(
        ("late", "outcome"), [((30,), Outcome.BORDERLINE), ((20, 45), Outcome.BORDERLINE), ((15, 35, 55), Outcome.FAIL)]
    )
    def test_it_never_passes(self, late, outcome):
        found = self._assessed(*late)
        assert (found.outcome, _values(found)["stays_closed"]) == (outcome, len(late))
        assert [sentence("light", f) for f in found.findings] == [
            f"left shoulder: stays closed after light presses, {len(late)} of 60"
        ]

    def test_a_contact_that_never_opens_again_ends_the_try(self):
        at = beats(20)
        own = [*presses_at(at)[:10], (at[10], at[-1] + 1500)]
        take = _take(own, None, at, witness=None)
        assert CHECK.progress(take, LIMITS).complete
        assert CHECK.assess(take, LIMITS).outcome is Outcome.FAIL


class TestSeveralTries:
    """Tries of one visit are counted together (docs/decisions/which-try-counts.md)."""

    def _try(self, check, missed, count=31):
        at = beats(count)
        return check.assess(_take(_without(presses_at(at), *missed), None, at, witness=None), LIMITS)

    def test_a_clean_try_after_a_fail_does_not_make_it_a_pass(self):
        failed = self._try(CHECK, (8, 12))
        assert failed.outcome is Outcome.FAIL
        second = CHECK.going_on((failed,), LIMITS)
        assert not second.progress(_take(presses_at(beats(31)), None, beats(31), witness=None), LIMITS).complete
        found = self._try(second, (), 60)
        assert found.outcome is Outcome.PASS, "2 of 91: 91 · 0.0397 − 1.228 = 2.4"
        assert (_values(found)["beats"], _values(found)["missed"], _values(found)["tries"]) == (91, 2, 2)

    def test_more_misses_confirm_a_fail(self):
        failed = self._try(CHECK, (8, 12))
        found = self._try(CHECK.going_on((failed,), LIMITS), (5, 20), 60)
        assert (found.outcome, _values(found)["missed"]) == (Outcome.BORDERLINE, 4)
        assert sentence("light", found.findings[0]) == "left shoulder: misses light presses, 4 of 91"
        third = self._try(CHECK.going_on((failed, found), LIMITS), (5, 9, 10), 40)
        assert (third.outcome, _values(third)["missed"], _values(third)["tries"]) == (Outcome.FAIL, 7, 3)

    def test_a_try_that_was_ended_early_counts_too(self):
        short = self._try(CHECK, (8,), 12)
        assert short.again
        assert CHECK.going_on((short,), LIMITS).before.sure == (12, 1)

    @pytest.mark.parametrize(
        ("missed", "more", "outcome"),
        [((), 19, Outcome.PASS), ((), 18, None), ((8,), 45, Outcome.PASS), ((8,), 44, None)],
        ids=["what is said to be missing", "one less", "a miss among the first", "one less than that takes"],
    )
    def test_a_test_that_was_ended_early_is_carried_on(self, missed, more, outcome):
        """12 presses and the rest in a second try: the lines are those of one test (31 without a miss, 57 with one)."""
        first = self._try(CHECK, missed, 12)
        second = CHECK.going_on((first,), LIMITS)
        at = beats(more)
        take = _take(presses_at(at), None, at, witness=None)
        found = second.assess(take, LIMITS)
        assert second.progress(take, LIMITS).complete == (outcome is not None)
        assert found.outcome is (outcome or Outcome.NOT_DONE)
        assert (_values(found)["beats"], _values(found)["tries"]) == (12 + more, 2)

    def test_what_it_asks_for_is_what_is_missing(self):
        first = self._try(CHECK, (), 12)
        assert first.again == "again, please: 19 presses more; those made so far count"
        nothing = _take(presses_at(beats(1)), None, beats(1), witness=None)
        assert CHECK.going_on((first,), LIMITS).progress(nothing, LIMITS).missing == "18 good presses to go"

    def test_a_test_that_was_decided_is_not_carried_on(self):
        """Else a pass could be had again with one press."""
        passed = self._try(CHECK, (), 31)
        short = self._try(CHECK.going_on((passed,), LIMITS), (), 12)
        assert CHECK.going_on((passed, short), LIMITS).begun.sure == (12, 0)
        assert self._try(CHECK.going_on((passed, short), LIMITS), (), 18).again
        assert self._try(CHECK.going_on((passed, short), LIMITS), (), 19).outcome is Outcome.PASS

    def test_the_long_form_is_carried_on_to_its_hundred(self):
        long = LightCheck(long=True)
        first = self._try(long, (5,), 60)
        assert first.again == "again, please: 40 presses more; those made so far count"
        found = self._try(long.going_on((first,), LIMITS), (), 40)
        assert (found.outcome, _values(found)["beats"]) == (Outcome.PASS, 100)

    def test_presses_with_the_twin_are_not_carried_on_without_it(self):
        at = beats(31)
        early = CHECK.assess(_take(presses_at(beats(12)), presses_at(beats(12)), beats(12)), LIMITS)
        slips = _take(_without(presses_at(at), 2, 8, 12), _without(presses_at(at), 2, 8, 12), at)
        with_twin = CHECK.going_on((early,), LIMITS).assess(slips, LIMITS)
        assert with_twin.findings
        alone = CHECK.going_on((early, with_twin), LIMITS)
        assert (alone.alone, alone.begun.beats, alone.before.beats) == (True, 0, 12)

    def test_another_mass_starts_afresh(self):
        weighed = self._try(CHECK.weighing(100.0), (8, 12))
        assert CHECK.going_on((weighed,), LIMITS).before.beats == 0
        assert CHECK.weighing(100.0).going_on((weighed,), LIMITS).before.beats == 31
        assert CHECK.weighing(130.0).going_on((weighed,), LIMITS).before.beats == 0

    def test_a_try_of_an_older_record_has_no_beats_that_neither_registered(self):
        old = Assessment(Outcome.PASS, (Reading("beats", 31.0, "", n=31), Reading("missed", 0.0, "", n=31)))
        assert CHECK.going_on((old,), LIMITS).before.at_worst == (31, 0)


class TestHandThatSlips:
    """What the hand does to every button, or to button and twin alike, fails none; what the contact does still does."""

    AT = beats(66)
    SLIPPED = range(5, 66, 13)

    def _alone(self, *missed, neither, taken_back=0):
        """The second look at a button of which so many of 40 beats were registered by neither before."""
        both = _without(presses_at(beats(40)), *range(0, 40, 40 // neither))
        first = CHECK.assess(_take(both, both, beats(40)), LIMITS)
        alone = CHECK.going_on((first,), LIMITS)
        assert alone.alone
        made = _take(_without(presses_at(self.AT), *missed), None, self.AT, witness=None)
        return alone.assess(replace(made, taken_back=taken_back), LIMITS)

    def test_misses_as_often_as_both_were_missed_before_do_not_fail(self):
        """5 of 66 with a line of 4.1 of 66 failed; 4 of 40 that neither registered shift it to 13.0."""
        found = self._alone(*self.SLIPPED, neither=4)
        assert found.outcome is Outcome.BORDERLINE
        assert {r.name: r.reason for r in found.readings}["registered"] == (
            "too many were missed to pass, but the hand slips so often that they may be its own"
        )

    def test_misses_more_often_than_that_fail(self):
        assert self._alone(*range(5, 66, 3), neither=4).outcome is Outcome.FAIL

    @pytest.mark.parametrize(("taken_back", "outcome"), [(0, Outcome.FAIL), (8, Outcome.BORDERLINE)])
    def test_who_takes_back_beats_slips_unnoticed_too(self, taken_back, outcome):
        at = beats(60)
        made = _take(_without(presses_at(at), 8, 25, 33, 50), None, at, witness=None)
        found = CHECK.assess(replace(made, taken_back=taken_back), LIMITS)
        assert (found.outcome, _values(found)["slips"]) == (outcome, taken_back)

    def test_beside_a_twin_that_registered_it_excuses_nothing(self):
        at = beats(60)
        made = _take(_without(presses_at(at), 8, 25, 33, 50), presses_at(at), at)
        assert CHECK.assess(replace(made, taken_back=8), LIMITS).outcome is Outcome.FAIL

    def test_splits_are_no_slips(self):
        at = beats(60)
        broken = [[(a, a + 30), (a + 60, b)] if k % 9 == 4 else [(a, b)] for k, (a, b) in enumerate(presses_at(at))]
        own = [closure for press in broken for closure in press]
        found = CHECK.assess(replace(_take(own, None, at, witness=None), taken_back=12), LIMITS)
        assert (found.outcome, _values(found)["split"]) == (Outcome.FAIL, 7)

    def test_no_slip_makes_a_button_pass(self):
        """One miss takes 57 presses, however many beats were taken back."""
        for n, passes in ((56, False), (57, True)):
            at = beats(n)
            made = replace(_take(_without(presses_at(at), 20), None, at, witness=None), taken_back=20)
            assert (CHECK.assess(made, LIMITS).outcome is Outcome.PASS) is passes


class TestLongForm:
    CHECK = LightCheck(long=True)

    def _assessed(self, *missed, count=100):
        at = beats(count)
        return self.CHECK.assess(_take(_without(presses_at(at), *missed), None, at, witness=None), LIMITS)

    @pytest.mark.parametrize(
        ("missed", "outcome"),
        [
            ((), Outcome.PASS),
            ((9, 50), Outcome.PASS),
            ((9, 10, 50), Outcome.BORDERLINE),
            ((9, 10, 50, 60, 70), Outcome.BORDERLINE),
            ((9, 10, 11, 12, 50, 60), Outcome.FAIL),
        ],
    )
    def test_100_presses_and_the_same_lines(self, missed, outcome):
        found = self._assessed(*missed)
        assert (found.outcome, _values(found)["beats"]) == (outcome, 100)
        upper = binomtest(len(missed), 100).proportion_ci(0.90, "exact").high
        assert _values(found)["miss_rate_upper"] == pytest.approx(100 * upper)

    def test_it_tells_the_longest_run(self):
        assert _values(self._assessed(9, 10, 11, 12, 50))["longest_run"] == 4

    def test_it_ends_early_only_when_it_must_fail(self):
        at = beats(60)
        take = _take(_without(presses_at(at), 5, 6, 7, 8, 20), None, at, witness=None)
        assert self.CHECK.progress(take, LIMITS).missing == "40 good presses to go"
        six = _take(_without(presses_at(at), 5, 6, 7, 8, 20, 21), None, at, witness=None)
        assert self.CHECK.progress(six, LIMITS).complete


def test_without_a_witness_a_missed_beat_counts_and_the_reading_says_why():
    at = beats(33)
    every = presses_at(at)
    found = CHECK.assess(_take(_without(every, 3, 9), None, at, witness=None), LIMITS)
    assert _values(found)["missed"] == 2
    reason = {r.name: r.reason for r in found.readings}["missed"]
    assert reason == "without a witness a slip of the hand counts as a miss"


def test_a_witness_that_nobody_pressed_hides_no_miss():
    at = beats(20)
    every = presses_at(at)
    found = CHECK.assess(_take(_without(every, 3, 9, 12), [], at), LIMITS)
    assert (found.outcome, _values(found)["missed"]) == (Outcome.FAIL, 3)
    assert "hardly pressed" in {r.name: r.reason for r in found.readings}["missed"]


def test_a_withdrawn_beat_is_no_miss():
    at = beats(32)
    every = presses_at(at)
    kept = at[:7] + at[8:]
    found = CHECK.assess(_take(_without(every, 7), None, kept, witness=None), LIMITS)
    assert (found.outcome, _values(found)["missed"]) == (Outcome.PASS, 0)


def test_a_late_start_without_a_witness_is_no_fail():
    """Two beats missed at once would reject: 2 ≥ 0.0397 · 2 + 1.228."""
    at = beats(34)
    found = CHECK.assess(_take(presses_at(at)[3:], None, at, witness=None), LIMITS)
    assert (found.outcome, _values(found)["beats"], _values(found)["missed"]) == (Outcome.PASS, 31, 0)
    assert {r.name: r.reason for r in found.readings}["beats"] == "three beats before the first press left out"


def test_who_pressed_in_the_count_in_has_begun():
    at = beats(6)
    own = [*presses_at([500.0]), *presses_at(at)[2:]]
    found = CHECK.assess(_take(own, None, at, witness=None), LIMITS)
    assert (found.outcome, _values(found)["missed"]) == (Outcome.FAIL, 2)


def test_a_button_that_never_answers_fails_without_a_witness_too():
    at = beats(6)
    found = CHECK.assess(_take([], None, at, witness=None), LIMITS)
    assert found.outcome is Outcome.FAIL
    assert sentence("light", found.findings[0]) == "left shoulder: misses light presses, 2 of 2"


def test_a_dead_button_fails_on_the_word_of_its_witness():
    """Once it may be that the hand pressed the twin alone; the next try counts by itself."""
    at = beats(6)
    first = CHECK.assess(_take([], presses_at(at), at), LIMITS)
    assert first.again == "again, please: only right shoulder registered, press left shoulder too"
    found = CHECK.going_on((first,), LIMITS).assess(_take([], presses_at(at), at), LIMITS)
    assert sentence("light", found.findings[0]) == "left shoulder: misses light presses, 6 of 6"
    assert found.outcome is Outcome.FAIL
    assert {r.name: r.value for r in found.readings}["shortest"] is None


def test_nobody_pressing_is_not_a_fail():
    at = beats(6)
    found = CHECK.assess(_take([], [], at), LIMITS)
    assert found.again == "again, please: no press of left shoulder seen on a beat"


def test_no_beats_at_all_asks_again():
    found = CHECK.assess(take(LEFT, {LEFT.id: contact(presses_at([500]), 2000)}, 2000), LIMITS)
    assert found.again == "again, please: no beat was given"
    assert {r.name: r.value for r in found.readings}["miss_rate_upper"] is None


class TestLink:
    """What the link's time resolution does to durations."""

    def test_bounce_at_the_head_of_a_burst_is_no_split(self):
        """Polls of 2 ms go out in fours. At the head of each press the contact opens for 1 ms at the last poll of a
        burst; before, that opening lasted until the next burst."""
        at = beats(31)
        shut = [part for t in at for part in ((t + 4, t + 6), (t + 8, t + 96))]
        own, other = (contact(s, at[-1] + 600, 2.0) for s in (shut, presses_at(at)))
        polls = np.arange(len(own.t_ns))
        in_fours = (polls // 4 * 4 + 3) * 2 * MS + polls % 4 * 20_000
        one = _take(shut, presses_at(at), at, period_ms=2.0)
        signals = {LEFT.id: replace(own, t_ns=in_fours), RIGHT.id: replace(other, t_ns=in_fours)}
        found = CHECK.assess(replace(one, signals=signals, report_t_ns=in_fours), LIMITS)
        assert {r.name: r.value for r in found.readings}["split"] == 0
        assert found.outcome is Outcome.PASS

    def _reading(self, name, period_ms):
        at = beats(31)
        every = presses_at(at, 60.0)
        found = CHECK.assess(_take(every, every, at, period_ms=period_ms), LIMITS)
        return {r.name: r for r in found.readings}[name]

    @pytest.mark.parametrize("period_ms", [1.0, 8.0])
    def test_durations_carry_the_polling_period(self, period_ms):
        """At least that of two ends; the shortest of thirty and bounce make it more."""
        shortest = self._reading("shortest", period_ms)
        assert 2 * period_ms / np.sqrt(6) <= shortest.uncertainty <= period_ms + 5.0
        assert abs(shortest.value - 60.0) <= shortest.uncertainty

    def test_at_125_a_second_it_says_what_may_go_unseen(self):
        assert self._reading("short", 8.0).reason == (
            "at 125 reports a second a contact shorter than 8 ms can go unseen"
        )

    def test_at_125_a_second_a_split_may_go_unseen_too(self):
        assert self._reading("split", 8.0).reason == (
            "at 125 reports a second an opening shorter than 8 ms can go unseen"
        )

    def test_at_1000_a_second_there_is_nothing_to_say(self):
        assert self._reading("short", 1.0).reason == ""
        assert self._reading("split", 1.0).reason == ""

    @pytest.mark.parametrize(("length_ms", "seen"), [(1, 0.125), (4, 0.5), (6, 0.75), (8, 1.0)])
    def test_at_125_a_second_a_brief_press_is_seen_by_the_share_of_the_period_that_it_lasts(self, length_ms, seen):
        """min(1, d/T) [analytic]; here through the check itself, at every phase."""
        registered = []
        for phase in np.arange(0, 8, 0.5):
            at = beats(4)
            own = [*presses_at(at[:3]), (at[3] + phase, at[3] + phase + length_ms)]
            found = CHECK.assess(_take(own, presses_at(at), at, period_ms=8.0), LIMITS)
            registered.append(_values(found)["registered"] == 4)
        assert np.mean(registered) == seen

    def test_a_5_ms_contact_can_be_invisible_at_125_a_second(self):
        at = beats(4)
        own = [*presses_at(at[:3]), (at[3] + 5, at[3] + 10)]  # between the polls at 2504 and 2512 ms
        slow = CHECK.assess(_take(own, presses_at(at), at, period_ms=8.0), LIMITS)
        fast = CHECK.assess(_take(own, presses_at(at), at, period_ms=1.0), LIMITS)
        assert (_values(slow)["missed"], _values(slow)["short"]) == (1, 0)
        assert (_values(fast)["missed"], _values(fast)["short"]) == (0, 1)

    def test_a_handful_of_reports_does_not_show_the_period(self):
        at = beats(2)
        one = replace(_take(presses_at(at), presses_at(at), at), report_t_ns=np.array([0, 900], dtype=np.int64) * MS)
        readings = {r.name: r for r in CHECK.assess(one, LIMITS).readings}
        assert "do not show" in readings["short"].reason
        assert "not known" in readings["shortest"].reason


class TestStrengths:
    """The same check with harder presses and with a known mass."""

    @pytest.mark.parametrize(
        ("strength", "title", "do"),
        [
            ("light", "Light press", "Press left shoulder and right shoulder together, lightly, on each beat."),
            ("normal", "Normal press", "Press left shoulder and right shoulder together, as in play, on each beat."),
            ("firm", "Firm press", "Press left shoulder and right shoulder together, firmly, on each beat."),
        ],
    )
    def test_each_says_how_hard(self, strength, title, do):
        check = LightCheck(strength)
        prompt = check.prompt(LEFT, SHEET)
        assert (check.title, prompt.title, prompt.do) == (title, title, do)
        assert strength_of(check.name) == strength

    def test_findings_name_the_strength(self):
        at = beats(4)
        found = LightCheck("firm").assess(_take(presses_at(at)[:2], presses_at(at), at), LIMITS)
        assert [sentence("light", f) for f in found.findings] == ["left shoulder: misses firm presses, 2 of 4"]

    def test_a_mass_gives_a_force_and_a_finger_none(self):
        at = beats(31)
        one = _take(presses_at(at), presses_at(at), at)
        weighed = LightCheck().weighing(100.0).assess(one, LIMITS)
        force = weighed.readings[0]
        assert (force.name, force.unit, round(force.value, 4), force.limit) == ("force", "N", 0.9807, None)
        assert weighed.readings[1:] == CHECK.assess(one, LIMITS).readings
        assert LightCheck("light", 100.0).weighing(None).mass_g is None

    def test_without_a_twin_the_mass_stands_alone(self):
        prompt = LightCheck("light", 100.0).prompt(LONE, SHEET)
        assert prompt.do == "Set the mass of 100 g on menu, on each beat; lift it again."

    @pytest.mark.parametrize("name", ["light", "normal_press", "firm_press"])
    def test_a_recording_finds_each_by_its_name(self, name):
        found = check_named(name, SHEET)
        assert isinstance(found, LightCheck)
        assert found.name == name


FAIL, PASS, EDGE = Outcome.FAIL, Outcome.PASS, Outcome.BORDERLINE
CONTRASTS = {
    "light fails, firm passes": (
        {"light": FAIL, "firm_press": PASS}, "firm_press", "light presses fail, firm ones pass",
    ),
    "the light press came last": ({"light": FAIL, "firm_press": PASS}, "light", "light presses fail, firm ones pass"),
    "light and normal fail": (
        {"light": FAIL, "normal_press": FAIL, "firm_press": PASS}, "firm_press",
        "light and normal presses fail, firm ones pass",
    ),
    "normal passes": ({"light": FAIL, "normal_press": PASS}, "normal_press", "light presses fail, normal ones pass"),
    "both fail": ({"light": FAIL, "firm_press": FAIL}, "firm_press", None),
    "both pass": ({"light": PASS, "firm_press": PASS}, "firm_press", None),
    "light borderline": ({"light": EDGE, "firm_press": PASS}, "firm_press", None),
    "light passes, firm fails": ({"light": PASS, "firm_press": FAIL}, "firm_press", None),
    "only firm done": ({"firm_press": PASS}, "firm_press", None),
    "light passes now, another pair stands": (
        {"light": PASS, "normal_press": FAIL, "firm_press": PASS}, "light", None,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("outcomes", "newest", "said"), CONTRASTS.values(), ids=CONTRASTS)
def test_what_presses_of_several_strengths_say_together(outcomes, newest, said):
    found = contrast("menu", newest, {check: Assessment(outcome) for check, outcome in outcomes.items()})
    if said is None:
        assert found is None
    else:
        assert (found.code, sentence("light", found)) == ("misses", f"menu: {said}: weak contact or worn actuator")


def test_known_forces_stand_in_that_finding():
    weighed = {
        "light": Assessment(FAIL, (Reading("force", 0.9807, "N"),)),
        "firm_press": Assessment(PASS, (Reading("force", 2.5497, "N"),)),
    }
    assert sentence("light", contrast("menu", "firm_press", weighed)) == (
        "menu: light (0.98 N) presses fail, firm (2.55 N) ones pass: weak contact or worn actuator"
    )


class TestWhileItRuns:
    def _progress(self, count, end_ms, missing=()):
        at = [b for b in beats(60) if b <= end_ms]
        every = [s for s in presses_at(beats(count)) if s[0] < end_ms]
        return CHECK.progress(_take(_without(every, *missing), every, at, end_ms=end_ms), LIMITS)

    def test_it_counts_down(self):
        assert self._progress(60, 5600.0).missing == "21 good presses to go"

    def test_it_is_complete_as_soon_as_the_test_accepts(self):
        at_31 = beats(31)[-1]
        assert not self._progress(60, at_31 + 60.0).complete
        done = self._progress(60, at_31 + 100.0)
        assert (done.complete, done.share) == (True, 1.0)

    def test_it_is_complete_as_soon_as_the_test_rejects(self):
        done = self._progress(60, 3900.0, missing=(2, 4))
        assert done.complete
        assert CHECK.assess(_take(_without(presses_at(beats(60))[:6], 2, 4), presses_at(beats(60))[:6],
                                  [b for b in beats(60) if b <= 3900], end_ms=3900.0), LIMITS
                            ).outcome is Outcome.FAIL  # fmt: skip

    def test_a_fault_makes_it_longer(self):
        assert self._progress(60, 5600.0, missing=(2,)).missing == "47 good presses to go"

    def test_it_shows_each_beat_and_the_one_it_waits_for(self):
        marks = self._progress(8, 5120.0, missing=(3,)).marks["beats"]
        assert [state for _, state in marks] == [
            *["registered"] * 3, "missed", *["registered"] * 4, "waiting",
        ]  # fmt: skip
        assert marks[0][0] == 1000 * MS


class TestPlan:
    def test_it_comes_from_the_limits(self):
        plan = plan_of(LIMITS)
        assert (plan.p0, plan.p1, plan.alpha, plan.beta, plan.stop_at) == (0.01, 0.10, 0.05, 0.05, 60)

    def test_a_sheet_can_ask_for_less(self):
        sheet = replace(SHEET, limits={"light": {"faulty_rate": (2.0, 20.0)}})
        plan = plan_of(limits_for(sheet, LIMITS))
        assert (plan.p0, plan.p1) == (0.02, 0.20)


def test_the_prompt_asks_for_both_shoulders():
    prompt = CHECK.prompt(LEFT, SHEET)
    assert prompt.do == "Press left shoulder and right shoulder together, lightly, on each beat."
    assert 90 <= prompt.beats_per_minute <= 150


def test_without_a_twin_the_prompt_says_how_to_take_a_beat_back():
    prompt = CHECK.prompt(LONE, SHEET)
    assert prompt.do == "Press menu lightly on each beat."
    assert "take a beat back" in prompt.hint


def test_a_twin_that_is_no_button_is_no_witness():
    odd = Control("odd", "button", "Odd", twin="left_stick")
    assert witness_of(odd, SHEET) is None
    assert witness_of(LEFT, SHEET) is RIGHT
