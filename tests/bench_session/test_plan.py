"""The plan of a visit: which checks, in which order."""

from __future__ import annotations

from station.bench.plan import plan
from station.bench.types import Step
from station.sheets.model import Control, Place, Sheet
from tests.bench_session.bench_fakes import SHEET


def words(steps: tuple[Step, ...]) -> list[str]:
    return [f"{step.control}.{step.check}" for step in steps]


def test_a_visit_goes_zone_by_zone_and_ends_with_what_is_asked() -> None:
    assert words(plan(SHEET)) == [
        *("left.contact", "left.light", "left.hold", "right.contact", "right.light", "right.hold"),
        *("stick.rest", "stick.letgo", "stick.travel", "stick.rim", "stick.sweep"),
        *("paddle.contact", ".together", ".link", ".charge", ".smell", ".quiet"),
    ]


def test_steps_carry_the_words_that_are_shown() -> None:
    steps = plan(SHEET)
    assert steps[1] == Step("light", "left", "Light press", "Left shoulder", "top")
    assert steps[-4] == Step("link", "", "Link", "Whole unit", "whole unit")
    assert steps[-3] == Step("charge", "", "Charge", "Whole unit", "whole unit", True, ("V",))
    assert steps[-2] == Step("smell", "", "Smell", "Whole unit", "whole unit", True)
    assert steps[-1] == Step("quiet", "", "Quiet", "Whole unit", "whole unit", watches=True)


def test_within_a_zone_sticks_come_before_triggers_buttons_and_hats() -> None:
    kinds = ("hat", "button", "trigger", "battery")
    controls = tuple(Control(kind, kind, kind, "top", at=Place(0x90001)) for kind in kinds)  # type: ignore[arg-type]
    sheet = Sheet("s", controls=(*controls, Control("back", "button", "b", "back", at=Place(0x90002))))
    assert words(plan(sheet))[:5] == [
        *("trigger.trigger", "button.contact", "button.light", "button.hold", "hat.hat"),
    ]  # fmt: skip
    assert "battery." not in " ".join(words(plan(sheet)))


def test_every_kind_of_visit_has_the_full_plan() -> None:
    assert plan(SHEET, "final") == plan(SHEET, "intake")
