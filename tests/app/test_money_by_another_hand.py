"""Money worked out a second time, by plain code that shares nothing with the program's: 300 made units of several lots
and currencies, with treatments, returns, parts, donors, fees, and what was withdrawn. The window, the files of
`restpoint accounts`, as a spreadsheet recalculates them, and the SQL view come to the same, to the cent.

The rule is that of the guide: a price is shared alike among the units of a lot and those to come, but for those of
which it is known what they cost, odd cents to those that came first; work is rounded once for the lot and shared by the
minutes. Fractions and decimals, no function of the accounts.
"""

from __future__ import annotations

import csv
import os
import random
import shutil
import subprocess
from collections import defaultdict
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import floor
from pathlib import Path

import openpyxl
import pytest
from PySide6.QtWidgets import QApplication, QWidget

from station.app import paths
from station.app.desk import StationDesk
from station.app.main import main
from station.diagnosis.guide import load_guide
from station.records.types import Comeback, Lot, ShelfPart, Treatment, Unit
from station.ui.painting.look import look_of
from station.ui.panels.money import MoneyPanel
from tests.lots.spreadsheet import Book
from tests.records.records_kit import HandClock, open_store

HOUR = Fraction(1800)
"""what an hour costs in the guide that ships, in EUR"""
SEED = 16
CENTS = {"EUR": 100, "CHF": 100, "USD": 100, "JPY": 1}
FIGURES = (
    "Price share", "Postage share", "Parts and materials", "Work", "Sales", "Fees", "Shipping", "Refunds",
    "Cost of returns",
)  # fmt: skip


@dataclass
class Made:
    """A unit as it was told to the records. `sales`: (day, price, fees, shipping); `returns`: (day, refund, cost);
    `work`: (day, minutes, paid, currency). Amounts in minor units."""

    tag: str
    lot: str
    cost: int = 0
    written: str = ""
    """the day on which it was written up"""
    sales: list[tuple[str, int, int, int]] = field(default_factory=list)
    returns: list[tuple[str, int, int]] = field(default_factory=list)
    work: list[tuple[str, int, int, str]] = field(default_factory=list)
    withdrawn: bool = False


@dataclass
class Story:
    lots: dict[str, Lot]
    units: list[Made]


