"""The ways on of a unit, followed to their ends."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from station.diagnosis.courses import courses_of
from station.diagnosis.faults import SWAP, case_of, faults_of, needs_part
from station.diagnosis.guide import load_guide
from station.diagnosis.plan import Course, Option, Stakes, best_plan
from station.diagnosis.treatments import first_fault, stakes_of
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()
SENSOR = "Left stick sensor, horizontal"
RICH = replace(GUIDE, values=replace(GUIDE.values, ready_minor=9000))
"""at which units with several faults are worth their repair"""


def noisy_stick() -> Story:
    return Story().check("sweep", "left_stick", *noisy())


def two_faults() -> Story:
    return noisy_stick().check("light", "left_shoulder", "misses")


def some_options(rng: random.Random) -> tuple[list[float], list[Option], Stakes]:
    weights = [rng.random() for _ in range(3)]
    options = [
        Option(tuple(rng.random() for _ in weights), rng.uniform(50, 500), rng.uniform(0, 0.05), rng.random() < 0.5)
        for _ in range(4)
    ]
    return weights, options, Stakes(5000, 1000, 500, 180, 120)


@pytest.mark.parametrize("seed", range(40))
def test_followed_to_its_end_a_plan_comes_to_the_value_that_it_was_chosen_for(seed: int) -> None:
    weights, options, stakes = some_options(random.Random(seed))
    plan = best_plan(weights, options, stakes)
    course = plan.course
    assert course.cured + course.stopped + course.ruined == pytest.approx(1.0)
    costs = sum(chance * options[k].cost for k, chance in course.does)
    costs += course.openings * stakes.open_cost + course.tests * stakes.test_cost
    ends = course.cured * stakes.cured + course.stopped * stakes.stop + course.ruined * stakes.ruined
    assert ends - costs == pytest.approx(plan.value)


def test_carried_out_many_times_a_plan_ends_as_often_as_it_says() -> None:
    """By chance alone: the bad part is drawn, each treatment cures, ruins or fails, the plan is gone by."""
    rng = random.Random(5)
    weights, options, stakes = some_options(rng)
    course = best_plan(weights, options, stakes).course
    ends = {"cured": 0, "stopped": 0, "ruined": 0}
    for _ in range(20_000):
        ends[_carried_out(rng, weights, options, stakes)] += 1
    for name, count in ends.items():
        assert count / 20_000 == pytest.approx(getattr(course, name), abs=0.015), name


def _carried_out(rng: random.Random, weights: list[float], options: list[Option], stakes: Stakes) -> str:
    """One unit. After each test that shows the fault the rest is planned anew, with what is known then."""
    bad = rng.choices(range(len(weights)), weights)[0]
    good, here, left = False, list(weights), list(range(len(options)))
    while True:
        plan = best_plan(here, [options[k] for k in left], stakes)
        if not plan.round:
            return "stopped"
        now = [left[k] for k in plan.round]
        for k in now:
            if rng.random() < options[k].harm:
                return "ruined"
            good = good or rng.random() < options[k].cures[bad]
            here = [w * (1 - c) for w, c in zip(here, options[k].cures, strict=True)]
        if good:
            return "cured"
        left = [k for k in left if k not in now]


@pytest.mark.parametrize("story", [noisy_stick, two_faults], ids=["one fault", "two faults"])
def test_among_the_courses_is_the_best_plan_of_the_unit_alone(story: object) -> None:
    history = story().history  # type: ignore[operator]
    bought = replace(RICH, treatments=tuple(m for m in RICH.treatments if m.kind != SWAP))
    values = RICH.values_for(history.unit.model)
    stakes = stakes_of(values, bought)
    best = first_fault(faults_of(case_of(history, SHEET, bought, (), ())), stakes)[1].value

    def brings(course: object) -> float:
        sold = course.cured * stakes.cured + course.stopped * stakes.stop + course.ruined * stakes.ruined  # type: ignore[attr-defined]
        parts = sum(p.use * p.new_minor for p in course.pieces)  # type: ignore[attr-defined]
        return sold - course.materials_minor - parts - course.minutes * RICH.hour_minor / 60  # type: ignore[attr-defined]

    found = [c for c in courses_of(history, SHEET, RICH) if all(p.new_minor is not None for p in c.pieces)]
    assert max(brings(c) for c in found) == pytest.approx(best)


def test_there_are_courses_with_parts_and_without() -> None:
    found = courses_of(noisy_stick().history, SHEET, GUIDE)
    assert any(c.pieces for c in found)
    assert any(not c.pieces for c in found)
    for course in found:
        assert course.cured + course.stopped + course.ruined == pytest.approx(1.0)
        assert [d.part for d in course.does if needs_part(d.kind)] == [p.part for p in course.pieces]
        assert course.does[0].chance == 1.0
        assert all(0 < d.chance <= 1 for d in course.does)


def test_a_sound_unit_and_one_that_nothing_can_be_done_for_have_none() -> None:
    assert courses_of(Story().check("sweep", "left_stick").history, SHEET, GUIDE) == ()
    assert courses_of(noisy_stick().history, SHEET, replace(GUIDE, treatments=())) == ()


def test_to_stop_at_once_ends_as_it_stands() -> None:
    assert best_plan([1.0], [Option((0.1,), 9000)], Stakes(1000, 900, 0, 0, 0)).course == Course()
