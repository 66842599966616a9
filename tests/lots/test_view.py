"""A small invented lot as one picture: its sums by hand, the order of the work, who gives parts to whom."""

from __future__ import annotations

from dataclasses import replace

import pytest
from statsmodels.stats.proportion import proportion_confint

from station.diagnosis.guide import Guide, Values, load_guide
from station.lots.outlook import UnitOutlook, outlook_of
from station.lots.planner import Gift, Need, gifts, plan_donors, worth_of
from station.lots.shares import cured_by_cleaning, passed_intake, share
from station.lots.view import DONOR, NOWHERE, SHELF, LotView, lot_view
from station.records.types import Lot, ShelfPart, Treatment, Unit, UnitHistory, Visit
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

SHIPPED = load_guide()
CONTACT = next(r for r in SHIPPED.suspects if r.role == "contact")
CLEAN = next(m for m in SHIPPED.treatments if m.kind == "clean from outside")
GUIDE: Guide = replace(
    SHIPPED,
    suspects=(CONTACT,),
    treatments=(replace(CLEAN, minutes=10, cost_minor=100, harm=0.0, cures={"contact": (1.0, 1.0)}),),
    values=Values(3000, 1000, 400),
    values_of={},
    hour_minor=1200,
    test_minutes=5,
)
"""One suspect, one treatment. By hand, in cents: a minute costs 1200/60 = 20; one cure of one try on top of the
Jeffreys start is (1 + ½)/(1 + 1) = ¾; a try costs 10·20 + 100, its test 5·20; so going on brings
¾·3000 + ¼·1000 − 300 − 100 = 2100, stopping 1000: a gain of 1100."""
LOT = Lot("l", "SM-07", "2026-03-02", cost_minor=6000)
SENSOR = "Left stick sensor, horizontal"


def a_unit(n: int, becomes: str = "open", **other: object) -> Unit:
    return Unit(str(n), f"SM-07-{n:02d}", "Plover T2", "l", becomes=becomes, **other)  # type: ignore[arg-type]


def finished(story: Story) -> UnitHistory:
    """The story with its visit ended."""
    found = story.history
    return replace(found, visits=tuple(replace(v, finished_at="2026-03-06T10:30:00.000Z") for v in found.visits))


def outlook(story: Story, guide: Guide = GUIDE, **other: object) -> UnitOutlook:
    return outlook_of(finished(story), SHEET, guide, today="2026-03-06", **other)  # type: ignore[arg-type]


def small_lot() -> list[UnitOutlook]:
    sold = Story(a_unit(1, "sold", sold_minor=2900)).treat("clean from outside", minutes=10, cost_minor=40)
    ready = Story(a_unit(2, "ready")).check("contact", "left_shoulder")
    sound = Story(a_unit(3)).check("contact", "left_shoulder")
    untested = Story(a_unit(4))
    faulty = Story(a_unit(5)).check("light", "left_shoulder", "misses")
    return [outlook(s) for s in (sold, ready, sound, untested, faulty)]


def test_the_sums_of_a_small_lot_by_hand():
    view = lot_view(LOT, small_lot(), (), GUIDE)
    money = view.money
    assert (money.paid, money.materials, money.minutes, money.labour) == (6000, 40, 10, 200)
    assert (money.sold, money.sold_units) == (2900, 1)
    assert money.result == 2900 - 6000 - 40 - 200 == -3340
    assert money.expected == 3000 + 3 * 1000, "one ready, three as they stand"
    assert money.outlook == 6000 - 3340 == 2660
    assert view.with_work == 2660 + (3000 - 1000) + 1100, "the sound one is called ready, the faulty one is treated"
    assert view.verdict() == (
        "The lot should pay: €\u00a033.40 are still out, and what is still here should bring €\u00a060.00."
    )


