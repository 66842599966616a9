"""What the certificate says."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from station.certificate.content import build_certificate, content_sha256, to_json
from station.certificate.wording import describe_limit, describe_reading, reading_name
from station.checks.types import Outcome, Reading
from tests.certificate import sample_history as sample


def certificate(history=None):
    return build_certificate(
        history or sample.make_history(),
        sample.STEPS,
        sample.SHEET,
        issued_at="2026-03-09T10:00:00Z",
        bench="bench 1",
        person="Ines",
    )


def test_the_latest_visit_holds_for_each_check():
    block = certificate().controls[0]
    assert block.name == "Left stick"
    assert block.lines[0].outcome is Outcome.PASS
    assert block.lines[0].visit == 2


def test_a_check_never_done_is_listed_as_not_tested_and_named_in_the_headline():
    c = certificate()
    assert c.not_tested == ("Left stick: round the rim",)
    assert c.headline() == "All 4 checks done passed; 1 not done"


def test_a_failed_check_rules_the_headline():
    history = sample.make_history()
    assert certificate(replace(history, results=history.results[:1])).headline() == "1 check failed"


def test_before_and_after_show_a_reading_that_once_missed_its_limit():
    (change,) = certificate().changes
    assert [v for _, v, _ in change.values] == [14.8, 1.2]


def test_marks_by_hand_and_lost_reports_are_deviations():
    assert certificate().deviations == (
        "Left stick: at rest: 2 reports lost while it ran.",
        "Look: outcome set by hand (checked under the lamp).",
    )


def test_the_rest_is_counted_in_days():
    assert certificate().rest == "Tested again 3 days after the last treatment (2026-03-09)."


def test_an_override_of_the_rest_is_printed():
    history = sample.make_history()
    early = replace(history, visits=history.visits[:1], extra={"override": "buyer waits"})
    c = certificate(early)
    assert "buyer waits" in c.rest
    assert any("buyer waits" in d for d in c.deviations)


def test_equal_content_has_an_equal_number_and_other_content_another():
    history = sample.make_history()
    other = replace(history, unit=replace(history.unit, condition="scratched"))
    assert certificate().number == certificate().number
    assert certificate().number != certificate(other).number


def test_the_json_is_canonical_and_complete():
    data = to_json(certificate())
    loaded = json.loads(data)
    assert json.dumps(loaded, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() == data
    assert loaded["certificate"]["controls"][0]["lines"][0]["readings"][0]["value"] == 1.2
    assert len(content_sha256(certificate())) == 64


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        pytest.param(Reading("offset", 10.234, "%", 0.31), "10.23 ± 0.31 %", id="two figures of the uncertainty"),
        pytest.param(Reading("creep", 123.4, "ms", 8.0), "123.4 ± 8.0 ms", id="one decimal for 8"),
        pytest.param(Reading("creep", 123.4, "ms", 12.0), "123 ± 12 ms", id="whole numbers above 10"),
        pytest.param(Reading("missed", 3, "count"), "3", id="a count has no unit"),
        pytest.param(
            Reading("offset", None, "%", reason="never reported"), "never reported", id="no value: the reason"
        ),
    ],
)
def test_a_reading_in_words(reading, text):
    assert describe_reading(reading) == text


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        (Reading("offset", 1, "%", 0, 5, 10, "<="), "≤ 5 · fails > 10"),
        (Reading("reach_up", 99, "%", 0, 95, 88, ">="), "≥ 95 · fails < 88"),
        (Reading("registered", 3, "count", 0, 3, 3, ">="), "≥ 3"),
        (Reading("offset_x", 3, "%"), ""),
    ],
    ids=["upper limit", "lower limit", "limit and fail limit the same", "no limit"],
)
def test_a_limit_in_words(reading, text):
    assert describe_limit(reading) == text


def test_reading_names_in_words():
    assert reading_name("noise_pp_x") == "noise p-p, horizontal"
    assert reading_name("reach_up") == "reach up"
