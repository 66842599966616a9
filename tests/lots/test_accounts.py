"""Money that adds up, to the cent: shares, entries, sums, and the files that are written of them."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from station.diagnosis.guide import load_guide
from station.lots.account_files import Accounts, entries_csv, plain_amount, units_csv, workbook
from station.lots.accounts import (
    KINDS,
    Kept,
    entries_of,
    equal_shares,
    months_of,
    postage_shares,
    price_shares,
    shares_by,
    sums_of,
    unit_accounts,
)
from station.lots.money import lot_money
from station.records.types import Comeback, Lot, Treatment, Unit
from station.words.figures import PAPER, Style
from tests.lots.spreadsheet import Book

LOT = Lot("l1", "SM-08", "2026-11-02", "Ines", 10_000, "EUR", "", "Market", 700)
GUIDE = load_guide()
CONTINENT = Style(decimal=",", group=".", date="dd.MM.yyyy")


def unit(name: str, **what: object) -> Unit:
    return Unit(name, f"SM-08-{name}", "Plover T2", "l1", created_at="2026-11-03T10:00:00.000Z", **what)  # type: ignore[arg-type]


# --- shares -----------------------------------------------------------------------------------------------------


@given(st.integers(-(10**9), 10**9), st.integers(1, 300))
def test_equal_shares_come_to_the_whole_and_differ_by_a_cent(total: int, count: int) -> None:
    shares = equal_shares(total, count)
    assert sum(shares) == total
    assert max(shares) - min(shares) <= 1


@given(st.integers(-(10**9), 10**9), st.lists(st.integers(0, 10_000), min_size=1, max_size=60))
def test_shares_in_proportion_come_to_the_whole_and_are_at_most_a_cent_off(total: int, weights: list[int]) -> None:
    shares = shares_by(total, weights)
    assert sum(shares) == total
    if weight := sum(weights):
        assert all(abs(s * weight - total * w) < weight for s, w in zip(shares, weights, strict=True))


def test_hamilton_s_method_as_it_is_worked_by_hand() -> None:
    # 100.00 by 1 : 1 : 1, and 0.10 by 5 : 3 : 1 = 5.55…, 3.33…, 1.11… → 6, 3, 1
    assert shares_by(10_000, [1, 1, 1]) == [3334, 3333, 3333]
    assert shares_by(10, [5, 3, 1]) == [6, 3, 1]
    assert shares_by(-10, [5, 3, 1]) == [-6, -3, -1]
    assert shares_by(7, [0, 0]) == [4, 3]


@pytest.mark.parametrize(
    ("own", "cost", "expected", "shares", "left"),
    [
        pytest.param([0, 0, 0], 10_000, 0, [3334, 3333, 3333], 0, id="shared alike"),
        pytest.param([4000, 0, 0], 10_000, 0, [4000, 3000, 3000], 0, id="what was paid for one is its own"),
        pytest.param([0, 0], 10_000, 4, [2500, 2500], 5000, id="two are still to come"),
        pytest.param([3000, 4000], 10_000, 4, [3000, 4000], 3000, id="the two to come bear the rest"),
        pytest.param([3000, 4000], 10_000, 0, [4500, 5500], 0, id="what differs is shared alike"),
        pytest.param([6000, 6001], 10_000, 0, [4999, 5001], 0, id="a discount is shared alike"),
        pytest.param([9000, 0], 8_001, 0, [8500, -499], 0, id="one alone cost more than the lot"),
        pytest.param([], 10_000, 0, [], 10_000, id="no unit yet"),
    ],
)
def test_the_price_of_a_lot_is_shared_to_the_cent(
    own: list[int], cost: int, expected: int, shares: list[int], left: int
) -> None:
    lot = replace(LOT, cost_minor=cost, expected=expected)
    units = [unit(str(k), cost_minor=cost) for k, cost in enumerate(own)]
    found, over = price_shares(lot, units)
    assert ([found[u.id] for u in units], over) == (shares, left)
    assert sum(shares) + left == cost


def test_postage_is_shared_alike_among_those_that_are_here_and_to_come() -> None:
    assert postage_shares(LOT, [unit("1"), unit("2")]) == ({"1": 350, "2": 350}, 0)
    assert postage_shares(replace(LOT, expected=3), [unit("1"), unit("2")]) == ({"1": 234, "2": 233}, 233)
    assert postage_shares(LOT, []) == ({}, 700)


# --- entries and sums ---------------------------------------------------------------------------------------------


def treated(name: str, day: str, minutes: int, cost: int = 0, currency: str = "EUR") -> Treatment:
    return Treatment(
        f"t{name}{day}{minutes}", name, "clean the sensor", f"{day}T10:00:00.000Z", "", minutes, "", cost, currency
    )


SALE = {"becomes": "sold", "sold_on": "2026-12-01", "channel": "market"}
KEPT = (
    Kept(
        unit("1", **SALE, sold_minor=3100, fees_minor=310, shipping_minor=450),
        (treated("1", "2026-11-10", 25, 210), treated("1", "2026-11-12", 10)),
    ),
    Kept(
        unit("2", becomes="open"),
        (treated("2", "2026-11-10", 7, 40),),
        (
            Comeback(
                "c", "2", "2026-12-20", "drifts", "same fault", 3000, 520, "2026-11-30", 3200, "market", 320, 450,
            ),
        ),
    ),
    Kept(unit("3", becomes="sold", sold_minor=2500), (treated("3", "2026-11-10", 1, 99, "CHF"),)),
)  # fmt: skip
ENTRIES = entries_of(LOT, KEPT, 1800, "EUR")


def test_every_amount_is_an_entry_and_by_hand_they_come_to_this() -> None:
    sums = sums_of(ENTRIES, "EUR")
    # 43 min at € 18.00 = 12.90
    assert sums.by_kind == {
        "price": -10_000, "postage": -700, "parts": -250, "labour": -1290, "sale": 3100 + 3200 + 2500,
        "fees": -630, "shipping": -900, "refund": -3000, "return": -520,
    }  # fmt: skip
    assert sums.profit == -10_000 - 700 - 250 - 1290 + 8800 - 630 - 900 - 3000 - 520
    assert sums.minutes == 43
    assert sums.per_hour == round(-7200 / 43 * 60), "all but the work, −€ 72.00, for 43 minutes"


def test_units_and_months_come_to_what_the_lot_does() -> None:
    accounts = unit_accounts(LOT, KEPT, ENTRIES)
    months = months_of(e for e in ENTRIES if e.currency == "EUR")
    for kind in KINDS:
        whole = sums_of(ENTRIES, "EUR").of(kind)
        assert sum(a.sums.of(kind) for a in accounts) == whole
        assert sum(m.of(kind) for m in months.values()) == whole
    assert [a.others for a in accounts] == [(), (), ("CHF",)]
    assert [key for key, _ in months.items()] == [(m, "EUR") for m in ("", "2026-11", "2026-12")]
    assert months["", "EUR"].of("sale") == 2500, "nobody kept the day of that sale"
    # of unit 2: 33.33 + 2.33 + 0.40 + 2.10; 32.00 − 3.20 − 4.50 − 30.00 − 5.20
    assert accounts[1].sums.profit == -(3333 + 233 + 40 + 210) + (3200 - 320 - 450 - 3000 - 520)


def test_the_figures_of_the_lot_in_the_window_are_the_same() -> None:
    guide = replace(GUIDE, hour_minor=1800, currency="EUR")
    units = [one.unit for one in KEPT]
    money = lot_money(
        LOT, units, [t for one in KEPT for t in one.treatments], guide, [c for one in KEPT for c in one.comebacks]
    )
    sums = sums_of(ENTRIES, "EUR")
    assert money.result == sums.profit
    assert (money.paid, money.materials, money.labour) == (10_700, 250, 1290)
    assert (money.fees, money.returns) == (630 + 900, 3000 + 520 - 3200)


amounts = st.integers(0, 200_000)


@st.composite
def lots(draw: st.DrawFn) -> tuple[Lot, tuple[Kept, ...]]:
    lot = replace(LOT, cost_minor=draw(amounts), postage_minor=draw(amounts), expected=draw(st.integers(0, 9)))
    kept = []
    for k in range(draw(st.integers(0, 7))):
        name = f"{k}"
        sold = draw(st.booleans())
        sale = {"becomes": "sold", "sold_minor": draw(amounts), "fees_minor": draw(amounts)} if sold else {}
        treatments = tuple(
            treated(name, f"2026-1{draw(st.integers(0, 2))}-05", draw(st.integers(0, 600)), draw(amounts))
            for _ in range(draw(st.integers(0, 3)))
        )
        price = draw(amounts)
        backs = tuple(
            Comeback(
                f"c{k}{n}", name, "2026-12-20", "x", "same fault", draw(st.integers(0, price)), draw(amounts), "", price
            )
            for n in range(draw(st.integers(0, 2)))
        )
        kept.append(Kept(unit(name, cost_minor=draw(st.sampled_from((0, draw(amounts)))), **sale), treatments, backs))
    return lot, tuple(kept)


@settings(deadline=None)
@given(lots(), st.integers(0, 10_000))
def test_whatever_a_lot_is_its_units_months_and_window_come_to_the_same(
    drawn: tuple[Lot, tuple[Kept, ...]], hour: int
) -> None:
    lot, kept = drawn
    entries = entries_of(lot, kept, hour, "EUR")
    whole = sums_of(entries, "EUR").profit
    to_come = sum(e.minor for e in entries if not e.unit_id)
    assert sum(a.sums.profit for a in unit_accounts(lot, kept, entries)) + to_come == whole
    assert sum(m.profit for m in months_of(entries).values()) == whole
    guide = replace(GUIDE, hour_minor=hour, currency="EUR")
    done, backs = [t for one in kept for t in one.treatments], [c for one in kept for c in one.comebacks]
    assert lot_money(lot, [one.unit for one in kept], done, guide, backs).result == whole


# --- files --------------------------------------------------------------------------------------------------------

OTHER = Lot("l2", "=SUM(A1)", "2026-11-20", "", 500, "CHF", "", ">3")
OTHERS = (Kept(replace(unit("9", becomes="sold", sold_minor=1999, sold_on="2026-12-03"), lot_id="l2", tag="@x")),)
WRITTEN = Accounts(
    (*unit_accounts(LOT, KEPT, ENTRIES), *unit_accounts(OTHER, OTHERS, entries_of(OTHER, OTHERS, 1800, "EUR"))),
    (*ENTRIES, *entries_of(OTHER, OTHERS, 1800, "EUR")),
)


def cents(value: object) -> int:
    assert isinstance(value, Decimal), value
    assert value * 100 == int(value * 100)
    return int(value * 100)


def test_a_spreadsheet_recalculates_the_units_to_the_cent() -> None:
    book = Book(workbook(WRITTEN))
    heads = [cell.value for cell in book.sheet("Units")[1]]
    profit, hour = (openpyxl.utils.get_column_letter(heads.index(name) + 1) for name in ("Profit", "Profit an hour"))
    for row, account in enumerate(WRITTEN.units, 2):
        assert cents(book.value("Units", f"{profit}{row}")) == account.sums.profit
        per_hour = book.value("Units", f"{hour}{row}")
        assert per_hour == "" if account.sums.per_hour is None else cents(per_hour) == account.sums.per_hour
    first = len(WRITTEN.units) + 3
    for row, currency in enumerate(("CHF", "EUR"), first):
        mine = [a.sums for a in WRITTEN.units if a.sums.currency == currency]
        assert book.value("Units", f"A{row}") == f"Sum, {currency}"
        assert cents(book.value("Units", f"{profit}{row}")) == sum(s.profit for s in mine)
        for name in ("Price share", "Work", "Sales", "Refunds"):
            column = openpyxl.utils.get_column_letter(heads.index(name) + 1)
            kind = {"Price share": "price", "Work": "labour", "Sales": "sale", "Refunds": "refund"}[name]
            assert cents(book.value("Units", f"{column}{row}")) == sum(s.of(kind) for s in mine)  # type: ignore[arg-type]


def test_a_spreadsheet_recalculates_lots_and_months_to_the_cent() -> None:
    book = Book(workbook(WRITTEN))
    last = openpyxl.utils.get_column_letter(3 + len(KINDS))
    months = {(month or "no day", currency): s for (month, currency), s in months_of(WRITTEN.entries).items()}
    found = {}
    for row in range(2, len(months) + 2):
        key = book.value("Months", f"A{row}"), book.value("Months", f"B{row}")
        found[key] = cents(book.value("Months", f"{last}{row}"))
    assert found == {key: sums.profit for key, sums in months.items()}
    lots_found = {}
    for row in range(2, book.sheet("Lots").max_row + 1):
        lots_found[book.value("Lots", f"A{row}"), book.value("Lots", f"B{row}")] = cents(
            book.value("Lots", f"{last}{row}")
        )
    assert lots_found == {
        ("SM-08", "EUR"): sums_of(ENTRIES, "EUR").profit,
        ("SM-08", "CHF"): -99,
        ("=SUM(A1)", "CHF"): 1999 - 500,
    }


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_libreoffice_recalculates_units_lots_and_months_to_the_cent(tmp_path: Path) -> None:
    """Its own reading of the workbook, formulas worked out anew, given back as one CSV for each sheet."""
    (tmp_path / "money.xlsx").write_bytes(workbook(WRITTEN))
    sheets = recalculated(tmp_path / "money.xlsx")
    profits = [row["Profit"] for row in sheets["Units"]]
    assert [hundredths(text) for text in profits[: len(WRITTEN.units)]] == [a.sums.profit for a in WRITTEN.units]
    hours = [row["Profit an hour"] for row in sheets["Units"]][: len(WRITTEN.units)]
    assert [hundredths(text) if text else None for text in hours] == [a.sums.per_hour for a in WRITTEN.units]
    names = [row["Tag"] for row in sheets["Units"]]
    for currency in WRITTEN.currencies:
        whole = sum(a.sums.profit for a in WRITTEN.units if a.sums.currency == currency)
        assert hundredths(profits[names.index(f"Sum, {currency}")]) == whole
    months = {(row["Month"], row["Currency"]): hundredths(row["Profit"]) for row in sheets["Months"]}
    assert months == {(m or "no day", c): sums.profit for (m, c), sums in months_of(WRITTEN.entries).items()}
    lots = {(row["Lot"], row["Currency"]): hundredths(row["Profit"]) for row in sheets["Lots"]}
    assert lots == {
        ("SM-08", "EUR"): sums_of(ENTRIES, "EUR").profit,
        ("SM-08", "CHF"): -99,
        ("=SUM(A1)", "CHF"): 1999 - 500,
    }


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_libreoffice_reads_the_table_as_it_was_meant(tmp_path: Path) -> None:
    """The CSV with points and commas, opened as a spreadsheet: amounts are numbers, a text is no formula."""
    (tmp_path / "money.csv").write_bytes(units_csv(WRITTEN, PAPER))
    office(tmp_path, "xlsx", tmp_path / "money.csv")
    cells = openpyxl.load_workbook(tmp_path / "money.xlsx").worksheets[0]
    heads = [cell.value for cell in cells[1]]
    column = heads.index("Profit")
    read = [row[column].value for row in cells.iter_rows(min_row=2)]
    assert [round(Decimal(str(value)) * 100) for value in read] == [a.sums.profit for a in WRITTEN.units]
    assert all(cell.data_type != "f" for row in cells.iter_rows() for cell in row)


def hundredths(text: str) -> int:
    return cents(Decimal(text.replace(",", "")))


def office(folder: Path, form: str, file: Path) -> None:
    """Convert a file by LibreOffice with a profile of its own; what comes of it lies in `folder`."""
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--convert-to", form, "--outdir", str(folder), str(file)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=180, check=False)
    assert done.returncode == 0, done.stderr


def recalculated(file: Path) -> dict[str, list[dict[str, str]]]:
    """The rows of each sheet by their headings, as LibreOffice works them out."""
    # 44: comma, 34: quote, 76: UTF-8; cells as they are shown; -1: every sheet to a file of its own
    office(file.parent, "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1", file)
    names = openpyxl.load_workbook(file).sheetnames
    return {
        name: list(csv.DictReader((file.parent / f"{file.stem}-{name}.csv").read_text("utf-8").splitlines()))
        for name in names
    }


def test_cells_are_typed_and_a_text_stays_one() -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(WRITTEN)))["Units"]
    kinds = [cell.data_type for cell in sheet[2]][:21]
    assert kinds == ["s"] * 5 + ["d"] * 2 + ["s"] * 2 + ["n"] * 10 + ["f"] * 2
    other = sheet[len(WRITTEN.units) + 1]
    assert [(cell.value, cell.data_type) for cell in other][:4:2] == [("@x", "s"), ("=SUM(A1)", "s")]


@pytest.mark.parametrize(("style", "separator"), [(PAPER, ","), (CONTINENT, ";")])
def test_the_table_is_written_as_the_person_writes_numbers(style: Style, separator: str) -> None:
    rows = list(csv.DictReader(io.StringIO(units_csv(WRITTEN, style).decode("utf-8-sig")), delimiter=separator))
    assert len(rows) == len(WRITTEN.units)
    for row, account in zip(rows, WRITTEN.units, strict=True):
        assert int(row["Profit"].replace(style.decimal, "")) == account.sums.profit
    assert rows[0]["Sold on"] == ("2026-12-01" if style is PAPER else "01.12.2026")
    assert rows[0]["Price share"] == ("-33.34" if style is PAPER else "-33,34")
    assert rows[-1]["Lot"] == "'=SUM(A1)", "a text that would be a formula is none"
    listed = list(csv.DictReader(io.StringIO(entries_csv(WRITTEN, style).decode("utf-8-sig")), delimiter=separator))
    assert len(listed) == len(WRITTEN.entries)
    assert sum(int(row["Amount"].replace(style.decimal, "")) for row in listed) == sum(e.minor for e in WRITTEN.entries)


def test_an_amount_of_a_currency_without_a_minor_unit_has_no_decimals() -> None:
    assert [plain_amount(n, "JPY", PAPER) for n in (1250, -3)] == ["1250", "-3"]
    assert [plain_amount(n, "EUR", PAPER) for n in (5, -5, -12345)] == ["0.05", "-0.05", "-123.45"]