@pytest.mark.parametrize(
    ("cost", "start"),
    [
        pytest.param(1000, "The lot has paid: €\u00a016.60 above all its costs, and what is still here", id="paid"),
        pytest.param(6000, "The lot should pay: €\u00a033.40 are still out", id="should pay"),
        pytest.param(
            10_000,
            "The lot pays only with the work below: €\u00a013.40 short as it stands, €\u00a017.60 above",
            id="with work",
        ),
        pytest.param(
            13_000,
            "The lot does not pay: €\u00a043.40 short as it stands, and still €\u00a012.40 short with the work",
            id="no",
        ),
    ],
)
def test_one_sentence_says_whether_it_pays(cost: int, start: str):
    assert lot_view(replace(LOT, cost_minor=cost), small_lot(), (), GUIDE).verdict().startswith(start)


def test_what_is_worth_most_comes_first_then_what_must_be_tested_to_know():
    rows = lot_view(LOT, small_lot(), (), GUIDE).work
    assert [(r.unit.tag, r.step.title, r.step.gain_minor) for r in rows] == [
        ("SM-07-03", "Call it ready", 2000),
        ("SM-07-05", "Left shoulder contact: clean from outside", 1100),
        ("SM-07-04", "Test it: intake", None),
    ]
    assert [r.step.minutes for r in rows] == [0, 10, 0]


def test_with_the_guide_that_ships_the_surest_repair_comes_first_and_the_hopeless_unit_last():
    easy = Story(a_unit(1)).check("sweep", "left_stick", *noisy())
    doubtful = Story(a_unit(2)).check("rest", "left_stick", "offset")
    sold = Story(a_unit(4, "sold", sold_minor=1)).check("sweep", "left_stick", *noisy())
    stories = (doubtful, dead_board(3), easy, sold)
    rows = lot_view(LOT, [outlook(s, SHIPPED) for s in stories], (), SHIPPED).work
    assert [r.unit.tag for r in rows] == ["SM-07-01", "SM-07-02", "SM-07-03"]
    assert rows[-1].step.title.startswith("Stop")


@pytest.mark.parametrize(
    ("story", "unit", "title"),
    [
        pytest.param(Story().check("rest", "left_stick", "offset").treat("adjust"), {}, "Test it again", id="treated"),
        pytest.param(
            Story().check("rest", "left_stick"), {"rest_until": "2026-03-09"}, "Let it rest until 2026-03-09", id="rest"
        ),
        pytest.param(Story().check("rest", "left_stick"), {"rest_until": "2026-03-06"}, "Second test", id="rested"),
        pytest.param(Story().check("rest", "left_stick"), {}, "Call it ready", id="sound"),
    ],
)
def test_the_next_step_of_a_unit_that_needs_no_treatment(story: Story, unit: dict[str, str], title: str):
    found = replace(finished(story), unit=replace(a_unit(1), **unit))  # type: ignore[arg-type]
    step = outlook_of(found, SHEET, GUIDE, today="2026-03-06").step
    assert step is not None
    assert step.title == title


def test_a_visit_that_is_not_finished_goes_on_first():
    step = outlook_of(Story().check("rest", "left_stick", "offset").history, SHEET, GUIDE).step
    assert step is not None
    assert step.title == "Go on with its visit"


def test_what_nobody_wrote_down_is_said():
    lot = replace(LOT, cost_minor=0, currency="CHF")
    sold = outlook(Story(a_unit(1, "sold")).treat("adjust", cost_minor=50, currency="USD"))
    said = " ".join(lot_view(lot, [sold, outlook(Story(a_unit(2)))], (), GUIDE).missing)
    for words in (
        "no purchase price",
        "without a price: SM-07-01",
        "in CHF",
        "Materials in USD",
        "first: 1 of 2 units",
    ):
        assert words in said


def test_without_a_price_no_word_is_said_of_paying():
    said = lot_view(replace(LOT, cost_minor=0), small_lot(), (), GUIDE).verdict()
    assert said == "No purchase price is written down, so nobody can say whether the lot pays."


@pytest.mark.parametrize(
    ("cost", "said"),
    [
        (6000, "So far the lot is CHF\u00a031.40 short of its costs"),
        (1000, "So far the lot is CHF\u00a018.60 above its costs"),
    ],
)
def test_a_guide_in_another_currency_is_kept_out_of_the_sentence(cost: int, said: str):
    """By hand: 29.00 − 60.00 − 0.40 of materials in francs; minutes have no price in francs."""
    lots = [replace(o, treatments=tuple(replace(t, currency="CHF") for t in o.treatments)) for o in small_lot()]
    view = lot_view(replace(LOT, currency="CHF", cost_minor=cost), lots, (), GUIDE)
    assert view.verdict() == f"{said}; what is still here is not counted."
    assert (view.guide_currency, view.with_work) == ("EUR", view.money.result)


