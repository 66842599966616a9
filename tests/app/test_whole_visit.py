"""One unit through the window: plugged in, checked by keyboard alone, certified. The real desk on temporary files.

The simulated unit's clock is moved by the test, so that eight minutes at the bench take seconds.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from station.app import paths
from station.app.desk import StationDesk
from station.sources.simulated.samples import sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from station.ui.panels.shop import ShopPanel
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow
from tests.app.person import Person
from tests.records.records_kit import open_store

TAG = "SM-07-06"


def plug_in(tag: str) -> SimulatedSource:
    found = sample(tag)
    return SimulatedSource(found.spec, sample_hand(found), realtime=False)


@pytest.fixture
def desk() -> Iterator[StationDesk]:
    desk = StationDesk(open_store(paths.records_folder()), watch=False, plug_in_sample=plug_in)
    yield desk
    desk.close()


@pytest.fixture
def window(qtbot, desk) -> MainWindow:
    make_app()
    window = MainWindow(desk, theme="light", sound=Sound())
    window.sound.on = False
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    return window


def test_a_unit_from_the_plug_to_the_certificate_by_keyboard_alone(qtbot, window, desk):
    person = Person(qtbot, window, desk)
    desk.devices.plug_in_sample(TAG)
    person.settle()
    person.settle()
    assert desk.sheets.sheet() is not None
    person.type(TAG)  # the strip asks for the tag of the shelf label
    person.press(Qt.Key.Key_Return)
    for _ in range(10):
        person.settle()
    assert desk.visit.session() is not None, "Enter starts the visit"
    person.whole_check_instead()
    person.work_through()

    view = desk.visit.session()
    outcomes = {(s.step.check, s.step.control): s.outcome.value for s in view.steps}
    failed = {key for key, outcome in outcomes.items() if outcome == "fail"}
    assert ("light", "left_shoulder") in failed
    assert {control for _, control in failed} == {"left_shoulder"}, "the weak contact, and nothing else"
    assert "not done" not in outcomes.values()

    person.press(Qt.Key.Key_C)  # the first certificate asks who issues it
    panel = person.window.findChild(ShopPanel)
    panel.fields["shop"].setText("Mill Lane Repairs")  # typed faster than a hand it would be taken for a scan
    person.press(Qt.Key.Key_Return)
    QApplication.processEvents()
    person.settle()
    if person.window.panel is not None:  # it says incomplete, and is asked about once
        person.press(Qt.Key.Key_Return)
    for _ in range(5):
        person.settle()
    (pdf,) = Path(paths.certificates_folder()).glob("*.pdf")
    content = json.loads(pypdf.PdfReader(pdf).attachments["certificate.json"][0])["certificate"]
    assert content["tag"] == TAG
    assert content["failed"] == len(failed)
    assert len(content["dials"]) == 2
    assert all(len(d["settle_pct"]) >= 8 and None not in d["sector_reach_pct"] for d in content["dials"])
    # what the window showed is what the records hold
    unit = desk.units.find(TAG)[0]
    stored = desk.units.history(unit.id)
    assert {(r.check, r.control) for r in stored.results if r.visit_id == view.visit.id} == set(outcomes)
    assert desk.advice.suspects(unit.id) is not None
