"""What the certificate says."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from station.certificate.content import build_certificate, content_sha256, to_json
from station.certificate.dials import dial_of
from station.certificate.front import mark_of
from station.certificate.pieces import _unseen as unseen_lines
from station.certificate.types import ControlLine
from station.checks.ask import CHARGE
from station.checks.light import LightCheck
from station.checks.limits import load_limits
from station.checks.registry import CHECKS, check_named
from station.checks.said import cannot_be_seen
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.judgement.limits import standard
from station.records.types import Result, Withdrawal, Withdrawn
from station.sheets.beyond import Beyond, Extra
from station.sheets.model import Ask, Control, Sheet
from station.words import certificate as cert_words
from tests.certificate import sample_history as sample
from tests.checks.button_moves import LEFT, idle, take


def certificate(history=None, **more: object):
    return build_certificate(
        history or sample.make_history(),
        sample.STEPS,
        sample.SHEET,
        number="8D9E0F-00042",
        issued_at="2026-03-09T10:00:00Z",
        bench="bench 1",
        person="Ines",
        **more,
    )


def test_the_latest_visit_holds_for_each_check():
    block = certificate().controls[0]
    assert block.name == "Left stick"
    assert block.lines[0].outcome is Outcome.PASS
    assert block.lines[0].visit == 2


def test_a_check_never_done_is_listed_as_not_tested_and_named_in_the_headline():
    c = certificate()
    assert c.not_tested == ("Left stick, round the rim",)
    assert c.standing.headline == "Incomplete: 1 of 5 checks not tested"


def rim(outcome: Outcome = Outcome.PASS) -> Result:
    """The check that the history leaves out."""
    reached = Reading("least_reach", 100.4, "%", 0.2, 95.0, 90.0, ">=")
    return Result("r6", "v2", "rim", "left_stick", 1, "2026-03-09T09:05:00Z", Assessment(outcome, (reached,)))


def told(*more: Result, **changes: object):
    history = sample.make_history()
    return certificate(replace(history, results=(*history.results, *more), **changes)).standing


OFFSET = replace(sample.make_history().results[0], id="r7", visit_id="v2", at="2026-03-09T09:06:00Z")
"""the stick off centre once more, at the second test"""
NO_LAMP = Result(
    "r8", "v2", "look", "", 2, "2026-03-09T09:07:00Z", Assessment(Outcome.NOT_DONE), by_hand=True, reason="no lamp"
)


TREATED = sample.make_history().treatments
SINCE = replace(TREATED[0], id="t2", at="2026-03-09T09:07:30Z")
"""the same once more, after everything was measured"""
NO_REST = replace(sample.make_history().unit, rest_until="")
ONLY_RETESTED = tuple(replace(visit, kind="intake") for visit in sample.make_history().visits)
WIDE = replace(
    OFFSET,
    assessment=Assessment(Outcome.PASS, (Reading("offset", 14.8, "%", 0.31, 20.0, 30.0, "<=", 300),)),
)
"""what fails by the limits that ship, judged by wider ones"""


NOTHING_READ = Assessment(Outcome.BORDERLINE, (Reading("least_reach", None, "%", reason="no movement was seen"),))


def marked(check: str, control: str) -> Result:
    done = Assessment(Outcome.PASS)
    return Result("rm", "v2", check, control, 9, "2026-03-09T09:08:00Z", done, by_hand=True, reason="good enough")


@pytest.mark.parametrize(
    ("standing", "kind", "said"),
    [
        pytest.param(lambda: told(rim()), "passed", "Passed", id="all"),
        pytest.param(
            lambda: told(replace(rim(), assessment=Assessment(Outcome.PASS))),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="recorded as passed, and nothing was measured",
        ),
        pytest.param(
            lambda: told(replace(rim(), assessment=NOTHING_READ)),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="near the limit, and its reading has no value",
        ),
        pytest.param(
            lambda: told(replace(rim(), assessment=NOTHING_READ), marked("rim", "left_stick")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="nothing was measured, and it was marked as good",
        ),
        pytest.param(
            lambda: told(rim(Outcome.BORDERLINE)), "passed", "Passed; 1 check near the limit", id="near the limit"
        ),
        pytest.param(
            lambda: told(rim(), OFFSET),
            "faults",
            "Sold with declared faults: Left stick: off centre to the left (in play: may move by itself)",
            id="a fault",
        ),
        pytest.param(
            lambda: told(rim(Outcome.FAIL)),
            "faults",
            "Sold with declared faults: Left stick, round the rim",
            id="a fault that nothing was found of",
        ),
        pytest.param(
            lambda: told(OFFSET), "incomplete", "Incomplete: 1 of 5 checks not tested; 1 check failed", id="and a fault"
        ),
        pytest.param(
            lambda: told(rim(), visits=sample.make_history().visits[:1]),
            "incomplete",
            "Incomplete: repaired, and not yet tested again after its rest",
            id="before the second test",
        ),
        pytest.param(
            lambda: told(rim(), NO_LAMP), "passed", "Passed; left out: Look", id="a question left out with a reason"
        ),
        pytest.param(
            lambda: told(
                rim(), replace(NO_LAMP, id="rf", assessment=Assessment(Outcome.FAIL)), replace(NO_LAMP, attempt=3)
            ),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="a question that was failed, then left out",
        ),
        pytest.param(
            lambda: told(rim(), marked("rest", "left_stick")),
            "passed",
            "Passed; 1 check decided by hand",
            id="measured, and decided by hand",
        ),
        pytest.param(
            lambda: told(marked("rim", "left_stick")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="never measured, but marked",
        ),
        pytest.param(
            lambda: told(rim(), OFFSET, marked("rest", "left_stick")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="failed, then marked as good",
        ),
        pytest.param(
            lambda: told(rim(), OFFSET, replace(marked("rest", "left_stick"), at="2026-03-09T09:05:30Z")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="failed, then marked as good by a clock that was set back",
        ),
        pytest.param(
            lambda: told(rim(), marked("rest", "left_stick"), treatments=(*TREATED, SINCE)),
            "incomplete",
            "Incomplete: 4 of 5 checks not tested",
            id="measured, then treated, then marked",
        ),
        pytest.param(
            lambda: told(rim(), unit=NO_REST, visits=ONLY_RETESTED),
            "passed",
            "Passed; repaired, and not tested again after a rest",
            id="the shop asks for no rest",
        ),
        pytest.param(
            lambda: told(rim(), unit=NO_REST, visits=ONLY_RETESTED, treatments=(replace(TREATED[0], kind="other"),)),
            "passed",
            "Passed",
            id="a work after which none is usual",
        ),
        pytest.param(
            lambda: told(rim(), WIDE),
            "passed",
            "Passed; 1 check only by limits wider than those that ship with Restpoint",
            id="by the shop's own wider limits",
        ),
        pytest.param(
            lambda: told(rim(), replace(WIDE, assessment=sample.rest(12.0, Outcome.FAIL))),
            "faults",
            "Sold with declared faults: Left stick: off centre to the left (in play: may move by itself)",
            id="failed whatever the limits",
        ),
        pytest.param(
            lambda: told(rim(), replace(NO_LAMP, reason="")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="a question left out without one",
        ),
        pytest.param(
            lambda: told(rim(), replace(NO_LAMP, id="r9", check="rest", control="left_stick")),
            "incomplete",
            "Incomplete: 1 of 5 checks not tested",
            id="a measurement left out with a reason",
        ),
    ],
)
def test_the_headline_says_what_the_unit_is_sold_as(standing, kind, said):
    assert (standing().kind, standing().headline) == (kind, said)


def test_what_was_called_good_without_a_reading_stands_as_not_tested():
    """A visit made by the program's interface could record a pass of each check and nothing else; it said “Passed”."""
    history = sample.make_history()
    c = certificate(replace(history, results=(*history.results, replace(rim(), assessment=Assessment(Outcome.PASS)))))
    assert "Left stick, round the rim (called good, and nothing of it was measured)" in c.not_tested
    assert c.summary[0] == ControlLine("Left stick", Outcome.PASS, "1 of 2 checks not tested")
    assert mark_of(c.summary[0]) is Outcome.NOT_DONE


