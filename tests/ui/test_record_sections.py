"""The record pane makes anew only what says something else, and once a frame."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot
from workbench import Workbench

from station.checks.types import Outcome
from station.records.types import Note
from station.ui.painting.look import DARK
from station.ui.painting.widgets import plain_label
from station.ui.ports import RecordChanged
from station.ui.record.rows import Cell, VisitRow, VisitTable
from station.ui.record.sections import Section
from station.ui.record.visits import VisitGrid
from station.ui.window import MainWindow
from station.words import record as words


def row(label: str, *cells: str) -> VisitRow:
    return VisitRow(label, label, tuple(Cell(text, Outcome.PASS) for text in cells), Outcome.PASS)


def parts(grid: VisitGrid) -> list[list[QWidget]]:
    return [list(made) for made in grid._parts]


def test_a_section_is_made_anew_only_when_it_says_something_else(qtbot: QtBot) -> None:
    made: list[str] = []

    def build(box: QVBoxLayout) -> None:
        made.append("once")
        box.addWidget(plain_label("a"))

    pane = QWidget()
    qtbot.addWidget(pane)
    section = Section(DARK)
    QVBoxLayout(pane).addWidget(section)
    for what in (("a", 1), ("a", 1), ("a", 2), None, None, ("a", 2)):
        section.say(what, build)
    assert len(made) == 3
    section.say(None, None)
    assert not section.isVisibleTo(pane)


@pytest.mark.parametrize(
    ("after", "kept"),
    [
        pytest.param((row("A", "1"), row("B", "2")), [True, True], id="nothing changed"),
        pytest.param((row("A", "1"), row("B", "3")), [True, False], id="one figure changed"),
        pytest.param((row("A", "1"), row("B", "2"), row("C", "9")), [True, True], id="a row came"),
        pytest.param((row("A", "1"),), [True], id="a row went"),
    ],
)
def test_rows_of_the_table_stay_as_long_as_they_say_the_same(
    qtbot: QtBot, after: tuple[VisitRow, ...], kept: list[bool]
) -> None:
    grid = VisitGrid(DARK)
    qtbot.addWidget(grid)
    grid.show_table(VisitTable(("now",), (row("A", "1"), row("B", "2")), ("",)), 8)
    before = parts(grid)
    grid.show_table(VisitTable(("now",), after, ("",)), 8)
    assert [old == new for old, new in zip(before, parts(grid), strict=False)] == kept
    assert len(parts(grid)) == len(after)


def test_other_visits_make_every_row_anew(qtbot: QtBot) -> None:
    grid = VisitGrid(DARK)
    qtbot.addWidget(grid)
    grid.show_table(VisitTable(("now",), (row("A", "1"),), ("",)), 8)
    before = parts(grid)
    grid.show_table(VisitTable(("intake", "now"), (row("A", "1", "2"),), ("", "")), 8)
    assert [len(made) for made in parts(grid)] == [3]
    assert parts(grid) != before


def test_texts_stand_in_reading_order_whatever_was_drawn_last(visit: MainWindow, desk: Workbench) -> None:
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    desk.desk.units.note(Note("", "unit-4", "", "grip worn"))
    desk.settle(visit)
    suspect = desk.desk.advice.suspects("unit-4")[0].name
    texts = visit.record.texts()
    log = "Log · Z: withdraw an entry"
    order = ["Visits", "now", "Left stick, at rest", words.FINDINGS, "Suspects", suspect, log, "grip worn"]
    places = [texts.index(text) for text in order]
    assert places == sorted(places)


def test_the_record_is_read_once_for_all_events_of_a_frame(
    visit: MainWindow, desk: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    units, history = desk.desk.units, desk.desk.units.history
    monkeypatch.setattr(units, "history", lambda unit_id: read.append(unit_id) or history(unit_id))
    visit.events.take([RecordChanged("unit-4"), RecordChanged("unit-4"), RecordChanged("")])
    assert read == ["unit-4"]
    visit.bench.draw_record()
    assert read == ["unit-4", "unit-4"]