def told_to_the_records(units: int = 300) -> Story:
    """Make them up, and tell the records."""
    chance = random.Random(SEED)
    clock = HandClock("2026-09-01T08:00:00+00:00")
    lots = {
        "EUR one": Lot("", "EUR one", "2026-09-01", cost_minor=100_001, postage_minor=1_337, expected=70),
        "EUR two": Lot("", "EUR two", "2026-09-15", cost_minor=9_999, postage_minor=0, source="market"),
        "EUR cheap": Lot("", "EUR cheap", "2026-10-01", cost_minor=100, postage_minor=699, expected=20),
        "EUR free": Lot("", "EUR free", "2026-10-01"),
        "CHF": Lot("", "CHF", "2026-10-03", cost_minor=77_777, currency="CHF", postage_minor=2_501, expected=90),
        "USD": Lot("", "USD", "2026-10-20", cost_minor=12_345, currency="USD", postage_minor=11),
        "JPY": Lot("", "JPY", "2026-11-01", cost_minor=100_000, currency="JPY", postage_minor=2_000),
    }
    made: list[Made] = []
    with open_store(paths.records_folder(), clock=clock) as store:
        lots = {name: store.add_lot(lot) for name, lot in lots.items()}
        for k in range(units):
            name = chance.choice([*lots, ""])
            lot = lots.get(name)
            one = Made(f"U-{k:04}", name, chance.choice([0, 0, 0, 850, 333, 1]))
            one.written = clock().date().isoformat()
            lot_id = lot.id if lot is not None else None
            unit = store.add_unit(Unit("", one.tag, "Plover T2", lot_id, cost_minor=one.cost))
            currency = lot.currency if lot is not None else "EUR"
            for _ in range(chance.choice([0, 0, 1, 1, 2, 4])):
                clock.move(minutes=chance.randrange(1, 300))
                done = clock().date().isoformat(), chance.randrange(0, 50), chance.choice([0, 40, 125])
                paid_in = chance.choice([currency, currency, currency, "EUR", "CHF"])
                treatment = Treatment("", unit.id, "adjust", "", minutes=done[1], cost_minor=done[2], currency=paid_in)
                treatment = store.add_treatment(treatment)
                if chance.random() < 0.2:
                    store.withdraw("treatment", treatment.id, "it was another unit")
                else:
                    one.work.append((*done, paid_in))
            for _ in range(chance.choice([0, 1, 1, 2, 3])):
                clock.move(minutes=chance.randrange(1, 300))
                day = clock().date().isoformat()
                price, fees, shipping = chance.randrange(500, 6_000), chance.randrange(0, 300), chance.choice([0, 450])
                sale = {"sold_minor": price, "sold_on": day, "fees_minor": fees, "shipping_minor": shipping}
                store.change_unit(replace(store.unit(unit.id), becomes="sold", **sale))  # type: ignore[arg-type]
                one.sales.append((day, price, fees, shipping))
                if chance.random() < 0.5:
                    break
                clock.move(minutes=chance.randrange(1, 900))
                day = clock().date().isoformat()
                refund, cost = chance.choice([price, price // 3, 0]), chance.choice([0, 390])
                back = store.come_back(Comeback("", unit.id, day, "drifts", "not looked at", refund, cost))
                if chance.random() < 0.3:
                    store.look_at_comeback(back.id, "same fault" if one.work else "nothing found")
                elif chance.random() < 0.2:
                    store.withdraw("comeback", back.id, "it was another buyer's")
                    break
                one.returns.append((day, refund, cost))
            if store.unit(unit.id).becomes == "open" and chance.random() < 0.2:
                part = ShelfPart("", "left stick", "Plover T2", 1, cost_minor=0)
                store.give_up(store.unit(unit.id), [part] if chance.random() < 0.5 else [])
            elif store.unit(unit.id).becomes == "open" and chance.random() < 0.15:
                store.withdraw("unit", unit.id, "not of this lot")
                one.withdrawn = True
            made.append(one)
    return Story(lots, made)


# --- by another hand ----------------------------------------------------------------------------------------


def half_up(value: Fraction) -> int:
    """To a whole number, halves away from nought."""
    return int((Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal(1), ROUND_HALF_UP))


def alike(total: int, places: int) -> list[int]:
    """Cent by cent, one to each in turn."""
    sign, shares = (1 if total >= 0 else -1), [0] * places
    whole = abs(total) // places
    for k in range(places):
        shares[k] = sign * (whole + (1 if k < abs(total) - whole * places else 0))
    return shares


def expected(story: Story, name: str) -> tuple[dict[str, dict[str, int]], int, dict[str, int]]:
    """Of a lot: tag → heading → minor units, what units to come bear, and month → profit."""
    lot = story.lots.get(name)
    units = [one for one in story.units if one.lot == name and not one.withdrawn]
    currency = lot.currency if lot is not None else "EUR"
    found: dict[str, dict[str, int]] = {one.tag: defaultdict(int) for one in units}
    months: dict[str, int] = defaultdict(int)
    to_come = 0
    if lot is None:
        for one in units:
            found[one.tag]["Price share"] = -one.cost
            months[one.written[:7]] -= one.cost
    else:
        missing = max(lot.expected - len(units), 0)
        rest = lot.cost_minor - sum(one.cost for one in units)
        without = [one for one in units if one.cost == 0]
        if rest >= 0 and len(without) + missing > 0:
            shares = alike(rest, len(without) + missing)
            for one in units:
                found[one.tag]["Price share"] = -one.cost
            for one, share in zip(without, shares, strict=False):
                found[one.tag]["Price share"] = -share
            to_come -= sum(shares[len(without) :])
        else:
            for one, share in zip(units, alike(rest, len(units)), strict=True):
                found[one.tag]["Price share"] = -one.cost - share
        postage = alike(lot.postage_minor, max(lot.expected, len(units), 1))
        for one, share in zip(units, postage, strict=False):
            found[one.tag]["Postage share"] = -share
        to_come -= sum(postage[len(units) :])
        months[lot.bought_on[:7]] += to_come + sum(sum(of.values()) for of in found.values())
    labour(units, currency, found, months)
    for one in units:
        of = found[one.tag]
        for day, _, paid, paid_in in one.work:
            if paid_in == currency:
                of["Parts and materials"] -= paid
                months[day[:7]] -= paid
        for day, price, fees, shipping in one.sales:
            of["Sales"] += price
            of["Fees"] -= fees
            of["Shipping"] -= shipping
            months[day[:7]] += price - fees - shipping
        for day, refund, cost in one.returns:
            of["Refunds"] -= refund
            of["Cost of returns"] -= cost
            months[day[:7]] -= refund + cost
        of["Profit"] = sum(of.values())
        of["Minutes"] = sum(minutes for _, minutes, _, _ in one.work)
    return found, to_come, months


def labour(units: list[Made], currency: str, found: dict[str, dict[str, int]], months: dict[str, int]) -> None:
    """Work at the price of an hour, in the currency of the guide alone: rounded down, the cents that are left to the
    greatest fractions."""
    done = [(one.tag, day, minutes) for one in units for day, minutes, _, _ in one.work if minutes]
    if currency != "EUR" or not done:
        return
    total = half_up(sum(minutes for _, _, minutes in done) * HOUR / 60)
    exact = [Fraction(total * minutes, sum(m for _, _, m in done)) for _, _, minutes in done]
    left = total - sum(floor(share) for share in exact)
    by_fraction = sorted(range(len(done)), key=lambda k: exact[k] - floor(exact[k]), reverse=True)
    for k, (tag, day, _) in enumerate(done):
        cost = floor(exact[k]) + (1 if k in by_fraction[:left] else 0)
        found[tag]["Work"] -= cost
        months[day[:7]] -= cost


def an_hour(of: dict[str, int]) -> int | None:
    return half_up(Fraction((of["Profit"] - of["Work"]) * 60, of["Minutes"])) if of["Minutes"] else None


# --- what the program says -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Story]:
    """The records, and what was told to them."""
    folder = tmp_path_factory.mktemp("shop")
    before = os.environ.get("RESTPOINT_DATA")
    os.environ["RESTPOINT_DATA"] = str(folder)
    try:
        return folder, told_to_the_records()
    finally:
        if before is None:
            del os.environ["RESTPOINT_DATA"]
        else:
            os.environ["RESTPOINT_DATA"] = before


@pytest.fixture
def story(shop: tuple[Path, Story], monkeypatch: pytest.MonkeyPatch) -> Story:
    folder, told = shop
    monkeypatch.setenv("RESTPOINT_DATA", str(folder))
    return told


def currency_of(story: Story, name: str) -> str:
    return story.lots[name].currency if name else "EUR"


def minor(text: str, currency: str) -> int:
    """Minor units of a figure; a spreadsheet adds in binary, so it may be off by less than a millionth of one."""
    value = Decimal(text.replace(",", "").replace("−", "-")) * CENTS[currency]
    assert abs(value - round(value)) < Decimal("1e-6"), text
    return round(value)


def lots_of(story: Story) -> list[str]:
    return [*story.lots, ""]


def test_the_guide_that_ships_has_the_price_of_an_hour_that_is_reckoned_with() -> None:
    guide = load_guide()
    assert (guide.hour_minor, guide.currency) == (HOUR, "EUR")


def test_the_story_has_of_everything(story: Story) -> None:
    kept = [one for one in story.units if not one.withdrawn]
    assert len(story.units) == 300
    assert {one.lot for one in kept} == {*story.lots, ""}
    assert sum(one.withdrawn for one in story.units) > 5
    assert sum(len(one.sales) > 1 for one in kept) > 20
    assert any(paid_in != currency_of(story, one.lot) for one in kept for _, _, _, paid_in in one.work)


def test_the_table_of_units_comes_to_it(story: Story, tmp_path: Path) -> None:
    assert main(["accounts", str(tmp_path / "units.csv")]) == 0
    rows = {row["Tag"]: row for row in csv.DictReader((tmp_path / "units.csv").read_text("utf-8-sig").splitlines())}
    wanted = {tag: of for name in lots_of(story) for tag, of in expected(story, name)[0].items()}
    assert set(rows) == set(wanted)
    for tag, of in wanted.items():
        currency = rows[tag]["Currency"]
        told = {head: minor(rows[tag][head], currency) for head in (*FIGURES, "Profit")}
        assert told == {head: of[head] for head in (*FIGURES, "Profit")}, tag
        assert int(rows[tag]["Minutes"]) == of["Minutes"]
        hour = rows[tag]["Profit an hour"]
        assert (minor(hour, currency) if hour else None) == an_hour(of), tag


def test_the_list_of_amounts_comes_to_it_by_lot_and_by_month(story: Story, tmp_path: Path) -> None:
    assert main(["accounts", str(tmp_path / "list.csv"), "--list"]) == 0
    lots: dict[tuple[str, str], int] = defaultdict(int)
    months: dict[tuple[str, str], int] = defaultdict(int)
    for row in csv.DictReader((tmp_path / "list.csv").read_text("utf-8-sig").splitlines()):
        amount = minor(row["Amount"], row["Currency"])
        if row["Currency"] == currency_of(story, row["Lot"]):
            lots[row["Lot"], row["Currency"]] += amount
            months[row["Month"], row["Currency"]] += amount
    wanted_lots, wanted_months = sums(story)
    assert {key: amount for key, amount in lots.items() if amount} == wanted_lots
    assert {key: amount for key, amount in months.items() if amount} == wanted_months


def sums(story: Story) -> tuple[dict[tuple[str, str], int], dict[tuple[str, str], int]]:
    """(lot, currency) → profit, and (month, currency) → profit, but for amounts in another currency than the lot's."""
    lots, months = {}, defaultdict(int)
    for name in lots_of(story):
        units, to_come, by_month = expected(story, name)
        lots[name, currency_of(story, name)] = sum(of["Profit"] for of in units.values()) + to_come
        for month, amount in by_month.items():
            months[month, currency_of(story, name)] += amount
    return {key: amount for key, amount in lots.items() if amount}, {k: a for k, a in months.items() if a}


def test_the_view_of_the_records_comes_to_it(story: Story) -> None:
    with open_store(paths.records_folder(), read_only=True) as store, store._connections.reading() as db:
        found = {row[0]: row[1:] for row in db.execute(
            "SELECT tag, currency, price_minor, postage_minor, parts_minor, minutes, sales_minor, fees_minor, "
            "shipping_minor, refund_minor, return_minor, profit_minor FROM unit_money"
        )}  # fmt: skip
    heads = ("Price share", "Postage share", "Parts and materials")
    for name in lots_of(story):
        for tag, of in expected(story, name)[0].items():
            wanted = (
                currency_of(story, name), *(-of[head] for head in heads), of["Minutes"], of["Sales"],
                *(-of[head] for head in ("Fees", "Shipping", "Refunds", "Cost of returns")), of["Profit"] - of["Work"],
            )  # fmt: skip
            assert found.pop(tag) == wanted, tag
    assert not found


def test_the_window_comes_to_it(story: Story, qapp: QApplication) -> None:
    store = open_store(paths.records_folder())
    desk = StationDesk(store)
    over = QWidget()
    over.resize(1200, 800)
    try:
        for name, lot in story.lots.items():
            panel = MoneyPanel(desk.stock, lot, "x.xlsx", look_of("dark", 1.0), over)
            told = {line.cells[0]: line.cells[1:] for line in panel.units._lines.all_lines()}
            units, to_come, _ = expected(story, name)
            for tag, of in units.items():
                assert told[tag] == cells(of, lot.currency), tag
            whole: dict[str, int] = defaultdict(int, {"Price share": to_come, "Profit": to_come})
            for of in units.values():
                for head in (*FIGURES, "Profit", "Minutes"):
                    whole[head] += of[head]
            assert told["Sum"] == cells(whole, lot.currency), name
    finally:
        over.deleteLater()
        desk.close()


def cells(of: dict[str, int], currency: str) -> tuple[str, ...]:
    """Costs, work, brought, profit, an hour, as English on a screen writes them."""
    costs = sum(of[head] for head in FIGURES[:3])
    brought = sum(of[head] for head in FIGURES[4:])
    return tuple("" if amount is None else shown(amount, currency) for amount in (
        costs, of["Work"], brought, of["Profit"], an_hour(of),
    ))  # fmt: skip


def shown(amount: int, currency: str) -> str:
    value = Decimal(abs(amount)) / CENTS[currency]
    text = f"{value:,.0f}" if CENTS[currency] == 1 else f"{value:,.2f}"
    return f"{'−' if amount < 0 else ''}{text}"


def check_book(story: Story, units: dict[str, dict[str, str]], others: dict[str, dict[tuple[str, str], str]]) -> None:
    """The rows of units by tag, and of lots and months their profit, as a spreadsheet shows them."""
    wanted: dict[str, int] = defaultdict(int)
    for name in lots_of(story):
        currency = currency_of(story, name)
        for tag, of in expected(story, name)[0].items():
            row = units[tag]
            for head in (*FIGURES, "Profit"):
                assert minor(row[head] or "0", currency) == of[head], (tag, head)
                wanted[currency, head] += of[head]  # type: ignore[index]
            wanted[currency, "Minutes"] += of["Minutes"]  # type: ignore[index]
            assert (minor(row["Profit an hour"], currency) if row["Profit an hour"] else None) == an_hour(of), tag
    for currency in CENTS:
        row = units[f"Sum, {currency}"]
        of = {head: wanted[currency, head] for head in (*FIGURES, "Profit", "Minutes")}  # type: ignore[index]
        assert {head: minor(row[head], currency) for head in (*FIGURES, "Profit")} == {
            head: of[head] for head in (*FIGURES, "Profit")
        }
        assert minor(row["Profit an hour"], currency) == an_hour(of), currency
    lots, months = sums(story)
    for sheet, sums_of in (("Lots", lots), ("Months", months)):
        found = {key: minor(text, key[1]) for key, text in others[sheet].items()}
        for key, amount in sums_of.items():
            rest = amounts_elsewhere(story, sheet, key)
            assert found[key] == amount + rest, (sheet, key)


def amounts_elsewhere(story: Story, sheet: str, key: tuple[str, str]) -> int:
    """What was paid in this currency for units of lots in another: the list of amounts has it too."""
    return -sum(
        paid
        for one in story.units
        for day, _, paid, paid_in in one.work
        if not one.withdrawn
        and paid_in == key[1] != currency_of(story, one.lot)
        and (one.lot == key[0] if sheet == "Lots" else day[:7] == key[0])
    )


def test_a_spreadsheet_library_recalculates_the_workbook_to_it(story: Story, tmp_path: Path) -> None:
    assert main(["accounts", str(tmp_path / "money.xlsx")]) == 0
    book = Book((tmp_path / "money.xlsx").read_bytes())

    def rows(sheet: str) -> list[dict[str, str]]:
        letter = openpyxl.utils.get_column_letter
        heads = [cell.value for cell in book.sheet(sheet)[1]]
        return [
            {head: str(_none(book.value(sheet, f"{letter(c)}{r}"))) for c, head in enumerate(heads, 1)}
            for r in range(2, book.sheet(sheet).max_row + 1)
        ]

    units = {row["Tag"]: row for row in rows("Units")}
    check_book(story, units, {
        "Lots": {(row["Lot"], row["Currency"]): row["Profit"] for row in rows("Lots")},
        "Months": {(row["Month"], row["Currency"]): row["Profit"] for row in rows("Months")},
    })  # fmt: skip


def _none(value: object) -> object:
    return "" if value is None else value


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_libreoffice_recalculates_the_workbook_to_it(story: Story, tmp_path: Path) -> None:
    assert main(["accounts", str(tmp_path / "money.xlsx")]) == 0
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    form = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
    command = ["soffice", profile, "--headless", "--convert-to", form, "--outdir", str(tmp_path)]
    subprocess.run([*command, str(tmp_path / "money.xlsx")], capture_output=True, timeout=180, check=True)

    def rows(sheet: str) -> list[dict[str, str]]:
        return list(csv.DictReader((tmp_path / f"money-{sheet}.csv").read_text("utf-8").splitlines()))

    check_book(story, {row["Tag"]: row for row in rows("Units")}, {
        "Lots": {(row["Lot"], row["Currency"]): row["Profit"] for row in rows("Lots")},
        "Months": {(row["Month"], row["Currency"]): row["Profit"] for row in rows("Months")},
    })  # fmt: skip
