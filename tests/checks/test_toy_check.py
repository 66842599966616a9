"""A check that is defined here alone goes all the way: it is planned, drawn, recorded, printed, measured again and
weighed, since everything in the program asks a check what it is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from station.app.certify import certificate_of, steps_of
from station.app.shop import Shop
from station.bench.plan import plan
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Choose, Go, SessionView, StepView
from station.capture.file import read_capture
from station.certificate.content import to_json
from station.certificate.control_rows import control_pieces
from station.certificate.page import render_pdf
from station.certificate.types import Certificate
from station.certificate.unpack import read_pdf
from station.checks.base import again, counted, decimals, finding
from station.checks.decide import judged, outcome_of
from station.checks.house import shipped_house
from station.checks.limits import limits_for, load_limits
from station.checks.registry import CHECKS, answered_by, described, with_checks
from station.checks.said import sentence
from station.checks.types import (
    Assessment,
    Description,
    FindingKind,
    Limits,
    Outcome,
    Plot,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.diagnosis.evidence import codes_of, evidence_of
from station.diagnosis.guide import load_guide
from station.diagnosis.suspects import suspects
from station.diagnosis.types import Seen
from station.evidence.assess import assess_capture
from station.evidence.written import to_json_line, to_text
from station.judgement.treated import due_again
from station.records.types import Treatment, UnitHistory
from station.sheets.bind import bind
from station.sheets.load import parse_sheet
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.sheets.write import sheet_text
from station.ui.checklist.rows import Row, rows_of
from station.ui.checklist.step_card import StepCard
from station.ui.live.pane import LivePane
from station.ui.painting.look import DARK
from station.ui.record.rows import findings, visit_table
from tests.bench_session.bench_fakes import LAYOUT, SHEET, UNIT, FakeSource
from tests.checks.method_page import undescribed
from tests.records.records_kit import open_store

NB = "\N{NO-BREAK SPACE}"
SENTENCE = "stick: sways by 94.1 %, and back three times"


class Sway:
    """Push the stick about: how far does it go, and how often does it turn back?"""

    name = "sway"
    title = "Sway about"
    about = Description(
        kinds=("stick",),
        readings=(
            ReadingKind("width", "width of the sway", "%", 1, limit="width", shipped=(40.0, 80.0)),
            ReadingKind("turns", "turns back"),
        ),
        findings=(
            FindingKind(
                "swayed",
                "{where}: sways by {width} %, and back {turns}",
                {"width": decimals(1), "turns": counted(("time", "times"))},
            ),
        ),
        short="sway",
        plot=Plot(lambda limits: (-limits["width"][0], limits["width"][0]), lambda limits: (-60.0, 60.0)),
        due_after="any opening",
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind in self.about.kinds

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, "Sway the stick about.")

    def progress(self, take: Take, limits: Limits) -> Progress:
        readings = self._readings(take, limits)
        return Progress(False, "sway on", 0.5, readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        readings = self._readings(take, limits)
        if not readings:
            return again("sway it")
        values = {r.name: r.value for r in readings}
        said = finding("swayed", take.control, {"width": values["width"] or 0.0, "turns": int(values["turns"] or 0)})
        outcome = outcome_of(readings)
        return Assessment(outcome, readings, () if outcome is Outcome.PASS else (said,))

    def _readings(self, take: Take, limits: Limits) -> tuple[Reading, ...]:
        signal = take.signals.get(take.control.id) if take.control else None
        if not isinstance(signal, StickSignal):
            return ()
        moves = np.diff(signal.x_pct)
        turns = int((np.diff(np.sign(moves[moves != 0])) != 0).sum())
        width = Reading("width", float(np.ptp(signal.x_pct)), "%", 0.453)
        return judged(self.name, (width, Reading("turns", float(turns), "")), limits)


@dataclass(frozen=True)
class Told:
    """What became of one try: the session while it ran and after it, the records, the capture, the certificate."""

    running: SessionView
    done: SessionView
    history: UnitHistory
    capture: Path
    certificate: Certificate


@pytest.fixture
def told(tmp_path: Path) -> Iterator[Told]:
    """One visit on real records with the toy among the checks."""
    source = FakeSource()
    source.report()
    with with_checks(Sway()), open_store(tmp_path) as store:
        unit = store.add_unit(replace(UNIT, id=""))
        session = Session(UnitOnBench(unit, source, bind(SHEET, LAYOUT)), VisitPlan(), BenchSetup(store))
        at = next(i for i, v in enumerate(session.view().steps) if v.step.check == "sway")
        session.do(Choose(at))
        session.do(Go())
        session.tick()
        for x in (128, 188, 68, 188, 128):
            source.advance(0.15)
            source.report(0, x)
            session.tick()
        running = session.view()
        session.do(Go())
        session.tick()
        history = store.history(unit.id)
        (result,) = history.results
        steps, house = steps_of(history, SHEET), shipped_house()
        made = certificate_of(
            store,
            unit.id,
            SHEET,
            steps,
            house,
            number="8D9E0F-00042",
            now="2026-03-09T10:00:00Z",
            shop=Shop("bench 1", "", "Ines"),
        )
        yield Told(running, session.view(), history, store.capture_path(result.capture_sha256), made)


def of_toy(view: SessionView) -> StepView:
    return next(v for v in view.steps if v.step.check == "sway")


def current(view: SessionView) -> SessionView:
    """The view with the toy's step as the current one."""
    return replace(view, current=next(i for i, v in enumerate(view.steps) if v.step.check == "sway"))


