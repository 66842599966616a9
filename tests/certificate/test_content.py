"""What the certificate says."""

from __future__ import annotations

import json
from dataclasses import replace

from station.certificate.content import build_certificate, content_sha256, to_json
from station.certificate.dials import dial_of
from station.checks.limits import load_limits
from station.checks.types import Finding, Outcome
from station.sheets.model import Control
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


def test_a_reading_is_told_with_the_same_digits_everywhere():
    """Before and after had one decimal, the dial's caption none or one, the table those of the uncertainty."""
    history = sample.make_history()
    (change,) = certificate().changes
    assert (change.what, change.shown) == ("Left stick: at rest, off centre", ("14.80", "1.20"))
    results = {r.check: r for r in history.results if r.control == "left_stick"}
    dial = dial_of(Control("left_stick", "stick", "Left stick"), results, {}, load_limits())
    assert dial.caption == "off centre 1.20 ± 0.31\N{NO-BREAK SPACE}%"
    assert dial_of(Control("left_stick", "stick", "Left stick"), {}, {}, load_limits()).caption == ""


def test_the_attached_findings_are_code_parameters_and_text():
    history = sample.make_history()
    found = Finding("offset", axis="x", params={"who": "left stick", "offset": 14.81, "angle": 270.0})
    old = Finding("noise", "left stick, vertical: noisy", axis="y")
    done = replace(history.results[1].assessment, outcome=Outcome.FAIL, findings=(found, old))
    worse = replace(history, results=(*history.results, replace(history.results[1], id="r9", assessment=done)))
    told = json.loads(to_json(certificate(worse)))["certificate"]["controls"][0]["lines"][0]["findings"]
    assert [(f["code"], f["text"], f["params"]) for f in told] == [
        (
            "offset",
            "left stick: rests 14.8 % off centre, towards 270°",
            {"who": "left stick", "offset": 14.81, "angle": 270},
        ),
        ("noise", "left stick, vertical: noisy", {}),
    ]
