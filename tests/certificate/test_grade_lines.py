"""The grade on a certificate: in the headline, with its limits, and as it was on that day."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from station.app.commands.verify import as_text
from station.certificate.content import build_certificate, to_json
from station.certificate.page import render_pdf
from station.certificate.types import Certificate
from station.certificate.unpack import read_pdf
from station.checks.house import Grade, House
from station.checks.types import Assessment, Outcome, Reading
from station.judgement.limits import standard
from station.records.types import Result
from station.sheets.model import Sheet
from tests.certificate import sample_history as sample
from tests.certificate.signed import KEY, judged

HOUSE = House(
    {**standard().limits, "rest": {**standard().limits["rest"], "offset": (4.0, 8.0)}},
    (
        Grade("as new", {"rest": {"offset": (1.0, 3.0)}}),
        Grade("shelf A", {"rest": {"offset": (2.5, 5.0)}}),
        Grade("as is", faults=True),
    ),
    {"rest": {"offset": (4.0, 8.0)}},
    own_grades=True,
)


RIM = Reading("least_reach", 97.0, "%", 0.5, 92.0, 85.0, ">=")


def rim(*readings: Reading) -> Result:
    """The check that the history leaves out."""
    done = Assessment(Outcome.PASS, readings)
    return Result("r6", "v2", "rim", "left_stick", 1, "2026-03-09T09:05:00Z", done, "ef" * 32, clock="process")


def graded(house: House | None = HOUSE, sheet: Sheet = sample.SHEET, steps=sample.STEPS) -> Certificate:
    """The sample unit with its rim tested too."""
    told = sample.make_history()
    more = rim(RIM)
    return build_certificate(
        replace(told, results=(*told.results, more)),
        steps,
        sheet,
        number="8D9E0F-00042",
        issued_at="2026-03-09T10:00:00Z",
        bench="bench 1",
        person="Ines",
        house=house,
    )


def text_of(certificate: Certificate) -> str:
    return " ".join(" ".join(read_pdf(render_pdf(certificate, KEY)).pages).replace("\N{NO-BREAK SPACE}", " ").split())


def test_the_headline_names_the_grade():
    assert graded().standing.headline == "Passed, the shop's own grade “shelf A”"


def test_the_signed_content_carries_the_grade_and_every_limit_of_it():
    grade = json.loads(to_json(graded()))["certificate"]["grade"]
    assert (grade["name"], grade["said"], grade["scale"], grade["faults"]) == ("shelf A", "shelf A", "shop", False)
    assert grade["kept_from"].startswith("not “as new”: left stick, at rest: off centre 1.20 ± 0.31")
    limits = {(one["check"], one["reading"]): one for one in grade["limits"]}
    offset, reach = limits["rest", "offset"], limits["rim", "least_reach"]
    assert (offset["limit"], offset["fail_beyond"], offset["rule"], offset["origin"]) == (2.5, 5.0, "<=", "grade")
    assert (reach["limit"], reach["fail_beyond"], reach["rule"], reach["origin"]) == (92.0, 85.0, ">=", "shipped")
    assert not [check for check, _ in limits if check not in {step.check for step in sample.STEPS}]


def test_the_pages_print_the_grade_its_limits_and_where_limits_come_from(qapp):
    sheet = replace(sample.SHEET, limits={"rim": {"least_reach": (92.0, 85.0)}})
    said = text_of(graded(sheet=sheet))
    for words in (
        "Passed, the shop's own grade “shelf A”",
        "Shelf A (the shop's own grade); not “as new”: left stick, at rest: off centre 1.20 ± 0.31 %, "
        "should be at most 1 %",
        "Grade “shelf A” and its limits",
        "The grades are the shop's own.",
        "off centre ≤ 2.5 · fails > 5 % · grade",
        "≥ 92 · fails < 85 · sheet",
    ):
        assert words in said
    checked = judged(render_pdf(graded(), KEY))
    assert checked.says["grade"] == "shelf A"
    assert "the shop's own grade “shelf A”" in as_text(Path("x.pdf"), checked)


def test_a_shops_grade_that_is_called_like_one_that_ships_is_said_to_be_the_shops(qapp):
    own = House(HOUSE.limits, (Grade("as new", faults=True),), own_grades=True)
    made = graded(own)
    assert made.standing.headline == "Passed, the shop's own grade “as new”"
    first = " ".join(read_pdf(render_pdf(made, KEY)).pages[:2]).replace("\N{NO-BREAK SPACE}", " ")
    assert "As new (the shop's own grade)" in " ".join(first.split())
    assert "the shop's own grade “as new”" in as_text(Path("x.pdf"), judged(render_pdf(made, KEY)))
    shipped = graded(replace(own, own_grades=False))
    assert shipped.standing.headline == "Passed, grade “as new”"
    assert "the shop's own" not in as_text(Path("x.pdf"), judged(render_pdf(shipped, KEY)))


def test_a_limit_that_is_in_force_no_more_is_marked():
    block = graded().controls[0]
    rest = next(line for line in block.lines if line.check == "rest")
    assert dict(zip((r.name for r in rest.readings), rest.origins, strict=True))["offset"] == "shipped"
    assert dict(zip((r.name for r in rest.readings), rest.origins, strict=True))["noise_pp_x"] == "earlier"
    assert dict(zip((r.name for r in rest.readings), rest.origins, strict=True))["offset_x"] == ""


def test_the_grade_of_faults_has_no_limits_and_says_so(qapp):
    c = graded(replace(HOUSE, grades=HOUSE.grades[:1] + HOUSE.grades[2:]))
    assert c.grade is not None
    assert (c.grade.name, c.grade.limits) == ("as is", ())
    assert "accepts what is outside its limits" in text_of(c)


NO_GRADE = {
    "limits cannot be used": (replace(HOUSE, problem="line 3"), sample.STEPS, "not graded: the shop's limits"),
    "not all tested": (HOUSE, None, "not graded: 1 of 5 not tested"),
}


@pytest.mark.parametrize(("house", "steps", "said"), NO_GRADE.values(), ids=NO_GRADE)
def test_without_a_grade_none_is_claimed(qapp, house: House, steps, said: str):
    made = graded(house) if steps else build_certificate(
        sample.make_history(), sample.STEPS, sample.SHEET, number="8D9E0F-00042", issued_at="2026-03-09T10:00:00Z",
        bench="b", person="p",
        house=house,
    )  # fmt: skip
    assert made.grade is not None
    assert (made.grade.name, made.grade.limits) == ("", ())
    assert made.grade.said.startswith(said)
    assert "grade" not in made.standing.headline
    assert "its limits" not in text_of(made)
    unusable = "The shop's own limits could not be used when this certificate was written" in " ".join(made.deviations)
    assert unusable == bool(house.problem)


STRICTER = Grade("as new", {"rest": {"offset": (2.0, 3.0)}}, second_test=True)
FAULTS_TOO = replace(HOUSE, grades=(STRICTER, HOUSE.grades[2]))
NO_SECOND = {"visits": sample.make_history().visits[:1]}
OPEN = {
    "its second test is to come": (rim(RIM), NO_SECOND, "the second test is still due"),
    "called good, and never measured": (rim(), {}, "1 of 5 not tested"),
}


@pytest.mark.parametrize(("more", "changes", "why"), OPEN.values(), ids=OPEN)
def test_what_is_incomplete_has_no_grade(qapp, more: Result, changes: dict[str, object], why: str):
    """The annex said “Grade: sold with faults” and “All that was asked for was tested” below a headline that said
    “Incomplete”, and no fault."""
    told = sample.make_history()
    history = replace(told, results=(*told.results, more), **changes)
    made = build_certificate(
        history, sample.STEPS, sample.SHEET, number="8D9E0F-00042", issued_at="2026-03-09T10:00:00Z", bench="b",
        person="p", house=FAULTS_TOO,
    )  # fmt: skip
    assert made.standing.headline.startswith("Incomplete: ")
    assert made.grade is not None
    assert (made.grade.name, made.grade.kept_from, made.grade.limits) == ("", "", ())
    assert made.grade.said == f"not graded: {why}"
    said = text_of(made)
    assert f"Not graded: {why}" in said
    assert "All that was asked for was tested" not in said


def test_what_the_shop_changes_later_leaves_a_certificate_as_it_was():
    before = to_json(graded())
    later = replace(HOUSE, grades=(Grade("as new"), *HOUSE.grades[1:]))
    assert json.loads(to_json(graded(later)))["certificate"]["grade"]["name"] == "as new"
    assert to_json(graded()) == before
