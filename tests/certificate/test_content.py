"""What the certificate says."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from station.certificate.content import build_certificate, content_sha256, to_json
from station.certificate.dials import dial_of
from station.certificate.pieces import _unseen as unseen_lines
from station.checks.ask import CHARGE
from station.checks.light import LightCheck
from station.checks.limits import load_limits
from station.checks.said import cannot_be_seen
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.records.types import Result
from station.sheets.model import Ask, Control, Sheet
from tests.certificate import sample_history as sample
from tests.checks.button_moves import LEFT, idle, take


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
    assert c.not_tested == ("Left stick, round the rim",)
    assert c.headline() == "All 4 checks done passed; 1 not done"


@pytest.mark.parametrize(
    ("came_to", "said"),
    [
        pytest.param({"passed": 1}, "The only check passed", id="one"),
        pytest.param({"passed": 9}, "All 9 checks passed", id="all"),
        pytest.param({"passed": 1, "not_tested": ("Look",)}, "The only check done passed; 1 not done", id="one of two"),
        pytest.param({"older": 2}, "No check holds; 2 older than a treatment", id="none holds"),
        pytest.param({"passed": 9, "borderline": 1}, "No check failed, 1 borderline", id="borderline"),
        pytest.param({"passed": 9, "failed": 2}, "2 checks failed", id="failed"),
    ],
)
def test_the_headline_counts_as_a_person_does(came_to, said):
    nothing = {"passed": 0, "borderline": 0, "failed": 0, "older": 0, "not_tested": ()}
    assert replace(certificate(), **(nothing | came_to)).headline() == said


def test_a_failed_check_rules_the_headline():
    history = sample.make_history()
    assert certificate(replace(history, results=history.results[:1])).headline() == "1 check failed"


def test_before_and_after_show_a_reading_that_once_missed_its_limit():
    (change,) = certificate().changes
    assert [v for _, v, _ in change.values] == [14.8, 1.2]


def test_a_reading_of_the_whole_unit_is_named_by_its_check():
    """It was called ": link, gaps in the reports"."""
    readings = [Reading("gaps", n, "", limit=0, fail_beyond=2) for n in (3.0, 0.0)]
    results = tuple(
        Result(f"g{i}", f"v{i + 1}", "link", "", 1, "2026-03-09T09:05:00Z", Assessment(outcome, (reading,)))
        for i, (reading, outcome) in enumerate(zip(readings, (Outcome.FAIL, Outcome.PASS), strict=True))
    )
    history = replace(sample.make_history(), results=results)
    made = build_certificate(
        history, [sample.Step("link", "", "Link", "", "whole unit")], sample.SHEET, issued_at="", bench="", person=""
    )
    assert [(change.what, change.shown) for change in made.changes] == [("Link: gaps in the reports", ("3", "0"))]


@pytest.mark.parametrize(
    ("radio", "said"),
    [
        ((9.0, 0.3), "Over radio a movement waits 5.00 ± 0.32\N{NO-BREAK SPACE}ms longer on the average"),
        ((2.0, 0.3), "Over radio a movement waits 2.00 ± 0.32\N{NO-BREAK SPACE}ms less on the average"),
        ((4.1, 0.3), "Over radio and over USB a movement waits alike"),
        (None, ""),
    ],
    ids=["longer", "less", "alike", "not measured over radio"],
)
def test_the_links_over_which_it_was_measured_are_compared(radio: tuple[float, float] | None, said: str):
    """The newest of each counts."""

    def link(number: int, over: float, wait: float, u: float) -> Result:
        readings = (Reading("wait_mean", wait, "ms", u), Reading("over_radio", over, ""))
        done = Assessment(Outcome.PASS, readings)
        return Result(f"k{number}", "v1", "link", "", number, f"2026-03-09T09:0{number}:00Z", done)

    results = [link(1, 0.0, 30.0, 0.1), link(2, 0.0, 4.0, 0.1)]
    results += [link(3, 1.0, *radio)] if radio else []
    history = replace(sample.make_history(), results=tuple(results))
    made = build_certificate(
        history, [sample.Step("link", "", "Link", "", "whole unit")], sample.SHEET, issued_at="", bench="", person=""
    )
    assert said in made.timing
    assert ("Over radio" in made.timing) is bool(said)


def test_marks_by_hand_and_lost_reports_are_deviations():
    assert certificate().deviations == (
        "Left stick, at rest: 2 reports lost while it ran.",
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
    assert (change.what, change.shown) == ("Left stick, at rest: off centre", ("14.80", "1.20"))
    results = {r.check: r for r in history.results if r.control == "left_stick"}
    dial = dial_of(Control("left_stick", "stick", "Left stick"), results, {}, load_limits())
    assert dial.caption == "off centre 1.20 ± 0.31\N{NO-BREAK SPACE}%"
    assert dial_of(Control("left_stick", "stick", "Left stick"), {}, {}, load_limits()).caption == ""


def test_a_dial_has_the_rings_of_the_limits_that_judged_it():
    """The sheet's limits may have changed since; the table beside the dial has those of the readings."""
    reach = Assessment(Outcome.PASS, (Reading("least_reach", 91.0, "%", 0.3, 90.0, 80.0, ">="),))
    rest = Assessment(Outcome.PASS, (Reading("offset", 6.0, "%", 0.3, 7.0, 14.0),))
    results = {
        name: Result(name, "v1", name, "left_stick", 1, "2026-03-06T10:13:00Z", found)
        for name, found in (("rest", rest), ("rim", reach))
    }
    stick, today = Control("left_stick", "stick", "Left stick"), load_limits()
    dial = dial_of(stick, results, {}, today)
    assert (dial.rest_limit_pct, dial.reach_limit_pct) == (7.0, 90.0)
    unmeasured = dial_of(stick, {}, {}, today)
    assert (unmeasured.rest_limit_pct, unmeasured.reach_limit_pct) == (5.0, 92.0)