def test_an_empty_lot_says_so():
    view = lot_view(LOT, [], (), GUIDE)
    assert view.verdict() == "There is no unit in this lot yet."
    assert (view.work, view.donors, view.parts, view.intake) == ((), (), (), None)


# --- donors and parts ----------------------------------------------------------------------------------------


def worn(n: int) -> Story:
    """A noisy track that cleaning did not help."""
    story = Story(a_unit(n)).check("sweep", "left_stick", *noisy())
    return story.treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy())


def dead_board(n: int) -> Story:
    story = Story(a_unit(n)).check("sweep", "left_stick")
    return story.check("contact", "left_shoulder", "crosstalk").check("contact", "right_shoulder", "crosstalk")


def picture(shelf: tuple[ShelfPart, ...] = (), board: str = "open") -> LotView:
    broken = dead_board(2)
    broken.unit = replace(broken.unit, becomes=board)
    return lot_view(LOT, [outlook(s, SHIPPED, shelf=shelf) for s in (worn(1), broken)], shelf, SHIPPED)


def test_a_donor_is_proposed_with_whom_it_serves_and_what_is_known_of_its_parts():
    (proposal,) = picture().donors
    assert (proposal.unit.tag, proposal.reason()) == ("SM-07-02", f"gives {SENSOR} to SM-07-01")
    assert proposal.gain_minor > 0
    tested = {p.name: p.tested for p in proposal.gives}
    assert tested[SENSOR], "its left stick was tested"
    assert not tested["Right stick sensor, horizontal"], "its right stick was not"
    assert [p.name for p in proposal.gives if p.listed] == [SENSOR]
    assert [(p.unit.tag, p.part, p.where, p.giver) for p in picture().parts if p.part == SENSOR] == [
        ("SM-07-01", SENSOR, DONOR, "SM-07-02")
    ]


def test_once_the_part_is_on_the_shelf_the_waiting_unit_says_so():
    view = picture((ShelfPart("p", SENSOR, "Plover T2", 1, "2"),), board="donor")
    assert view.donors == ()
    assert [(p.unit.tag, p.part, p.where, p.giver, p.count) for p in view.parts] == [
        ("SM-07-01", SENSOR, SHELF, "SM-07-02", 1)
    ]
    (row,) = view.work
    assert row.step.part == SENSOR
    assert row.part_here


def test_a_part_that_is_nowhere_is_said_to_be_nowhere():
    view = lot_view(LOT, [outlook(worn(1), SHIPPED)], (), SHIPPED)
    assert [(p.part, p.where) for p in view.parts] == [(SENSOR, NOWHERE)]


def a_need(n: int, parts: tuple[str, ...], has: tuple[str, ...], mended: int) -> Need:
    return Need(str(n), f"SM-07-{n:02d}", "Plover T2", parts, has, mended, 1100, 700)


def test_parts_come_from_the_shelf_first_and_a_donor_is_worth_what_it_adds():
    """By hand: 1 and 2 are mended (2600 each) with a from the shelf and b of unit 3, which brings 700; without unit 3
    only the unit that needs a is mended: 2600 + 1100 + 1100."""
    needs = [a_need(1, ("a",), (), 2600), a_need(2, ("b",), (), 2600), a_need(3, ("c",), ("a", "b"), 1000)]
    shelf = {("Plover T2", "a"): 1}
    plan = plan_donors(needs, shelf)
    assert gifts(needs, plan, shelf) == [Gift("a", "1", ""), Gift("b", "2", "3")]
    assert worth_of(needs, plan, "3", shelf) == (2600 + 2600 + 700) - (2600 + 1100 + 1100)


# --- shares --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("k", "n"), [(0, 4), (3, 12), (7, 9), (12, 12)])
def test_a_share_has_the_wilson_interval_of_statsmodels(k: int, n: int):
    found = share([True] * k + [False] * (n - k) + [None, None])
    assert found is not None
    low, high = proportion_confint(k, n, alpha=0.05, method="wilson")
    assert (found.k, found.n) == (k, n)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-12)