HAS_MORE = Beyond((Extra("button", 0x9000E), Extra("button", 0x9000F), Extra("axis", 0x10036)))


@pytest.mark.parametrize(
    ("results", "said"),
    [
        ((rim(),), "Incomplete: nobody tested 1 axis and 2 buttons that the unit says it has"),
        (
            (rim(Outcome.FAIL),),
            "Incomplete: nobody tested 1 axis and 2 buttons that the unit says it has; 1 check failed",
        ),
        (
            (),
            "Incomplete: 1 of 5 checks not tested; and nobody tested 1 axis and 2 buttons that the unit says it has",
        ),
    ],
)
def test_a_sheet_that_leaves_controls_out_makes_nobody_pass(results, said):
    """It said “Passed”, and nothing of what the sheet did not name."""
    history = sample.make_history()
    c = certificate(replace(history, results=(*history.results, *results)), declared=HAS_MORE, house=standard())
    assert (c.standing.kind, c.standing.headline) == ("incomplete", said)
    told = "1 axis and 2 buttons that the unit says it has (the tests of this model do not know of it)"
    assert c.not_tested[-1] == told
    assert c.grade is not None
    assert c.grade.name == ""


def test_what_the_sheet_calls_absent_is_told_and_stands_in_nobodys_way():
    history = sample.make_history()
    declared = Beyond(absent=(Extra("button", 0x9000E),))
    c = certificate(replace(history, results=(*history.results, rim())), declared=declared)
    assert (c.standing.kind, c.standing.headline) == ("passed", "Passed")
    assert c.deviations[-1] == (
        "The unit says that it has 1 button more; by the shop's word this model has none, so nothing of it was tested."
    )


