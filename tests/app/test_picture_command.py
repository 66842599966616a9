"""`restpoint picture RESULT`."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app import paths
from station.app.main import main
from station.app.opening import open_records
from station.app.shelf_of_sheets import SheetShelf
from station.capture.file import write_capture
from station.checks.types import Assessment, Outcome
from station.evidence.assess import assess_capture
from station.records.types import Result, Unit
from tests.checks.made_captures import SHEET, Script, button, presses


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
