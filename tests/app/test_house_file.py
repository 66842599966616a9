"""The shop's own limits and grades on a whole desk: in the record, on the lot, on a certificate, exported."""

from __future__ import annotations

import csv
import json
import os
from pathlib import Path

import pytest

from station.app import paths
from station.app.advice import Adviser
from station.app.certify import certificate_of, steps_of
from station.app.commands import export
from station.app.desk import StationDesk
from station.app.house import HouseFile
from station.app.lots import LotAdviser
from station.app.shelf_of_sheets import SheetShelf
from station.app.shop import Shop
from station.bench.plan import wanted_of
from station.certificate.content import to_json
from station.checks.types import Assessment, Outcome, Reading
from station.diagnosis.guide import load_guide
from station.records.store import Store
from station.records.types import Lot, Result, Unit
from station.ui.lots.rows import unit_line
from station.ui.ports import Said
from tests.records.records_kit import open_store

GOOD = '[rest]\noffset = [4, 8]\n[[grade]]\nname = "A"\n[grade.limits.rest]\noffset = [2, 4]\n[[grade]]\nname = "B"\n'
BAD = "[rest]\noffset = [4"


@pytest.fixture
def store(tmp_path: Path, monkeypatch):
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))
    with open_store(tmp_path) as opened:
        yield opened


def write(text: str) -> None:
    (paths.records_folder() / "limits.toml").write_text(text, "utf-8")


def whole(store: Store) -> Unit:
    """A unit of the sample model that passed everything."""
    sheet = next(s for s in SheetShelf(paths.sheets_folder()).sheets() if s.name == "Plover T2")
    lot = store.lots()[0].id if store.lots() else None
    unit = store.add_unit(Unit("", "SM-07-01", sheet.name, lot, sheet=sheet.name))
    visit = store.start_visit(unit.id, "intake")
    for check, control in wanted_of(sheet):
        name, value = ("offset", 2.6) if check == "rest" else ("measured", 1.0)
        readings = (Reading(name, value, "%", 0.3, 5.0, 10.0),)
        done = Assessment(Outcome.PASS, readings)
        store.add_result(Result("", visit.id, check, control, 0, "", done))
    store.finish_visit(visit.id)
    return unit


def test_the_file_is_read_again_when_it_changed(store: Store):
    file = HouseFile(store.folder)
    shipped = file.now()
    assert file.now() is shipped
    write(GOOD)
    own = file.now()
    assert own.limits["rest"]["offset"] == (4.0, 8.0)
    assert file.now() is own
    write(BAD)
    assert "not valid TOML" in file.now().problem
    assert file.now().limits == shipped.limits
    os.remove(store.folder / "limits.toml")
    assert file.now() == shipped


def test_the_grade_follows_the_file_and_the_certificate_does_not(store: Store):
    unit, jobs = whole(store), []
    file = HouseFile(store.folder)
    adviser = Adviser(store, SheetShelf(paths.sheets_folder()), lambda _, job: jobs.append(job), file.now)

    def grade():
        adviser.grade(unit.id)
        while jobs:
            jobs.pop()()
        return adviser.grade(unit.id)

    assert grade().grade == "as new"
    write(GOOD)
    assert grade().grade == "B"
    assert grade().kept_from.startswith("not “A”: left stick, at rest: off centre 2.60")
    sheet = SheetShelf(paths.sheets_folder()).of_unit(unit)

    def content():
        steps = steps_of(store.history(unit.id), sheet)
        made = certificate_of(
            store,
            unit.id,
            sheet,
            steps,
            file.now(),
            number="B-00001",
            now="2026-03-09T10:00:00Z",
            shop=Shop("b", "", "p"),
        )
        return json.loads(to_json(made))["certificate"]

    before = content()
    assert (before["grade"]["name"], before["grade"]["scale"]) == ("B", "shop")
    write(BAD)
    assert grade().none == "not graded: the shop's limits cannot be used"
    assert content()["grade"]["name"] == ""
    assert any("could not be used" in line for line in content()["deviations"])
    assert before["grade"]["name"] == "B"


def test_the_lot_shows_the_grades_of_its_units(store: Store):
    store.add_lot(Lot("lot-7", "SM-07", "2026-03-01"))
    unit = whole(store)
    file = HouseFile(store.folder)
    adviser = LotAdviser(store, SheetShelf(paths.sheets_folder()), load_guide, lambda: "2026-03-09", print, file.now)
    try:
        for text, grade in (("", "as new"), (GOOD, "B"), (BAD, "–")):
            write(text)
            view = adviser.view("lot-7")
            assert view is not None
            assert view.grades == {unit.id: grade}
            assert unit_line(unit, view.grades[unit.id]).cells[-2] == grade
    finally:
        adviser.close()


def test_a_file_that_cannot_be_used_is_said_when_the_program_starts(store: Store):
    write(BAD)
    desk = StationDesk(store, watch=False)
    try:
        desk.settle()
        said = [event.text for event in desk.live.take_events() if isinstance(event, Said)]
        assert len(said) == 1
        assert "limits.toml" in said[0]
        assert "the limits that ship are in force, and no unit is graded" in said[0]
        assert desk.sheets.limits_problem() == said[0]
        assert desk.sheets.limits()["rest"]["offset"] == (5.0, 10.0)
    finally:
        desk.close()


def test_the_limits_in_force_on_the_bench_are_the_shops(store: Store):
    write(GOOD)
    desk = StationDesk(store, watch=False)
    try:
        assert desk.sheets.limits()["rest"]["offset"] == (4.0, 8.0)
        assert desk.sheets.limit_origin("rest", Reading("offset", 1.0, "%", 0.1, 4.0, 8.0)) == "shop"
        assert desk.sheets.limits_problem() == ""
    finally:
        desk.close()


def test_the_grades_are_exported(store: Store, tmp_path: Path, monkeypatch):
    write(GOOD)
    whole(store)
    store.add_unit(Unit("", "SM-07-02", "Plover T2", sheet="Plover T2"))
    out = tmp_path / "out"
    monkeypatch.setattr(export, "open_records", lambda read_only: store)
    assert export.run(type("Args", (), {"folder": out})()) == 0
    with (out / "grades.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(r["tag"], r["grade"], r["not_graded"]) for r in rows] == [("SM-07-01", "B", "")]
    assert rows[0]["kept_from"].startswith("not “A”")
