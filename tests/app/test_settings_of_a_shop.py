"""What a shop can set: by the command, and that it is in force where it is used."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app import paths
from station.app.accounts import accounts_of
from station.app.advice import Adviser
from station.app.main import main
from station.app.opening import open_records
from station.app.options import SCALE_PERCENT, options
from station.app.prices import grade_names, with_prices
from station.app.shelf_of_sheets import SheetShelf
from station.diagnosis.guide import load_guide
from station.judgement.limits import standard
from station.records.types import TREATMENT_KINDS, Treatment, Unit
from station.ui.painting.look import SCALES

SET = {
    "shop": ("Corner Bench", "Corner Bench"),
    "contact": ("bench@example.com", "bench@example.com"),
    "page": ("HTTPS://mill-lane.example/check.html?x=1", "HTTPS://mill-lane.example/check.html?x=1"),
    "costs": ("on", "on"),
    "currency": ("chf", "CHF"),
    "hour": ("21,50", "21.50"),
    "price.ready": ("40", "40.00"),
    "price.ready.as-new": ("45", "45.00"),
    "rest.contact-cleaner": ("7", "7"),
    "by-itself": ("off", "off"),
    "theme": ("dark", "dark"),
    "text-size": ("130 %", "130"),
}
REFUSED = {
    ("theme", "blue"): "“blue” is none of auto, light, dark",
    ("hour", "1,2,3"): "“1,2,3” is no amount of EUR; type it like 18.00",
    ("hour", "-5"): "is no amount",
    ("price.parts", "99999999999999"): "is no amount",
    ("currency", "euro"): "type its three letters",
    ("rest.contact-cleaner", "400"): "a whole number from 0 to 365",
    ("rest.contact-cleaner", "²"): "a whole number",
    ("text-size", "7"): "is none of 100",
    ("shop", "a\u202eb"): "signs that cannot be seen",
    ("shop", "ü" * 33): "longer than 64 letters",
    ("page", "not an address"): "begins with https://",
    ("page", "mill-lane.example/check.html"): "begins with https://",
    ("page", "http://mill-lane.example/check.html"): "begins with https://",
    ("page", "https:///check.html"): "begins with https://",
    ("page", "https://mill-lane.example/check.html#2939"): "no # in it",
    ("nope", "1"): "restpoint set lists them all",
}


@pytest.mark.parametrize("name", SET)
def test_it_is_set_shown_and_made_as_shipped_again(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    typed, shown = SET[name]
    assert main(["set", name]) == 0
    before = capsys.readouterr().out
    assert main(["set", name, typed]) == 0
    assert capsys.readouterr().out == f"{name}: {shown}\n"
    assert main(["set", name]) == 0
    assert capsys.readouterr().out == f"{name}: {shown}\n"
    assert main(["set", name, ""]) == 0
    assert capsys.readouterr().out.removesuffix("\n") in (before.strip(), before.replace(", as shipped", "").strip())


@pytest.mark.parametrize(("name", "typed"), REFUSED)
def test_what_it_may_not_be_is_refused_in_one_sentence(
    name: str, typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["set", name, typed]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert REFUSED[name, typed] in said.err
    assert said.err.count("\n") == 1


def test_the_list_has_each_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["set"]) == 0
    text = capsys.readouterr().out
    with open_records() as store:
        there = options(load_guide(), store.get_setting, grade_names(standard()))
    assert len({option.name for option in there}) == len({option.key for option in there}) == len(there)
    assert all(f"  {option.name} " in text and option.title in text for option in there)
    assert sum(option.name.startswith("rest.") for option in there) == len(TREATMENT_KINDS)


def test_the_sizes_of_text_are_those_of_the_window() -> None:
    assert [float(percent) / 100 for percent in SCALE_PERCENT] == list(SCALES)


def test_prices_are_the_guides_until_the_shop_sets_its_own() -> None:
    with open_records() as store:
        adviser = Adviser(store, SheetShelf(paths.sheets_folder()), lambda unit, job: None)
        guide = load_guide()
        assert adviser.guide() == guide
        for key, value in (("hour_minor", "2150"), ("ready_minor", "4000"), ("currency", "CHF")):
            store.set_setting(key, value)
        priced = adviser.guide()
        assert (priced.currency, priced.hour_minor, priced.values.ready_minor) == ("CHF", 2150, 4000)
        assert priced.values.parts_minor == guide.values.parts_minor
        assert priced.treatments == guide.treatments


def test_the_accounts_count_work_at_the_shops_price_of_an_hour() -> None:
    with open_records() as store:
        unit = store.add_unit(Unit("", "A-1", "Plover T2"))
        store.add_treatment(Treatment("", unit.id, "contact cleaner", "", "South button", 30))

        def minutes_cost() -> list[int]:
            return [entry.minor for entry in accounts_of(store, [None]).entries if entry.minutes]

        assert minutes_cost() == [-load_guide().hour_minor // 2]
        store.set_setting("hour_minor", "5000")
        assert minutes_cost() == [-2500]


def test_a_price_by_grade_is_in_force_where_it_is_set() -> None:
    assert main(["set", "price.ready.fair", "24"]) == 0
    with open_records() as store:
        guide = Adviser(store, SheetShelf(paths.sheets_folder()), lambda unit, job: None).guide()
    assert guide.values_for("Plover T2", "fair").ready_minor == 2400
    assert guide.values_for("Plover T2", "good") == guide.values_for("Plover T2") == load_guide().values


@pytest.mark.parametrize("stored", ["", "-1", "much", "٣", "9" * 30])
def test_a_price_that_is_none_leaves_the_guides(stored: str) -> None:
    guide = load_guide()
    assert with_prices(guide, lambda key, default: stored if key == "hour_minor" else default) == guide


def test_days_of_rest_that_were_set_hold(tmp_path: Path) -> None:
    assert main(["set", "rest.clean-from-outside", "5"]) == 0
    with open_records() as store:
        from station.records.rules import rest_days_key

        assert store.get_setting(rest_days_key("clean from outside")) == "5"