def test_the_content_is_written_in_one_style_whatever_the_screen_has(german_screen):
    """What a check keeps in words, a mass or what the meter shows, was written as the screen writes it."""
    limits = load_limits()
    asked = Sheet("Plover T2", asks=(Ask("charge", "Charge light on", ("V",)),))
    metered = CHARGE.assess(take(None, {}, 1000.0, sheet=asked, answer="pass", meter={"V": 3.25}), limits)
    weighed = LightCheck().weighing(12.5).progress(take(LEFT, {LEFT.id: idle(2000.0)}, 2000.0), limits)
    done = {("charge", ""): metered, ("light", LEFT.id): Assessment(Outcome.PASS, weighed.readings)}
    results = tuple(
        Result(f"m{i}", "v2", *key, 1, f"2026-03-09T09:0{5 + i}:00Z", assessment)
        for i, (key, assessment) in enumerate(done.items())
    )
    history = sample.make_history()
    treatment = replace(history.treatments[0], minutes=1500, cost_minor=123450)
    steps = [*sample.STEPS, sample.Step("charge", "", "Charge", "", "whole unit")]
    made = build_certificate(
        replace(history, results=(*history.results, *results), treatments=(treatment,)),
        steps, sample.SHEET, issued_at="2026-03-09T10:00:00Z", bench="bench 1", person="Ines",
    )  # fmt: skip
    told = to_json(made).decode()
    assert [text for text in ("3,25", "12,5", "1,20", "1.234,50", "0,08", "09.03.2026") if text in told] == []
    said = ("charge: the meter shows 3.25 V", '"12.5 g"', "1,234.50", "0.08 ms", "(2026-03-09)")
    assert [text for text in said if text not in told] == []


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


def test_a_fail_that_the_sheet_no_longer_lists_is_counted_and_named():
    history = sample.make_history()
    gone = Result("gone", "v2", "smell", "", 1, "2026-03-09T09:30:00Z", Assessment(Outcome.FAIL))
    made, before = certificate(replace(history, results=(*history.results, gone))), certificate(history)
    assert (made.passed, made.failed) == (before.passed, before.failed + 1)
    assert made.headline() == "1 check failed"
    assert made.deviations == (*before.deviations, "Smell (fail) is no longer in the model's sheet.")


def test_the_certificate_says_what_its_checks_cannot_see():
    """Of each check on it once, and of no other."""
    said = unseen_lines(certificate())
    assert [line.partition(":")[0] for line in said] == list(
        dict.fromkeys(line.title for block in certificate().controls for line in block.lines)
    )
    assert any(line.startswith("At rest: an offset behind a dead zone of the firmware") for line in said)
    assert all(line.endswith(".") for line in said)


def test_what_cannot_be_seen_is_said_once_in_a_check():
    found = [Reading(name, 1.0, "") for name in ("split", "short", "shortest", "missed")]
    said = cannot_be_seen("light", found)
    assert said.count("faults that come once in hundreds of presses") == 1
    found = [Reading(name, 1.0, "%") for name in ("spikes", "largest_spike", "reversals", "gap")]
    assert cannot_be_seen("sweep", found).count("not crossed") == 1
    phrases = cannot_be_seen("hold", [Reading("rocking_dropouts", 0, "count")]).split("; ")
    assert len([phrase for phrase in phrases if "dropouts shorter than the link's period" in phrase]) == 1


def test_checks_that_cannot_see_the_same_are_named_together():
    made = certificate()
    (block, *_) = made.controls
    twice = replace(block, lines=tuple(replace(line, title=f"{line.title} too") for line in block.lines))
    said = unseen_lines(replace(made, controls=(*made.controls, twice)))
    assert len(said) == len(unseen_lines(made))
    assert any(line.startswith("At rest, At rest too: ") for line in said)
