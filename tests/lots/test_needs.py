"""From the records of a lot to what each unit needs."""

from __future__ import annotations

from station.diagnosis.guide import load_guide
from station.lots.needs import need_of
from station.lots.planner import plan_donors
from station.records.types import Unit
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()
SENSOR = "Left stick sensor, horizontal"


def a_unit(n: int) -> Unit:
    return Unit(str(n), f"SM-07-{n:02d}", "Plover T2")


def worn(n: int) -> Story:
    """A noisy track that cleaning did not help."""
    story = Story(a_unit(n)).check("sweep", "left_stick", *noisy())
    return story.treat("clean the sensor", SENSOR).check("sweep", "left_stick", *noisy())


def dead_board(n: int) -> Story:
    return (
        Story(a_unit(n)).check("contact", "left_shoulder", "crosstalk").check("contact", "right_shoulder", "crosstalk")
    )


def test_a_unit_needs_its_likely_bad_part_and_has_the_others():
    need = need_of(worn(1).history, SHEET, GUIDE)
    assert need is not None
    assert need.parts == (SENSOR,)
    assert SENSOR not in need.has
    assert {"Right stick sensor, horizontal", "Left shoulder contact", "Left trigger spring"} <= set(need.has)
    assert need.mended > need.as_is >= GUIDE.values.as_is_minor
    assert need.as_donor == GUIDE.values.parts_minor


def test_a_sound_unit_needs_nothing():
    assert need_of(Story().check("sweep", "left_stick").history, SHEET, GUIDE) is None


def test_a_unit_that_is_not_worth_its_repair_gives_its_sensor_to_another():
    needs = [need_of(worn(1).history, SHEET, GUIDE), need_of(dead_board(2).history, SHEET, GUIDE)]
    found = [n for n in needs if n is not None]
    plan = plan_donors(found)
    assert (plan.donors, plan.mend) == (("2",), ("1",))
    assert plan.value > plan.plain