def test_what_was_left_out_is_told_with_its_reason():
    assert told(rim(), NO_LAMP).left_out == ("Look (skipped: no lamp)",)


def test_one_check_marked_by_hand_makes_no_certificate_that_says_passed():
    """It gave “All 1 checks done passed; 55 not done”, in green."""
    history = sample.make_history()
    one = replace(history, results=history.results[-1:], treatments=())
    assert certificate(one).standing.headline == "Incomplete: 4 of 5 checks not tested"


def test_a_simulated_unit_says_so_in_the_headline_and_in_the_number():
    history = sample.make_history()
    results = (*history.results, replace(rim(), clock="simulated"))
    c = certificate(replace(history, results=results))
    assert (c.standing.simulated, c.standing.headline) == (True, "SIMULATED, no real unit. Passed")
    assert c.number == "SIMULATED-8D9E0F-00042"


def test_each_control_stands_in_one_line_with_its_worst_outcome():
    c = certificate()
    assert [(one.name, one.outcome, one.said) for one in c.summary] == [
        ("Left stick", Outcome.PASS, "1 of 2 checks not tested"),
        ("Left shoulder", Outcome.PASS, ""),
        ("whole unit", Outcome.PASS, ""),
    ]
    history = sample.make_history()
    worse = certificate(replace(history, results=(*history.results, rim(), OFFSET)))
    assert (worse.summary[0].outcome, worse.summary[0].said) == (Outcome.FAIL, "off centre to the left")


def test_no_tick_stands_beside_a_control_that_is_tested_in_part():
    assert [mark_of(one) for one in certificate().summary] == [Outcome.NOT_DONE, Outcome.PASS, Outcome.PASS]
    history = sample.make_history()
    tested = certificate(replace(history, results=(*history.results, rim()))).summary[0]
    assert (mark_of(tested), tested.said) == (Outcome.PASS, "")


def test_a_control_near_its_limit_says_so_in_words_where_a_part_of_it_is_open():
    near = replace(OFFSET, assessment=replace(sample.rest(5.1, Outcome.BORDERLINE), findings=()))
    history = sample.make_history()
    line = certificate(replace(history, results=(*history.results, near))).summary[0]
    assert (mark_of(line), line.said) == (Outcome.BORDERLINE, "near the limit; 1 of 2 checks not tested")


