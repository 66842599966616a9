"""The repair loop through the window: intake, clean, compare, rest (the clock is moved here), second test, ready."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import Qt

from station.app import paths
from station.app.desk import StationDesk
from station.bench.types import SessionView
from station.sources.simulated.samples import sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from station.ui.panels import treatment
from station.ui.panels.treatment import TreatmentPanel
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow
from tests.app.person import Person
from tests.records.records_kit import open_store

TAG = "SM-07-06"


class Workshop:
    """The clock on the wall, and the unit: its shoulder is weak until it was cleaned."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 6, 10, 0, tzinfo=UTC)
        self.cleaned = False

    def clock(self) -> datetime:
        self.now += timedelta(milliseconds=7)
        return self.now

    def plug_in(self, tag: str) -> SimulatedSource:
        found = sample(tag)
        spec = replace(found.spec, faults=()) if self.cleaned else found.spec
        return SimulatedSource(spec, sample_hand(found), realtime=False)


@pytest.fixture
def workshop() -> Workshop:
    return Workshop()


@pytest.fixture
def desk(workshop: Workshop) -> Iterator[StationDesk]:
    store = open_store(paths.records_folder(), clock=workshop.clock)
    desk = StationDesk(store, watch=False, now=workshop.clock, plug_in_sample=workshop.plug_in)
    yield desk
    desk.close()


@pytest.fixture
def person(qtbot, desk: StationDesk, monkeypatch: pytest.MonkeyPatch) -> Person:
    monkeypatch.setattr(treatment, "DOUBLE_PRESS_S", 0.0)  # time is the test's: its keys come in no time
    make_app()
    window = MainWindow(desk, theme="dark", sound=Sound({}))
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    return Person(qtbot, window, desk)


def outcomes(view: SessionView) -> dict[tuple[str, str], str]:
    return {(s.step.check, s.step.control): s.outcome.value for s in view.steps if s.state == "done"}


def plug_in(person: Person) -> None:
    person.desk.devices.plug_in_sample(TAG)
    for _ in range(4):
        person.settle()


def shoulder_done(person: Person) -> bool:
    view = person.desk.visit.session()
    return view is not None and all(
        s.state == "done" for s in view.steps if s.step.control == "left_shoulder" and not s.step.offered
    )


def begin(person: Person) -> None:
    person.press(Qt.Key.Key_Return)
    for _ in range(10):
        person.settle()


def finish(person: Person) -> SessionView:
    view = person.desk.visit.session()
    if not view.finished:
        person.press(Qt.Key.Key_F, Qt.Key.Key_Return)
        for _ in range(5):
            person.settle()
    assert person.desk.visit.session().finished
    return person.desk.visit.session()


def test_clean_compare_rest_and_prove_again(person: Person, desk: StationDesk, workshop: Workshop):
    plug_in(person)
    person.type(TAG)
    begin(person)
    person.whole_check_instead()
    person.work_through(lambda: shoulder_done(person))
    intake = finish(person)
    assert intake.visit.kind == "intake"
    assert outcomes(intake)["light", "left_shoulder"] == "fail"
    unit = desk.units.find(TAG)[0]
    for _ in range(5):
        person.settle()
    assert desk.advice.suspects(unit.id)
    assert desk.advice.proposal(unit.id).hazards, "a treatment with the housing open brings its caution"

    # T, a number, Enter: open and clean; Enter: done
    person.press(Qt.Key.Key_T)
    panel = person.window.panel
    assert isinstance(panel, TreatmentPanel)
    number = next(k for k, title in enumerate(panel.kind.options, start=1) if title.startswith("open and clean"))
    person.press(Qt.Key(Qt.Key.Key_0 + number), Qt.Key.Key_Return, Qt.Key.Key_Return)
    treated = desk.units.history(unit.id)
    assert [t.kind for t in treated.treatments] == ["open and clean"]
    assert treated.unit.rest_until == "2026-03-09", "three days of rest by default"
    workshop.cleaned = True

    # clean, test, compare: only what the treatment could have changed
    plug_in(person)
    begin(person)
    view = desk.visit.session()
    assert view.visit.kind == "after treatment"
    assert len(view.steps) < len(intake.steps)
    assert {("contact", "left_shoulder"), ("light", "left_shoulder"), ("hold", "left_shoulder")} <= {
        (s.step.check, s.step.control) for s in view.steps
    }
    person.work_through(lambda: shoulder_done(person))
    compared = finish(person)
    assert outcomes(compared)["light", "left_shoulder"] == "pass"

    # not ready before the rest: refused in words, unless a reason is given
    desk.units.change(replace(desk.units.find(TAG)[0], becomes="ready"))
    person.settle()
    assert desk.units.find(TAG)[0].becomes == "open"
    assert [row.unit.tag for row in desk.units.due() if row.ready] == []

    workshop.now += timedelta(days=3)
    assert [row.unit.tag for row in desk.units.due() if row.ready] == [TAG]
    plug_in(person)
    begin(person)
    assert desk.visit.session().visit.kind == "after rest"
    person.work_through(lambda: shoulder_done(person))
    for _ in range(160):  # what closes by itself needs a minute of the visit to be seen
        desk.advance(0.5)
        person.settle()
    proved = finish(person)
    assert outcomes(proved)["light", "left_shoulder"] == "pass"
    desk.units.change(replace(desk.units.find(TAG)[0], becomes="ready"))
    person.settle()
    assert desk.units.find(TAG)[0].becomes == "ready"
    assert desk.units.due() == ()
    with open_store(paths.records_folder(), read_only=True) as reader:
        assert reader.verify_log().sound


def test_ready_without_the_rest_needs_a_reason_and_keeps_it(person: Person, desk: StationDesk):
    plug_in(person)
    person.type(TAG)
    begin(person)
    finish(person)
    person.press(Qt.Key.Key_T, Qt.Key.Key_1, Qt.Key.Key_Return, Qt.Key.Key_Return)
    unit = desk.units.find(TAG)[0]
    desk.units.change(replace(unit, becomes="ready"), "the buyer waits")
    person.settle()
    assert desk.units.find(TAG)[0].becomes == "ready"
    assert "the buyer waits" in desk.units.history(unit.id).extra["override"]


def test_a_photo_is_kept_with_its_note(person: Person, desk: StationDesk, tmp_path):
    plug_in(person)
    person.type(TAG)
    begin(person)
    picture = tmp_path / "grip.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(64))
    unit = desk.units.find(TAG)[0]
    person.window.act("record.note")
    person.type("left grip worn")
    person.press(Qt.Key.Key_Tab)
    person.type(str(picture))
    person.press(Qt.Key.Key_Return)
    (note,) = desk.units.history(unit.id).notes
    assert note.text == "left grip worn"
    assert len(note.photo_sha256) == 64
    person.window.act("record.note")
    person.type("not there")
    person.press(Qt.Key.Key_Tab)
    person.type(str(tmp_path / "gone.png"))
    person.press(Qt.Key.Key_Return)
    assert len(desk.units.history(unit.id).notes) == 1, "refused in words, nothing half kept"