def test_a_share_in_words_and_of_nothing():
    found = share([True] * 3 + [False] * 9)
    assert found is not None
    assert found.words() == "3 of 12 (9–53 %)"
    assert share([None]) is None


def cleaned(*kinds: str, good: bool = True) -> UnitHistory:
    story = Story().check("light", "left_shoulder", "misses")
    for kind in kinds:
        story.treat(kind)
    story.check("light", "left_shoulder", *(() if good else ("misses",)))
    return finished(story)


@pytest.mark.parametrize(
    ("history", "wanted"),
    [
        pytest.param(cleaned("clean from outside"), True, id="cleaning helped"),
        pytest.param(cleaned("clean from outside", "open and clean"), True, id="the second helped"),
        pytest.param(cleaned("open and clean", good=False), False, id="it did not"),
        pytest.param(cleaned("replace sensor"), None, id="it was not cleaned"),
        pytest.param(cleaned("open and clean", "replace sensor"), None, id="replaced before it was tested"),
        pytest.param(finished(Story().check("light", "left_shoulder").treat("open and clean")), None, id="was sound"),
    ],
)
def test_cured_by_cleaning_alone(history: UnitHistory, wanted: bool | None):
    assert cured_by_cleaning(history) is wanted


def test_passing_at_intake_is_about_the_finished_intake_alone():
    story = Story().check("light", "left_shoulder", "misses").check("light", "left_shoulder")
    assert passed_intake(story.history) is None
    assert passed_intake(finished(story)) is True, "the last try counts"
    later = replace(story.results[0], visit_id="w", at="2026-03-08T10:00:00.000Z")
    after = Visit("w", story.unit.id, "after rest", 2, later.at, later.at)
    found = finished(story)
    assert passed_intake(replace(found, visits=(*found.visits, after), results=(*found.results, later))) is True


def test_a_treatment_in_another_currency_is_left_out_of_the_sum():
    sold = outlook(Story(a_unit(1, "sold", sold_minor=100)))
    sold = replace(sold, treatments=(Treatment("t", "1", "adjust", "", cost_minor=999, currency="USD"),))
    assert lot_view(LOT, [sold], (), GUIDE).money.materials == 0


@pytest.mark.usefixtures("german_screen")
def test_its_money_is_written_as_the_system_writes_it():
    said = lot_view(replace(LOT, cost_minor=123_456), small_lot(), (), GUIDE).verdict()
    # by hand: 26.60 of the outlook with 60.00 paid, 1,174.56 more paid; the work brings 31.00
    assert said == (
        "The lot does not pay: 1.147,96\u00a0€ short as it stands, and still 1.116,96\u00a0€ short with the work below."
    )


@pytest.mark.parametrize("pieces", [0, 1, 2, 3])
def test_a_piece_on_the_shelf_is_there_for_one_unit_only(pieces: int):
    """Two units that needed the same part were both told that it was there."""
    shelf = (ShelfPart("p", SENSOR, "Plover T2", pieces),)
    view = lot_view(LOT, [outlook(worn(n), SHIPPED, shelf=shelf) for n in (1, 2)], shelf, SHIPPED)
    assert [row.step.part for row in view.work] == [SENSOR, SENSOR]
    assert sum(row.part_here for row in view.work) == min(pieces, 2)
    assert {row.unit.tag for row in view.work if row.part_here} == {p.unit.tag for p in view.parts if p.where == SHELF}
    assert sum(p.where == NOWHERE for p in view.parts) == 2 - min(pieces, 2)


def test_pieces_of_two_entries_on_the_shelf_are_handed_out_one_by_one():
    shelf = (ShelfPart("p", SENSOR, "Plover T2", 1, "8"), ShelfPart("q", SENSOR, "", 1, "9"))
    view = lot_view(LOT, [outlook(worn(n), SHIPPED, shelf=shelf) for n in (1, 2, 3)], shelf, SHIPPED)
    assert [row.part_here for row in view.work] == [True, True, False]