def test_minutes_and_costs_stand_on_it_only_where_the_shop_wants_them():
    (line,) = certificate().treatments
    assert (line.minutes, line.cost) == (0, "")
    history = sample.make_history()
    (line,) = build_certificate(
        history, sample.STEPS, sample.SHEET, number="8D9E0F-00042", issued_at="", bench="", person="", costs=True
    ).treatments
    assert (line.minutes, line.cost) == (9, "€\N{NO-BREAK SPACE}0.40")


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
        history,
        [sample.Step("link", "", "Link", "", "whole unit")],
        sample.SHEET,
        number="8D9E0F-00042",
        issued_at="",
        bench="",
        person="",
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
        history,
        [sample.Step("link", "", "Link", "", "whole unit")],
        sample.SHEET,
        number="8D9E0F-00042",
        issued_at="",
        bench="",
        person="",
    )
    assert said in made.timing
    assert ("Over radio" in made.timing) is bool(said)


def test_marks_by_hand_and_lost_reports_are_deviations():
    assert certificate().deviations == (
        "Left stick, at rest: 2 messages of the unit missed while it was tested.",
        "Look: a person decided the outcome (checked under the lamp).",
    )


def test_the_rest_is_counted_in_days():
    assert certificate().rest == "Tested again 3 days after the last work on it (2026-03-09)."


def test_an_override_of_the_rest_is_printed():
    history = sample.make_history()
    early = replace(history, visits=history.visits[:1], extra={"override": "buyer waits"})
    c = certificate(early)
    assert "buyer waits" in c.rest
    assert any("buyer waits" in d for d in c.deviations)


def test_the_number_is_the_one_that_it_was_given():
    assert certificate().number == "8D9E0F-00042"


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
        steps, sample.SHEET, number="8D9E0F-00042", issued_at="2026-03-09T10:00:00Z", bench="bench 1", costs=True,
        person="Ines",
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
            "left stick: rests 14.8 % off centre, to the left",
            {"who": "left stick", "offset": 14.81, "angle": 270},
        ),
        ("noise", "left stick, vertical: noisy", {}),
    ]


def test_what_failed_before_the_work_and_was_not_tested_since_counts_once():
    """It said "1 of 5 checks not tested; 1 check failed", of one and the same check."""
    history = sample.make_history()
    results = tuple(r for r in history.results if r.id != "r2")
    made = certificate(replace(history, results=(*results, rim())))
    assert made.older == 1
    expected = "Incomplete: 1 of 5 checks not tested; 1 of these failed before the work on it"
    assert made.standing.headline == expected
    other = replace(rim(Outcome.FAIL), assessment=replace(OFFSET.assessment, findings=()))
    both = certificate(replace(history, results=(*results, other)))
    assert both.standing.headline == f"{expected}; 1 check failed"


def test_a_fail_that_the_sheet_no_longer_lists_is_counted_and_named():
    history = sample.make_history()
    gone = Result("gone", "v2", "smell", "", 1, "2026-03-09T09:30:00Z", Assessment(Outcome.FAIL))
    made, before = certificate(replace(history, results=(*history.results, gone))), certificate(history)
    assert (made.passed, made.failed) == (before.passed, before.failed + 1)
    assert made.standing.headline == "Incomplete: 1 of 5 checks not tested; 1 check failed"
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


@pytest.mark.parametrize(
    ("column", "at", "said"),
    [
        pytest.param(
            "model",
            "2026-03-09T09:30:00.000Z",
            "Until 2026-03-09 it was recorded as model “Dotterel”, also while it was tested; corrected because: wrong "
            "box.",
            id="the model, after its tests",
        ),
        pytest.param(
            "serial",
            "2026-03-09T09:30:00.000Z",
            "Until 2026-03-09 its serial number was recorded as “Dotterel”; corrected because: wrong box.",
            id="the serial number",
        ),
        pytest.param("model", "2026-03-06T10:12:30.000Z", "", id="before anything was tested"),
    ],
)
def test_what_the_unit_was_taken_for_while_it_was_tested_is_told(column: str, at: str, said: str):
    by = Withdrawal("w1", "values", "u1", at, "wrong box.", "Ines", f'{{"{column}":"Dotterel"}}')
    told = certificate(replace(sample.make_history(), withdrawn=(Withdrawn(by),))).deviations
    assert [text for text in told if "wrong box" in text] == ([said] if said else [])


def test_what_a_player_meets_is_told_of_findings_that_there_are():
    codes = {kind.code for name in CHECKS if (check := check_named(name, Sheet("x"))) for kind in check.about.findings}
    assert set(cert_words.FELT) <= codes
