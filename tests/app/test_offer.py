"""The text of an offer, from a unit's own record: nothing is advertised that the records do not say any more."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

from station.app import paths
from station.app.certify import Written, certify
from station.app.declared import beyond_of
from station.app.main import main
from station.app.offers import Offer, offer_of
from station.app.opening import open_records
from station.app.samples import DEMO_LOT, demo_unit, work_through
from station.app.shelf_of_sheets import SheetShelf
from station.bench.plan import wanted_of
from station.errors import InputError
from station.judgement.standing import standing_of
from station.records.store import Store
from station.records.types import Treatment
from station.ui.start import load_fonts

TAG, AT = "SM-07-01", "2026-11-28T10:00:00Z"


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory, qapp) -> Path:
    """Records with one simulated unit that passed."""
    load_fonts()
    folder = tmp_path_factory.mktemp("worked")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RESTPOINT_DATA", str(folder))
        with open_records() as store:
            lot = store.add_lot(DEMO_LOT)
            work_through(store, store.add_unit(replace(demo_unit(TAG), lot_id=lot.id)))
            for key, value in (("bench", "Mill Lane Repairs"), ("contact", "bench@mill-lane.example")):
                store.set_setting(key, value)
    return folder


@pytest.fixture
def store(worked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    folder = tmp_path / "records"
    shutil.copytree(worked, folder)
    monkeypatch.setenv("RESTPOINT_DATA", str(folder))
    with open_records() as opened:
        yield opened


def unit_id(store: Store) -> str:
    return next(unit.id for unit in store.units(TAG) if unit.tag == TAG)


def written(store: Store) -> Written:
    unit = store.unit(unit_id(store))
    return certify(store, unit.id, SheetShelf(paths.sheets_folder()).named(unit.sheet), now=AT)  # type: ignore[arg-type]


def offer(store: Store, path: Path) -> Offer:
    return offer_of(path, store.folder, store, SheetShelf(paths.sheets_folder()).named)


def test_all_that_a_seller_needs_is_in_it(store: Store):
    store.set_setting("check_page", "https://mill-lane.example/check.html")
    done = written(store)
    text = offer(store, done.path).text
    first, *lines = text.splitlines()
    assert first.startswith("Plover T2 Wide – SIMULATED, no real unit. Passed"), "nobody sells a unit that is none"
    assert "Faults: no fault found" in lines
    assert any(line.startswith("Tested: ") and "Left stick" in line for line in lines)
    digits = done.fingerprint.replace(" ", "")
    assert f"Check it yourself: https://mill-lane.example/check.html#{digits}, fingerprint {done.fingerprint}" in lines
    (issued,) = store.certificates()
    assert f"Test certificate {issued.name} of 2026-11-28 by Mill Lane Repairs" in lines
    assert "Questions: bench@mill-lane.example" in lines


@pytest.mark.parametrize(
    "stored",
    ["http://mill-lane.example/check.html", "javascript:alert(1)", "https://mill-lane.example/check.html#0123", "x y"],
)
def test_an_address_that_an_earlier_version_took_is_left_out_and_told(store: Store, stored: str, capsys):
    """It went into the offer as it was stored."""
    store.set_setting("check_page", stored)
    done = written(store)
    made = offer(store, done.path)
    assert f"Check it yourself: the page check.html, which comes with it, fingerprint {done.fingerprint}" in made.text
    assert made.note.startswith("The address of the page that checks certificates cannot be used")
    assert main(["listing", str(done.path)]) == 0
    assert capsys.readouterr().err.strip() == made.note


def test_a_sheet_that_leaves_controls_out_is_found_out_by_the_recordings(store: Store) -> None:
    """The device's own descriptor is in each of them; the headline said “Passed”."""
    unit = store.unit(unit_id(store))
    whole = SheetShelf(paths.sheets_folder()).named(unit.sheet)
    assert whole is not None
    less = replace(whole, controls=tuple(c for c in whole.controls if c.kind != "hat" and c.id != "home"))
    assert certify(store, unit.id, whole, now=AT).note == ""
    done = certify(store, unit.id, less, now=AT)
    assert "does not name 1 direction pad and 1 button that the unit says it has" in done.note
    assert done.note.endswith("absent = [[0x01, 0x39], [0x09, 0x0d]]")
    declared = beyond_of(store, store.history(unit.id), less)
    said = standing_of(store.history(unit.id), wanted_of(less), less, declared.unnamed)
    assert (said.kind, said.missing) == ("incomplete", ())
    text = offer_of(done.path, store.folder).text
    assert "Incomplete: nobody tested 1 direction pad and 1 button that the unit says it has" in text
    stated = replace(less, absent=tuple(one.usage for one in declared.unnamed))
    text = offer_of(certify(store, unit.id, stated, now=AT).path, store.folder).text
    assert "SIMULATED, no real unit. Passed" in text


