"""`restpoint picture RESULT`, and of a unit's tag its course."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from station.app import paths
from station.app.main import main
from station.app.opening import RULES, open_records
from station.app.shelf_of_sheets import SheetShelf
from station.capture.file import write_capture
from station.checks.types import Assessment, Outcome
from station.evidence.assess import assess_capture
from station.records.store import open_store
from station.records.types import Result, Unit
from station.words import evidence_room as words
from tests.checks.made_captures import SHEET, Script, button, presses
from tests.lots.made_shop import COURSE, long_course
from tests.records.records_kit import HandClock


@pytest.fixture
def result(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The id of a recorded result with its reports."""
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    SheetShelf(paths.sheets_folder()).save(SHEET)
    with open_records() as store:
        unit = store.add_unit(Unit("", "A-1", SHEET.name, None, "", 0x1209, 1, SHEET.name))
        visit = store.start_visit(unit.id, "intake")
        capture = Script().add("contact", "key_15", {button(15): presses([400, 900, 1400], 2500, 120)}).capture()
        (done,) = assess_capture(capture, SHEET).checks
        sha256 = store.keep_capture(write_capture(capture))
        kept = store.add_result(Result("", visit.id, "contact", "key_15", 0, "", done.assessment, sha256))
        store.add_result(Result("by-hand", visit.id, "hold", "key_15", 0, "", Assessment(Outcome.FAIL), by_hand=True))
        store.finish_visit(visit.id)
    return kept.id


def test_it_writes_the_picture_and_the_numbers(result: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    to = tmp_path / "out"
    assert main(["picture", result, "--to", str(to)]) == 0
    assert {p.suffix for p in to.iterdir()} == {".png", ".svg", ".csv"}
    assert capsys.readouterr().out.count("A-1-visit-1-contact-key_15-time") == 3
    rows = next(to.glob("*.csv")).read_text("utf-8").splitlines()
    assert len(rows) == 1 + 6, "three presses, closed and opened"
    assert next(to.glob("*.png")).read_bytes().startswith(b"\x89PNG")


def test_a_result_that_is_not_there(result: str, capsys: pytest.CaptureFixture[str]):
    assert main(["picture", "no-such-id"]) == 2
    assert "no-such-id" in capsys.readouterr().err


def test_a_capture_that_is_gone(result: str, capsys: pytest.CaptureFixture[str]):
    for file in (paths.records_folder() / "captures").rglob("*.npz"):
        file.unlink()
    assert main(["picture", result]) == 2
    assert "not in the captures folder any more" in capsys.readouterr().err


def test_the_tag_of_a_unit_writes_its_course(result: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """A picture of each reading that did not always pass, with axis, limits and every visit; and numbers of all."""
    clock = HandClock("2026-11-02T09:00:00+00:00")
    with open_store(paths.records_folder(), RULES, clock=clock) as store:
        long_course(store, clock.move, SHEET.name)
    to = tmp_path / "out"
    assert main(["picture", "SM-07-12", "--to", str(to)]) == 0
    names = {p.name for p in to.iterdir()}
    offset, back = "SM-07-12-course-rest-left_stick-offset", "SM-07-12-course-letgo-left_stick-return_offset"
    assert names == {f"{name}.{ending}" for name in (offset, back) for ending in ("png", "svg", "csv")}
    assert set(capsys.readouterr().out.split()) == {str(to / name) for name in names}
    svg = (to / f"{offset}.svg").read_text("utf-8")
    said = [html.unescape(text) for text in re.findall(r">([^<>]+)</text>", svg)]
    drawn = " ".join(said).replace("\N{NO-BREAK SPACE}", " ")
    for wanted in ("SM-07-12", "0 %", "5 %", "10 %", "15 %", "module", "intake", "replace", "off centre"):
        assert wanted in drawn, wanted
    assert len(re.findall(r"2026-1[12]-\d\d", drawn)) >= len(COURSE)
    assert len((to / f"{offset}.csv").read_text("utf-8-sig").splitlines()) == 1 + 2 * len(COURSE)
    assert (to / f"{offset}.png").read_bytes().startswith(b"\x89PNG")


def test_a_unit_without_a_reading_has_no_course(result: str, capsys: pytest.CaptureFixture[str]):
    with open_records() as store:
        store.add_unit(Unit("", "A-2", SHEET.name, None, sheet=SHEET.name))
    assert main(["picture", "A-2"]) == 2
    assert words.NO_COURSE in capsys.readouterr().err
