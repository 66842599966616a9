"""`restpoint plan`: the plan of a lot on the command line, and what it cannot plan in one sentence."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from station.app import paths
from station.app.main import main
from station.app.shelf_of_sheets import SheetShelf
from station.records.types import Lot, Unit
from tests.bench.lot import fill
from tests.records.records_kit import open_store


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records with a lot of some units, most of them tested."""
    folder = tmp_path_factory.mktemp("filled")
    with open_store(folder) as store:
        fill(store, SheetShelf(folder / "sheets"), 12, random.Random(7))
        store.add_lot(Lot("", "SM-71", "2026-03-02"))
        francs = store.add_lot(Lot("", "SM-72", "2026-03-02", currency="CHF"))
        store.add_unit(Unit("", "SM-72-01", "Plover T2", francs.id))
    return folder


@pytest.fixture(autouse=True)
def _there(filled: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RESTPOINT_DATA", str(filled))


def test_it_says_what_to_do_with_each_unit_in_the_hours_at_hand(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "SM-70", "--hours", "2"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Of 2 h it takes ")
    assert "No other plan brings more." in said
    assert "One more hour would bring" in said
    assert "ready units bring 10 % less:" in said
    with open_store(paths.records_folder()) as store:
        lot = next(lot for lot in store.lots() if lot.name == "SM-70")
        assert all(unit.tag in said for unit in store.units_of_lot(lot.id))


def test_without_hours_it_takes_as_many_as_it_needs(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "SM-70"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("It takes ")
    assert "One more hour" not in said


def test_without_time_nothing_is_repaired(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "SM-70", "--hours", "0"]) == 0
    said = capsys.readouterr().out
    assert "repaired" not in said.splitlines()[0]
    assert "One more hour would bring €" in said


def test_prices_of_the_shop_count(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "SM-70"]) == 0
    before = capsys.readouterr().out
    with open_store(paths.records_folder()) as store:
        store.set_setting("ready_minor", "9900")
    try:
        assert main(["plan", "SM-70"]) == 0
    finally:
        with open_store(paths.records_folder()) as store:
            store.set_setting("ready_minor", "")
    assert capsys.readouterr().out.splitlines()[0] != before.splitlines()[0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(["SM-70", "--hours", "-3"], "There cannot be less than no hours", id="negative hours"),
        pytest.param(["SM-70", "--hours", "some"], "“some” is no number of hours", id="no number"),
        pytest.param(["SM-99"], "There is no lot “SM-99”; there are:", id="no such lot"),
        pytest.param(["SM-71"], "There is no unit in SM-71 yet", id="an empty lot"),
        pytest.param(["SM-72"], "SM-72 is in CHF and your prices are in EUR", id="another currency"),
    ],
)
def test_what_cannot_be_planned_is_one_sentence(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", *arguments]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert told.err.startswith(f"restpoint: {said}")
    assert len(told.err.splitlines()) == 1


def test_without_prices_it_says_how_to_set_them(capsys: pytest.CaptureFixture[str]) -> None:
    names = ("ready_minor", "as_is_minor", "parts_minor")
    with open_store(paths.records_folder()) as store:
        for name in names:
            store.set_setting(name, "0")
    try:
        assert main(["plan", "SM-70"]) == 2
    finally:
        with open_store(paths.records_folder()) as store:
            for name in names:
                store.set_setting(name, "")
    assert "restpoint set price.ready" in capsys.readouterr().err


def test_a_lot_of_which_all_is_sold_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    with open_store(paths.records_folder()) as store:
        lot = store.add_lot(Lot("", "SM-73", "2026-03-02"))
        unit = store.add_unit(Unit("", "SM-73-01", "Plover T2", lot.id))
        store.change_unit(replace(unit, becomes="sold", sold_minor=3000))
    assert main(["plan", "SM-73"]) == 2
    assert "Every unit of SM-73 has become something" in capsys.readouterr().err