FAILING = "UPDATE readings SET value = value + 40 WHERE result_id = ? AND pass_limit IS NOT NULL"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (FAILING, "Row {id} of results was changed after it was recorded."),
        (
            "DELETE FROM log WHERE json_extract(event, '$.id') = ?",
            "Row {id} of results is not in the log: it was put in past it.",
        ),
    ],
    ids=["changed", "put in past the log"],
)
def test_no_certificate_is_written_of_records_that_are_not_what_the_log_says(store: Store, change: str, said: str):
    """Results made better with another program, with the guards put back, gave a genuine one that said “Passed”."""
    unit = unit_id(store)
    assert store.changed_past_log(unit) == ()
    result = next(r for r in store.history(unit).results if any(x.limit is not None for x in r.assessment.readings))
    with closing(sqlite3.connect(store.folder / "restpoint.db")) as file, file:
        guards = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            file.execute(f"DROP TRIGGER {name}")
        file.execute(change, (result.id,))
        for _, sql in guards:
            file.execute(sql)
    assert store.changed_past_log(unit) == (said.format(id=result.id),)
    before = list(paths.certificates_folder().glob("*.pdf"))
    with pytest.raises(InputError, match=f"What is recorded of {TAG} was changed by another program"):
        written(store)
    assert list(paths.certificates_folder().glob("*.pdf")) == before
    assert store.certificates() == ()


def test_without_a_key_there_is_no_link_that_checks_nothing(store: Store, monkeypatch: pytest.MonkeyPatch):
    """It said “check.html#, fingerprint”."""
    monkeypatch.setattr("station.app.certify._bench_key", lambda name: (None, "no key"))
    assert "Check it yourself" not in offer(store, written(store).path).text


def test_a_file_that_was_changed_is_not_advertised(store: Store):
    done = written(store)
    done.path.write_bytes(done.path.read_bytes() + b"\n")
    with pytest.raises(InputError, match="is not as it was signed"):
        offer(store, done.path)


@pytest.mark.parametrize("what", ["a result", "a treatment"])
def test_a_record_that_says_something_else_by_now_wants_a_new_certificate(store: Store, what: str):
    done, unit = written(store), unit_id(store)
    if what == "a result":
        store.withdraw("result", store.history(unit).results[-1].id, "the pad was another", "Ines")
    else:
        store.add_treatment(Treatment("", unit, "open and clean", "", "Left stick sensor, horizontal", 9))
    with pytest.raises(InputError, match=f"record of {TAG} says something else than its certificate"):
        offer(store, done.path)
    assert offer(store, written(store).path).text


def test_neither_withdrawn_nor_replaced_is_advertised(store: Store):
    first = written(store)
    second = written(store)
    with pytest.raises(InputError, match="was replaced by"):
        offer(store, first.path)
    latest = max(store.certificates(), key=lambda one: one.number)
    store.withdraw("certificate", latest.id, "wrong photo", "Ines")
    with pytest.raises(InputError, match=r"was withdrawn \(wrong photo\)"):
        offer(store, second.path)


def test_the_command_asks_the_records_too(store: Store, capsys: pytest.CaptureFixture[str]):
    done = written(store)
    assert main(["listing", str(done.path)]) == 0
    assert capsys.readouterr().out.startswith("Plover T2 Wide")
    store.withdraw("certificate", store.certificates()[0].id, "wrong photo", "Ines")
    assert main(["listing", str(done.path)]) == 2
    assert "was withdrawn" in capsys.readouterr().err


def test_the_pictures_say_whose_they_are_and_nothing_is_cut(store: Store):
    """What was measured of a stick went over both edges."""
    pictures = offer(store, written(store).path).pictures
    assert len(pictures) == 2
    for path in pictures:
        image = QImage(str(path))
        ink = [
            (x, y)
            for x in range(image.width())
            for y in range(0, image.height(), 2)
            if image.pixelColor(x, y).lightness() < 200
        ]
        assert min(x for x, _ in ink) >= 8
        assert max(x for x, _ in ink) < image.width() - 8
        assert max(y for _, y in ink) > 0.93 * image.height(), "tag and number stand at the foot"
        red = sum(image.pixelColor(x, y).red() > 150 > image.pixelColor(x, y).green() for x, y in ink if y < 70)
        assert red > 100, "SIMULATED stands above it"
