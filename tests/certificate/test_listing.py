"""The text of an offer: what the template may name, and what it says."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from PySide6.QtGui import QImage

from station.app.offers import offer_of
from station.certificate.content import to_json
from station.certificate.listing import FIELDS, TEMPLATE, facts_of, listing_text
from station.certificate.page import render_pdf
from station.certificate.pictures import SIDE_PX, dials_in
from station.certificate.types import ControlLine, Dial
from station.checks.types import Outcome
from station.errors import InputError
from tests.certificate.signed import KEY
from tests.certificate.test_content import certificate

CONTENT = to_json(replace(certificate(), contact="bench@mill-lane.example"))
FACTS = facts_of(CONTENT, KEY.fingerprint)
DIALS = (
    Dial(
        "left_stick", "Left stick", (1.2, -0.4), 5.0, 95.0, (99.0,) * 71 + (float("nan"),), ((0.5, 0.5),), "off centre"
    ),
    Dial("right_stick", "Right stick", None, None, None),
)


def test_every_field_is_filled_from_the_certificate():
    assert set(FACTS) == set(FIELDS)
    assert [name for name in FIELDS if not FACTS[name]] == ["grade", "faults", "faults_besides"]
    assert FACTS["page"] == "the page check.html, which comes with it"  # “check.html#…” read like a link to a web site


def test_the_text_that_ships_says_what_was_tested_and_how_to_check_it():
    assert listing_text(FACTS) == (
        "Plover T2 – Incomplete: 1 of 5 checks not tested\n"
        "Tested: Left stick (1 of 2 checks not tested), Left shoulder, whole unit\n"
        "Not tested: Left stick, round the rim\n"
        "Done to it: clean the sensor, Left stick sensor, horizontal\n"
        f"Test certificate {FACTS['number']} of 2026-03-09 by bench 1\n"
        "Questions: bench@mill-lane.example\n"
        f"Check it yourself: {FACTS['page']}, fingerprint {KEY.fingerprint}\n"
    )


def test_a_shop_that_gives_no_contact_leaves_no_comma_behind():
    told = listing_text(facts_of(to_json(replace(certificate(), contact="")), KEY.fingerprint))
    assert "of 2026-03-09 by bench 1\n" in told
    assert "Questions" not in told


def listed(**changes: object) -> dict[str, str]:
    return facts_of(to_json(replace(certificate(), **changes)), "")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("rests 5.2 % off centre, to the right", "Left stick (near the limit: rests 5.2 % off centre, to the right)"),
        ("", "Left stick (near the limit)"),
        ("near the limit; 1 of 2 checks not tested", "Left stick (near the limit; 1 of 2 checks not tested)"),
    ],
)
def test_a_control_near_its_limit_is_told_as_that(said: str, told: str):
    """It stood among the tested ones as if it had passed."""
    assert listed(summary=(ControlLine("Left stick", Outcome.BORDERLINE, said),))["tested"] == told


def test_checks_that_are_older_than_the_work_are_told_as_not_tested():
    c = certificate()
    line = replace(c.controls[0].lines[0], title="At rest", older="older than the cleaning on 2026-03-08")
    told = listed(not_tested=("Look",), controls=(replace(c.controls[0], name="Left stick", lines=(line,)),))
    assert told["not_tested"] == "Look; Left stick, at rest (not since the work on it)"


@pytest.mark.parametrize(("kind", "said"), [("passed", "no fault found"), ("incomplete", "")])
def test_no_fault_is_claimed_only_of_what_was_tested_to_the_end(kind, said):
    c = certificate()
    told = to_json(replace(c, standing=replace(c.standing, kind=kind)))
    assert facts_of(told, "")["faults"] == said


@pytest.mark.parametrize(
    ("headline", "said"),
    [
        ("Sold with declared faults: Left stick: drifts; East: dead", ""),
        ("Sold with declared faults: Left stick: drifts; and 1 more", "Faults: Left stick: drifts; East: dead"),
        ("Incomplete: 3 of 56 checks not tested; 2 checks failed", "Faults: Left stick: drifts; East: dead"),
    ],
)
def test_faults_are_named_once(headline: str, said: str):
    """They stood in the headline and once more under “Faults”."""
    faults = ("Left stick: drifts", "East: dead")
    kind = "incomplete" if headline.startswith("Incomplete") else "faults"
    standing = replace(certificate().standing, kind=kind, headline=headline, faults=faults)
    text = listing_text(listed(standing=standing))
    assert [line for line in text.splitlines() if line.startswith("Faults")] == ([said] if said else [])
    assert listed(standing=standing)["faults"] == "Left stick: drifts; East: dead", "for templates of before"


@pytest.mark.parametrize("grade", [["good"], "good", 3])
def test_a_content_that_is_none_of_ours_is_one_sentence(grade):
    body = json.loads(CONTENT)
    body["certificate"]["grade"] = grade
    with pytest.raises(InputError, match="carries no certificate of this version"):
        facts_of(json.dumps(body).encode(), "")


def test_a_line_whose_fields_are_empty_is_left_out(tmp_path):
    path = tmp_path / TEMPLATE
    path.write_text("{model}\nGrade: {grade}\nOur shop {{since 2019}}\n\nNot tested: {not_tested}", "utf-8")
    text = listing_text(FACTS | {"grade": "", "not_tested": ""}, path)
    assert text == "Plover T2\nOur shop {since 2019}\n"


@pytest.mark.parametrize(
    ("template", "said"),
    [
        ("{price}", "names “price”"),
        ("{model.__class__}", "names “model.__class__”"),
        ("{model[0]}", "names “model[0]”"),
        ("{model!r}", "names “model”"),
        ("{model:>9999999}", "names “model”"),
        ("{}", "names “”"),
        ("{model", "is no template"),
        ("x" * 9000, "longer than 8000 signs"),
    ],
)
def test_a_template_that_asks_for_more_is_refused_by_name(tmp_path, template: str, said: str):
    path = tmp_path / TEMPLATE
    path.write_text(template, "utf-8")
    with pytest.raises(InputError) as caught:
        listing_text(FACTS, path)
    assert said in str(caught.value)


@pytest.mark.parametrize("content", [b"", b"{}", b"[]", b'{"format": "x", "certificate": {}}', b"[" * 10_000])
def test_what_is_no_certificate_of_today_is_refused(content: bytes):
    with pytest.raises(InputError, match="write it again"):
        facts_of(content, "")
    assert dials_in(content) == ()


def test_pictures_of_the_sticks_lie_beside_the_certificate(qapp, tmp_path):
    path = tmp_path / "SM-07-04.pdf"
    path.write_bytes(render_pdf(replace(certificate(), dials=DIALS), KEY))
    offer = offer_of(path, tmp_path)
    assert offer.text.startswith("Plover T2")
    assert KEY.fingerprint in offer.text
    assert [one.name for one in offer.pictures] == ["SM-07-04-left-stick.png", "SM-07-04-right-stick.png"]
    drawn = [QImage(str(one)) for one in offer.pictures]
    assert [(one.width(), one.height()) for one in drawn] == [(SIDE_PX, SIDE_PX)] * 2
    assert drawn[0] != drawn[1]
    assert not list(tmp_path.glob("*.part"))
