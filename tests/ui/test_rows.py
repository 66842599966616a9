"""The checklist and the record as rows of words, without a window."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import scenes
from workbench import Workbench

from station.bench.types import Step, StepView
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.ui.checklist.rows import Heading, Row, failing_first, rows_of
from station.ui.painting.shapes import RUNNING, SKIPPED
from station.ui.record.rows import findings, log_lines, visit_table
from station.ui.visit_kind import proposed_kind

PASS, FAIL, NOT_DONE, BORDERLINE = Outcome.PASS, Outcome.FAIL, Outcome.NOT_DONE, Outcome.BORDERLINE


def step(check: str, control: str = "south", outcome: Outcome = NOT_DONE, **more: object) -> StepView:
    group = "right hand" if control else "whole unit"
    state = "waiting" if outcome is NOT_DONE else "done"
    made = Step(check, control, check.capitalize(), control.capitalize() or check.capitalize(), group)
    return StepView(made, state, outcome, **more)  # type: ignore[arg-type]


def rows(steps: list[StepView], current: int = -1, running: bool = False) -> list[Row]:
    return [r for r in rows_of(steps, current, running) if isinstance(r, Row)]


def test_steps_of_one_control_that_stand_alike_share_a_row() -> None:
    found = rows([step("contact", outcome=PASS), step("light", outcome=PASS), step("hold")])
    assert [(r.name, r.said, r.steps) for r in found] == [("South", "contact, light", (0, 1)), ("South", "hold", (2,))]


def test_the_current_step_has_a_row_of_its_own_with_the_name() -> None:
    found = rows([step("contact"), step("light"), step("hold")], current=1, running=True)
    assert [(r.name, r.shape, r.current) for r in found] == [
        ("South", NOT_DONE, False),
        ("South", RUNNING, True),
        ("South", NOT_DONE, False),
    ]


def test_skipped_untested_and_running_are_told_apart_by_shape_and_word() -> None:
    skipped = replace(step("light"), state="done", by_hand=True, reason="not there")
    found = rows([step("contact"), skipped, step("hold")], current=2, running=True)
    assert [(r.name, r.shape, r.said) for r in found] == [
        ("South", NOT_DONE, "contact"),
        ("South", SKIPPED, "light · skipped"),
        ("South", RUNNING, "hold · running"),
    ]
    heading = rows_of([step("contact", outcome=PASS), skipped], 0, False)[0]
    assert isinstance(heading, Heading)
    assert (heading.done, heading.total, heading.skipped) == (1, 2, 1)


def test_a_failed_step_says_the_reading_that_decided() -> None:
    readings = (Reading("offset", 10.2, "%", 0.3, 5, 10), Reading("noise_pp_x", 0.4, "%", 0.1, 1.5, 4))
    found = rows([step("rest", outcome=FAIL, assessment=Assessment(FAIL, readings))])
    assert found[0].said == "rest · 10.20\u00a0%"


def test_a_mark_by_hand_is_told_from_a_measured_one() -> None:
    assert rows([step("rest", outcome=PASS, by_hand=True, reason="seen")])[0].said == "rest · pass by hand"


def test_a_check_of_the_whole_unit_says_its_outcome() -> None:
    assert rows([step("rumble", "", PASS)])[0].said == "pass"


def test_groups_follow_the_hand_and_count_what_is_done(desk: Workbench) -> None:
    scenes.third_visit(desk)
    heads = [r for r in rows_of(desk.session().steps, 0, False) if isinstance(r, Heading)]
    assert [h.text for h in heads] == ["top", "left hand", "right hand", "back", "whole unit"]
    assert (heads[-1].done, heads[-1].total) == (2, 5), (
        "rumble and charge; held together, link and the watch over the visit are still to be made"
    )
    assert heads[1].done == heads[1].total - 2, "rim and sweep of the left stick"


def test_readings_stand_failing_first() -> None:
    ok = Reading("gap", 1.0, "%", 0.1, 3, 8)
    near = Reading("offset", 5.1, "%", 0.3, 5, 10)
    bad = Reading("noise_pp_x", 6.0, "%", 0.1, 1.5, 4)
    told = Reading("offset_x", 3.0, "%")
    assert failing_first([told, ok, near, bad]) == [bad, near, ok, told]


def history(*results: tuple[str, str, str, Outcome, float | None], visits: int = 2) -> UnitHistory:
    rows = []
    for k, (visit, check, control, outcome, value) in enumerate(results):
        readings = () if value is None else (Reading("offset", value, "%", 0.3, 5, 10),)
        found = (Finding("offset", f"{control} off centre"),) if outcome is FAIL else ()
        rows.append(Result(str(k), visit, check, control, 1, f"2026-11-2{k}", Assessment(outcome, readings, found)))
    made = tuple(
        Visit(
            f"v{k}",
            "u",
            "intake" if k == 1 else "after treatment",
            k,
            f"2026-11-{10 + k}",
            "x",
            treatment_id="t" if k == 2 else None,
        )
        for k in range(1, visits + 1)
    )
    treatment = Treatment("t", "u", "clean the sensor", "2026-11-11T12", minutes=9, cost_minor=40)
    return UnitHistory(Unit("u", "A-1", "Plover T2"), None, made, tuple(rows), (treatment,))


def test_visits_stand_side_by_side_failing_checks_first() -> None:
    table = visit_table(
        history(
            ("v1", "rest", "right_stick", PASS, 1.1),
            ("v1", "rest", "left_stick", FAIL, 14.8),
            ("v2", "rest", "left_stick", FAIL, 11.0),
            ("v2", "rest", "right_stick", PASS, 1.2),
        ),
        {"left_stick": "Left stick"},
        running_visit="v2",
    )
    assert table.heads == ("intake", "now")
    assert [r.label for r in table.rows] == ["Left stick, at rest", "Right stick, at rest"]
    assert [c.text for c in table.rows[0].cells] == ["14.8", "11.0\u00a0%"]
    assert table.rows[0].outcome is FAIL


@pytest.mark.parametrize(
    ("values", "shown"),
    [
        (((0.5008, 0.0012),), ["0.501\u00a0ms"]),
        (((0.5008, 0.0012), (0.011, 0.012)), ["0.50", "0.01\u00a0ms"]),
        (((0.5008, 0.0012), (0.0110, 0.0)), ["0.501", "0.011\u00a0ms"]),
        (((41.0, 12.0), (8.21, 0.31)), ["41", "8\u00a0ms"]),
    ],
)
def test_the_figures_of_a_row_have_no_more_digits_than_the_least_certain_of_them(values, shown) -> None:
    """It said “0.5008 ms” beside figures of one and two digits."""
    told = history(*(("v1" if k == 0 else "v2", "link", "", FAIL, None) for k in range(len(values))))
    rows = (
        replace(r, assessment=Assessment(FAIL, (Reading("wait_extra", v, "ms", u, 0.004, 0.005),)))
        for r, (v, u) in zip(told.results, values, strict=True)
    )
    table = visit_table(replace(told, results=tuple(rows)), {})
    assert [c.text for c in table.rows[0].cells if c.text] == shown


def test_what_changed_leads_and_what_always_passed_is_quiet() -> None:
    told = history(
        ("v1", "rest", "a", FAIL, 12.0),
        ("v1", "rest", "b", FAIL, 14.0),
        ("v1", "rest", "c", PASS, 0.0),
        ("v1", "rest", "d", PASS, 1.0),
        ("v2", "rest", "a", FAIL, 12.1),
        ("v2", "rest", "b", FAIL, 11.0),
        ("v2", "rest", "c", PASS, 0.0),
        ("v2", "rest", "d", FAIL, 11.0),
    )
    found = [(r.label[0], r.change, r.quiet) for r in visit_table(told, {}).rows]
    assert found == [("D", "worse", False), ("B", "better", False), ("A", "", False), ("C", "", True)]


def test_a_visit_is_called_over_its_column_as_on_the_card_and_in_the_log() -> None:
    told = history(("v1", "rest", "a", PASS, 1.0), ("v2", "rest", "a", PASS, 1.0))
    table = visit_table(told, {})
    assert table.heads == ("intake", "after treatment")
    assert table.tips[0] == ""
    assert table.tips[1].startswith("clean the sensor")
    for head in table.heads:
        assert any(line.text.startswith(f"{head}: ") for line in log_lines(told))


def test_the_last_try_of_a_visit_counts() -> None:
    table = visit_table(history(("v1", "rest", "a", FAIL, 12.0), ("v1", "rest", "a", PASS, 2.0)), {})
    assert table.rows[0].outcome is PASS
    assert table.rows[0].cells[0].text == "2.0\u00a0%"


NEAR = Reading("gap", 1.0, "%", 0.1, 3.0, 8.0)
FAR = Reading("noise_pp_x", 6.0, "%", 0.1, 1.5, 4.0)
PRESSES = Reading("registered", 1, "count", 0, 3, 3, ">=")


@pytest.mark.parametrize(
    ("check", "done", "text", "tip"),
    [
        pytest.param(
            "contact", Assessment(NOT_DONE, (PRESSES,), again="again, please: two presses to go"),
            "not done", "again, please: two presses to go", id="a sloppy try was a red fail with 1",
        ),
        pytest.param(
            "rest", Assessment(Outcome.INTERRUPTED, (FAR,)), "interrupted", "", id="an interrupted try was a fail",
        ),
        pytest.param(
            "rest", Assessment(Outcome.INTERRUPTED, (NEAR,)), "interrupted", "", id="an interrupted try was a pass",
        ),
        pytest.param("rest", Assessment(FAIL, (NEAR, FAR)), "6.0\u00a0%", "", id="the reading that decided is shown"),
    ],
)  # fmt: skip
def test_a_cell_says_what_its_try_came_to(check: str, done: Assessment, text: str, tip: str) -> None:
    told = replace(history(), results=(Result("r", "v1", check, "south", 1, "2026-11-11T10", done),))
    (cell,) = visit_table(told, {}).rows[0].cells
    assert (cell.text, cell.outcome, cell.tip) == (text, done.outcome, tip)


def test_a_try_that_another_reading_decided_is_told_by_its_word_and_that_reading() -> None:
    """The row shows the noise, which passes in the second visit: its cell said pass."""
    first = Assessment(FAIL, (NEAR, FAR))
    second = Assessment(FAIL, (replace(NEAR, value=9.0), replace(FAR, value=0.4)))
    results = (
        Result("r", "v1", "rest", "a", 1, "2026-11-11T10", first),
        Result("s", "v2", "rest", "a", 1, "2026-11-12T10", second),
    )
    (row,) = visit_table(replace(history(), results=results), {}).rows
    assert [(cell.text, cell.outcome) for cell in row.cells] == [("6.0", FAIL), ("fail", FAIL)]
    assert row.cells[1].tip == "gap 9.00 ± 0.10\u00a0%, should be at most 3\u00a0%"


def test_a_check_not_made_in_a_visit_leaves_its_cell_empty() -> None:
    table = visit_table(history(("v1", "rest", "a", FAIL, 12.0), ("v2", "rest", "b", PASS, 2.0)), {})
    by_label = {r.label: [c.text for c in r.cells] for r in table.rows}
    assert by_label["A, at rest"] == ["12.0", ""]


def test_findings_are_those_of_the_latest_results() -> None:
    cured = history(("v1", "rest", "a", FAIL, 12.0), ("v1", "rest", "b", FAIL, 12.0), ("v2", "rest", "a", PASS, 2.0))
    assert findings(cured) == (("b off centre", FAIL),)


def test_a_finding_shows_the_twins_reading_beside_it() -> None:
    one = history(("v1", "rest", "a", FAIL, 12.0), ("v1", "rest", "b", PASS, 1.1))
    assert findings(one, {"a": "b"}, {"b": "Right stick"}) == (("a off centre · right stick: 1.1\u00a0%", FAIL),)
    assert findings(one) == (("a off centre", FAIL),)


def test_the_log_runs_in_order_of_time() -> None:
    lines = log_lines(history(("v1", "rest", "a", FAIL, 12.0)))
    assert [line.text for line in lines] == [
        "intake: 1 check, 1 failed",
        "clean the sensor, 9\u00a0min, €\u00a00.40",
        "after treatment: no check yet",
    ]


@pytest.mark.parametrize(
    ("visits", "treated_at", "rest", "kind"),
    [
        (0, "", "", "first look"),
        (1, "2026-11-20", "", "after treatment"),
        (1, "2026-11-01", "2026-11-24", "after rest"),
        (1, "2026-11-01", "2026-11-30", "final"),
        (1, "", "", "final"),
    ],
    ids=["first time", "treated since", "rested long enough", "still resting", "nothing new"],
)
def test_the_kind_of_visit_that_lies_nearest(visits: int, treated_at: str, rest: str, kind: str) -> None:
    made = tuple(Visit(f"v{k}", "u", "intake", k, "2026-11-11", "x") for k in range(visits))
    treated = (Treatment("t", "u", "adjust", treated_at),) if treated_at else ()
    told = UnitHistory(Unit("u", "A-1", "m", rest_until=rest), None, made, (), treated)
    assert proposed_kind(told, date(2026, 11, 25)) == kind


def test_after_the_first_look_comes_the_intake() -> None:
    looked = (Visit("v1", "u", "first look", 1, "2026-11-11", "x"),)
    assert proposed_kind(UnitHistory(Unit("u", "A-1", "m"), None, looked), date(2026, 11, 25)) == "intake"


def test_what_a_first_look_found_is_a_suspicion_until_the_control_was_tested() -> None:
    look = Result("r1", "v1", "glance", "left_stick", 1, "2026-11-11", Assessment(FAIL, (), (Finding("dead_axis"),)))
    test = Result("r2", "v1", "rim", "left_stick", 1, "2026-11-12", Assessment(Outcome.PASS))
    told = UnitHistory(Unit("u", "A-1", "m"), None, results=(look,))
    ((said, outcome),) = findings(told)
    assert said.startswith("first look, not tested yet: ")
    assert outcome is FAIL
    assert findings(replace(told, results=(look, test))) == ()


def test_a_check_with_beats_is_compared_by_its_faulty_presses() -> None:
    counts = tuple(Reading(n, v, "") for n, v in (("beats", 14.0), ("missed", 8.0), ("split", 1.0), ("short", 0.0)))
    made = Result("r", "v1", "light", "left_shoulder", 1, "2026-11-11", Assessment(FAIL, counts))
    told = UnitHistory(Unit("u", "A-1", "m"), None, (Visit("v1", "u", "intake", 1, "2026-11-11", "x"),), (made,))
    assert visit_table(told, {}).rows[0].cells[0].text == "9 of 14 faulty"
    assert rows([step("light", outcome=FAIL, assessment=made.assessment)])[0].said == "light · 9 of 14 faulty"


def test_what_a_firm_press_said_is_gone_once_the_light_press_was_done_again():
    press = Assessment(Outcome.PASS, (), (Finding("misses", "light fails, firm passes"),))
    before = history(("v1", "light", "a", FAIL, None))
    firm = replace(before.results[0], id="firm", check="firm_press", assessment=press)
    before = replace(before, results=(*before.results, firm))
    assert "light fails, firm passes" in dict(findings(before))
    cured = history(("v2", "light", "a", Outcome.PASS, None)).results
    assert findings(replace(before, results=(*before.results, *cured))) == ()