def test_it_is_planned_and_stands_in_the_checklist(told: Told) -> None:
    assert [s.title for s in plan(SHEET) if s.check == "sway"] == ["Sway about"]
    rows = [r for r in rows_of(told.done.steps, -1, running=False) if isinstance(r, Row)]
    assert f"sway · 94.12{NB}%" in [r.said for r in rows]


def test_the_card_names_its_readings_while_it_runs(told: Told, qtbot) -> None:
    card = StepCard(DARK)
    qtbot.addWidget(card)
    card.set_session(current(told.running), ("", "", "", ""))
    assert card.do.text() == "Sway the stick about."
    assert card.readings.accessibleDescription() == f"width of the sway 94.12 ± 0.45{NB}%"
    assert card.counts.text() == f"3{NB}turns back"


def test_the_live_pane_draws_its_plot_with_its_limits(told: Told, qtbot) -> None:
    pane = LivePane(DARK)
    qtbot.addWidget(pane)
    pane.set_sheet(SHEET, limits_for(replace(SHEET, limits={"sway": {"width": (35.0, 70.0)}}), load_limits()))
    pane.set_session(current(told.running))
    assert pane.trace.isVisibleTo(pane)
    assert (pane.trace._limits_pct, pane.trace._range) == ((-35.0, 35.0), (-60.0, 60.0))


def test_it_is_recorded_and_read_as_code_and_parameters(told: Told) -> None:
    (result,) = told.history.results
    assert result.assessment.outcome is Outcome.FAIL
    (found,) = result.assessment.findings
    assert (found.code, found.params["turns"], sentence("sway", found)) == ("swayed", 3, SENTENCE)
    table = visit_table(told.history, {"stick": "Stick"})
    assert [(r.label, r.tip, [c.text for c in r.cells]) for r in table.rows] == [
        ("Stick, sway", "Stick, sway: width of the sway", [f"94.1{NB}%"])
    ]
    assert findings(told.history) == ((SENTENCE, Outcome.FAIL),)


def test_the_certificate_prints_it_and_carries_its_parameters(told: Told, qapp) -> None:
    (block,) = told.certificate.controls
    assert [(line.check, line.title, line.outcome) for line in block.lines] == [("sway", "Sway about", Outcome.FAIL)]
    assert len(list(control_pieces(block))) > 3
    text = " ".join("\n".join(read_pdf(render_pdf(told.certificate)).pages).split()).replace(NB, " ")
    for words in ("Sway about", "width of the sway", "94.12 ± 0.45 %", "≤ 40 · fails > 80", "turns back", SENTENCE):
        assert words in text
    (line,) = json.loads(to_json(told.certificate))["certificate"]["controls"][0]["lines"]
    (said,) = line["findings"]
    assert (said["code"], said["text"], said["params"]["turns"]) == ("swayed", SENTENCE, 3)


def test_its_recording_is_measured_again(told: Told) -> None:
    again_ = assess_capture(read_capture(told.capture), SHEET, LAYOUT)
    (done,) = again_.checks
    assert done.assessment == told.history.results[0].assessment
    assert to_text(told.capture, again_).splitlines()[1:] == [
        "  stick, sway about: fail",
        f"    {SENTENCE}",
        f"    width of the sway 94.12 ± 0.45{NB}%, should be at most 40{NB}%",
    ]
    (said,) = json.loads(to_json_line(told.capture, again_))["checks"][0]["findings"]
    assert (said["code"], said["text"], said["params"]["who"]) == ("swayed", SENTENCE, "stick")


def test_the_diagnosis_weighs_its_finding(told: Told) -> None:
    assert codes_of("sway") == ("swayed",)
    evidence = evidence_of(told.history)
    assert evidence.seen == (Seen("stick", "sway", "swayed"),)
    guide = load_guide()
    roles = tuple(
        replace(r, shows={**r.shows, "swayed": 0.9 if r.role == "spring" else 0.0}, rate=0.1) if "stick" in r.of else r
        for r in guide.suspects
    )
    assert suspects(evidence, SHEET, replace(guide, suspects=roles))[0].role == "spring"


def test_it_is_due_again_once_the_housing_was_opened(told: Told) -> None:
    opened = Treatment("t", told.history.unit.id, "open and clean", "2999-01-01T00:00:00.000Z")
    history = replace(told.history, treatments=(opened,))
    assert ("sway", "stick") in due_again(history, [opened], SHEET)


def test_its_limits_ship_with_it_and_a_sheet_moves_them(told: Told) -> None:
    assert load_limits()["sway"] == {"width": (40.0, 80.0)}
    own = replace(SHEET, limits={"sway": {"width": (30.0, 60.0)}})
    assert parse_sheet(sheet_text(own), "own.toml", answered_by()).limits == own.limits
    assert limits_for(own, load_limits())["sway"] == {"width": (30.0, 60.0)}


def test_the_method_page_is_asked_to_describe_it() -> None:
    assert undescribed() == []
    with with_checks(Sway()):
        assert undescribed() == ["sway", "sway.width", "sway.turns", "sway: swayed"]


def test_it_goes_as_it_came() -> None:
    before = list(described())
    with with_checks(Sway()):
        assert list(CHECKS)[-1] == "sway"
    assert list(described()) == before
    with pytest.raises(ValueError, match="already"), with_checks(CHECKS["rest"]):
        pass
