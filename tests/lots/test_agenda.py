"""From the records of a lot to its plan in words."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from station.diagnosis.courses import Deed, Piece
from station.diagnosis.guide import Values, load_guide
from station.errors import InputError
from station.lots.agenda import (
    changes,
    lines_of,
    move_cells,
    quality,
    stopped,
    tasks_of,
    told_of,
    with_price,
    worked_out,
)
from station.lots.outlook import outlook_of
from station.lots.plan import Batch, Candidate, Problem, Way, solve
from station.lots.ways import MOST_HOURS, LotProblem, candidate_of, problem_of, read_hours
from station.records.types import Lot, ShelfPart, Unit, UnitHistory
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy
from tests.lots.plan_kit import SELL, a_lot, give_up

GUIDE = load_guide()
LOT = Lot("l", "SM-07", "2026-03-02", cost_minor=9600)
SENSOR = "Left stick sensor, horizontal"
TODAY = "2026-03-09"


def a_unit(n: int, **other: object) -> Unit:
    return Unit(str(n), f"SM-07-{n:02d}", "Plover T2", "l", **other)  # type: ignore[arg-type]


def finished(story: Story) -> UnitHistory:
    found = story.history
    return replace(found, visits=tuple(replace(v, finished_at="2026-03-06T10:30:00.000Z") for v in found.visits))


def worn(n: int) -> Story:
    story = Story(a_unit(n)).check("sweep", "left_stick", *noisy())
    return story.treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy())


def crossed(n: int) -> Story:
    story = Story(a_unit(n)).check("sweep", "left_stick")
    return story.check("contact", "left_shoulder", "crosstalk").check("contact", "right_shoulder", "crosstalk")


def of_stories(*stories: Story, guide: object = GUIDE, shelf: tuple[ShelfPart, ...] = (), lot: Lot = LOT) -> LotProblem:
    histories = [finished(story) for story in stories]
    outlooks = [outlook_of(h, SHEET, guide, today=TODAY) for h in histories]  # type: ignore[arg-type]
    found = [candidate_of(o, h, SHEET, guide) for o, h in zip(outlooks, histories, strict=True)]  # type: ignore[arg-type]
    return problem_of(lot, outlooks, [c for c in found if c is not None], shelf, guide)  # type: ignore[arg-type]


def kinds(lot: LotProblem, unit_id: str) -> list[str]:
    return [way.kind for unit in lot.problem.units if unit.unit_id == unit_id for way in unit.ways]


# --- what is open to a unit -----------------------------------------------------------------------------------


def test_what_is_open_to_each_unit_follows_from_where_it_stands() -> None:
    sound = Story(a_unit(1)).check("contact", "left_shoulder")
    resting = Story(a_unit(2, rest_until="2026-03-08")).check("contact", "left_shoulder", "crosstalk")
    resting = resting.treat("open and clean").check("contact", "left_shoulder")
    untested, sold = Story(a_unit(4)), Story(a_unit(5, becomes="sold"))
    lot = of_stories(sound, resting, worn(3), untested, sold)
    assert kinds(lot, "1") == ["ready"]
    assert kinds(lot, "2") == ["sell", "rest"]
    assert kinds(lot, "3")[:2] == ["sell", "donor"]
    assert set(kinds(lot, "3")[2:]) == {"repair"}
    assert [u.tag for u in lot.to_test] == ["SM-07-04"]
    assert kinds(lot, "4") == kinds(lot, "5") == []


def test_a_way_ends_surely_in_one_of_three_states() -> None:
    for way in of_stories(worn(1)).problem.units[0].ways:
        assert way.ready + way.as_is + way.as_parts == pytest.approx(1.0)


def test_a_part_on_the_shelf_is_used_at_its_price() -> None:
    shelf = (ShelfPart("p", SENSOR, "Plover T2", 1, None, 0),)
    with_it, without = (solve(of_stories(worn(1), shelf=s).problem, None) for s in (shelf, ()))
    assert with_it.value == pytest.approx(without.value + 210)  # the new one costs 2.10 and is surely put in
    assert [s.batch for s in with_it.sources if s.use == 1.0] == [0]


def test_a_part_on_the_shelf_that_was_paid_in_another_currency_is_left_out_and_told() -> None:
    dear = ShelfPart("p", SENSOR, "Plover T2", 1, None, 210, "CHF")
    found = of_stories(worn(1), shelf=(dear,))
    assert found.problem.shelf == ()
    told = next(worked_out(found, None))
    assert f"Not taken from the shelf, since paid in another currency: {SENSOR}." in told.notes
    given = of_stories(worn(1), shelf=(replace(dear, cost_minor=0),))
    assert (len(given.problem.shelf), given.left_out) == (1, ()), "what cost nothing costs nothing in any currency"


def test_a_part_on_the_shelf_of_another_model_is_not_used() -> None:
    shelf = (ShelfPart("p", SENSOR, "Heron 4", 1, None, 0),)
    assert of_stories(worn(1), shelf=shelf).problem.shelf == ()


def test_a_dead_unit_is_given_up_where_parts_cannot_be_bought() -> None:
    dear = tuple(replace(m, cost_minor=2500) for m in GUIDE.treatments if m.kind == "replace sensor")
    lot = of_stories(worn(1), crossed(2), guide=replace(GUIDE, treatments=dear, values=Values(3200, 900, 700)))
    told = told_of(lot, solve(lot.problem, None))
    assert [(t.unit.tag, t.kind) for t in told.tasks] == [("SM-07-02", "donor"), ("SM-07-01", "repair")]
    assert told.tasks[0].told == f"SM-07-02 gives {SENSOR} for SM-07-01."
    assert told.tasks[1].parts == "SM-07-02"


# --- what cannot be planned -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "hours"), [("8", 8.0), (" 6.5 ", 6.5), ("6,5", 6.5), ("0", 0.0), ("", None), ("  ", None), (".5", 0.5)]
)
def test_hours_as_they_are_typed(text: str, hours: float | None) -> None:
    assert read_hours(text) == hours


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("eight", "“eight” is no number of hours"),
        ("1,000.5", "is no number of hours"),
        ("nan", "is no number of hours"),
        ("inf", "is no number of hours"),
        ("1e3", "is no number of hours"),
        (".", "is no number of hours"),
        ("-", "is no number of hours"),
        ("٣", "is no number of hours"),
        ("-3", "less than no hours"),
        ("\N{MINUS SIGN}3", "less than no hours"),
        (str(MOST_HOURS + 1), "more than a plan can look ahead"),
    ],
)
def test_hours_that_cannot_be_are_answered_in_one_sentence(text: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        read_hours(text)
    assert said in str(refused.value)
    assert str(refused.value).endswith(".")


FRANCS = replace(LOT, currency="CHF")
FREE = replace(GUIDE, values=Values(0, 0, 0), values_of={})


@pytest.mark.parametrize(
    ("stories", "change", "said"),
    [
        pytest.param((), {}, "There is no unit in SM-07 yet", id="an empty lot"),
        pytest.param((Story(a_unit(1, becomes="sold")),), {}, "has become something", id="all of it sold"),
        pytest.param((Story(a_unit(1)),), {}, "begin with SM-07-01.", id="nothing tested"),
        pytest.param((worn(1),), {"guide": FREE}, "No unit of SM-07 brings anything at your prices", id="no prices"),
        pytest.param((worn(1),), {"lot": FRANCS}, "CHF and your prices are in EUR", id="currency"),
    ],
)
def test_where_there_is_nothing_to_plan_one_sentence_says_why(
    stories: tuple[Story, ...], change: dict[str, object], said: str
) -> None:
    with pytest.raises(InputError) as refused:
        of_stories(*stories, **change)  # type: ignore[arg-type]
    assert said in str(refused.value)


def test_a_lot_without_donors_is_planned_and_says_so() -> None:
    lot = of_stories(worn(1))
    assert "No unit is worth giving up for its parts." in told_of(lot, solve(lot.problem, 8.0)).notes


# --- in words -------------------------------------------------------------------------------------------------

PRICES = Values(3200, 1100, 700)
DEED = Deed("replace sensor", "replace the sensor", "a", 1.0)


def needs(n: int, part: str, minutes: float, gives: tuple[str, ...] = (), new: int | None = None) -> Candidate:
    deed = replace(DEED, part=part)
    way = Way("repair", minutes, ready=0.9, as_is=0.08, as_parts=0.02, pieces=(Piece(part, 1.0, new),), does=(deed,))
    return Candidate(str(n), f"SM-07-{n:02d}", "Plover T2", PRICES, (SELL, give_up(), way), gives)


def put(*candidates: Candidate, shelf: tuple[Batch, ...] = ()) -> LotProblem:
    units = tuple(a_unit(int(c.unit_id)) for c in candidates)
    return LotProblem(LOT, Problem(candidates, shelf, 1200), units)


def test_a_donor_comes_before_the_unit_that_it_gives_to_and_quick_repairs_before_slow_ones() -> None:
    ready = Candidate("5", "SM-07-05", "Plover T2", PRICES, (Way("ready", ready=1.0),))
    lot = put(needs(1, "a", 40), needs(2, "board", 90, ("a",)), needs(3, "c", 20, new=100), ready)
    found = tasks_of(lot, solve(lot.problem, None))
    assert [(t.unit.id, t.kind) for t in found] == [("5", "ready"), ("3", "repair"), ("2", "donor"), ("1", "repair")]
    assert [t.parts for t in found] == ["", "new", "a for SM-07-01", "SM-07-02"]


def test_the_sentences_of_a_plan_by_hand() -> None:
    """0.9 · 32.00 + 0.08 · 11.00 + 0.02 · 7.00 = 29.82; 30 min at 12.00 an hour are 6.00, the part is 1.00."""
    lot = put(needs(1, "a", 30, new=100), needs(2, "b", 300))
    told = list(worked_out(lot, 2.0))[-1]
    assert told.verdict == (
        "Of 2 h it takes 0.5: 1 repaired and 1 sold as it is. It should bring €\u00a033.82, €\u00a011.82 more than "
        "without work."
    )
    assert (told.quality, told.hour) == ("No other plan brings more.", "One more hour would bring nothing more.")
    assert told.notes[0] == "To buy: a (replace the sensor) for SM-07-01."
    assert told.tasks[0].told == (
        "SM-07-01: a: replace the sensor. Ready in 90\u00a0%, sold as it is in 8\u00a0%, for parts in 2\u00a0%; "
        "€\u00a011.82 more than as it is. Parts: a new, €\u00a01.00."
    )
    assert told.tasks[1].told == "SM-07-02: no repair of it is worth its hours and parts in this plan."


def test_the_price_of_one_more_hour_is_what_the_plan_brings_more_with_it() -> None:
    """Two repairs of an hour each, and one hour: the second brings 29.82 − 12.00 − 1.00 − 11.00 = 5.82 more."""
    lot = put(needs(1, "a", 60, new=100), needs(2, "a", 60, new=100))
    assert list(worked_out(lot, 1.0))[-1].hour == "One more hour would bring €\u00a05.82 more, after what it costs."
    assert list(worked_out(lot, None))[-1].hour == "", "without a bound on the hours none is dear"


def test_what_a_price_changes_is_worked_out_anew() -> None:
    """A repair that brings 0.62 more than without it; a ready unit for 10 % less brings 2.88 less."""
    lot = put(needs(1, "a", 86, new=100))
    moves = {m.what: m for m in list(worked_out(lot, 8.0))[-1].moves}
    assert moves["ready units bring 10 % less"].changes == "SM-07-01: as it is instead of repair"
    assert moves["ready units bring 10 % more"].changes == "nothing"
    assert move_cells(moves["ready units bring 10 % less"], "EUR")[1] == "11.00"
    assert len(moves) == 6
    for key in ("ready_minor", "as_is_minor", "parts_minor"):
        moved = solve(with_price(lot.problem, key, 1.1), 8.0)
        assert any(m.plan.value == pytest.approx(moved.value) for m in moves.values())


def test_another_course_of_the_same_unit_is_a_change_too() -> None:
    lot = put(needs(1, "a", 30, new=100))
    unit = lot.problem.units[0]
    more = replace(unit, ways=(*unit.ways, replace(unit.ways[2], minutes=29.0)))
    problem = replace(lot.problem, units=(more,))
    before, now = solve(problem, 8.0), solve(problem, 8.0)
    assert changes(before, now) == "nothing"
    assert changes(replace(before, ways=(2,)), now) == "SM-07-01: another repair"


def test_one_that_is_not_the_best_says_how_much_could_be_missing() -> None:
    lot = put(needs(1, "a", 30, new=100))
    plan = solve(lot.problem, 8.0)
    short = replace(plan, bound=plan.value + 320)
    assert quality(lot, short) == "The best so far; another plan could bring up to €\u00a03.20 more."
    assert stopped(told_of(lot, short)).quality.startswith("Stopped. The best so far; another plan")
    assert stopped(told_of(lot, plan)).quality == "No other plan brings more."
    assert "not known yet" in quality(lot, replace(plan, bound=float("inf")))
    assert changes(short, plan) == "not worked out to the end"


@pytest.mark.parametrize("seed", range(4))
def test_every_unit_stands_in_it_once_and_what_they_bring_adds_up(seed: int) -> None:
    problem = a_lot(random.Random(seed), 20)
    units = tuple(Unit(c.unit_id, c.tag, c.model) for c in problem.units)
    lot = LotProblem(LOT, problem, units)
    plan = solve(problem, 6.0)
    found = tasks_of(lot, plan)
    assert sorted(t.unit.id for t in found) == sorted(u.id for u in units)
    assert sum(t.brings_minor for t in found) == pytest.approx(plan.value)
    assert sum(t.minutes for t in found) == pytest.approx(plan.minutes)


def test_as_lines_it_has_every_unit_and_every_move() -> None:
    lot = put(needs(1, "a", 30, new=100), needs(2, "b", 300))
    told = list(worked_out(lot, 2.0))[-1]
    text = "\n".join(lines_of(told))
    assert "1. SM-07-01: a: replace the sensor. Ready in" in text
    assert "2. SM-07-02: Sell it as it is" in text
    assert "ready units bring 10 % less: €" in text
