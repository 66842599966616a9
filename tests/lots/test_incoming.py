"""A spreadsheet as a lot that comes in: what is read, and what is wrong by row."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook import Workbook

from station.errors import InputError
from station.lots.incoming.amounts import currency_of_format, read_amount
from station.lots.incoming.draft import Draft, Here, drafted
from station.lots.incoming.tables import letters_of, read_table
from station.records.types import Lot
from station.sheets.model import Control, Sheet

NEW = Lot("", "SM-08", "2026-11-28")
EMPTY = Here()
PLOVER = Sheet("Plover T2", controls=(Control("left_stick", "stick", "Left stick"),))


def of_text(tmp_path: Path, text: str, *, lot: Lot = NEW, here: Here = EMPTY, encoding: str = "utf-8") -> Draft:
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode(encoding))
    return drafted(read_table(path), lot, here)


def of_book(tmp_path: Path, fill: Callable[[Workbook], object], *, name: str = "list.xlsx", lot: Lot = NEW) -> Draft:
    book = openpyxl.Workbook()
    fill(book)
    book.save(tmp_path / name)
    return drafted(read_table(tmp_path / name), lot, Here())


def problems(draft: Draft) -> list[tuple[int, str]]:
    return [(problem.row, problem.what) for problem in draft.problems]


# --- amounts --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "minor"),
    [
        ("12", 1200), ("12.5", 1250), ("12,50", 1250), ("€ 12.50", 1250), ("12,50 EUR", 1250), ("1.234,50", 123450),
        ("1,234.50", 123450), ("1 234,50", 123450), ("1'234.50", 123450), ("1,234,567", 123456700), ("0.125,00", 12500),
        ("", 0), (None, 0), (8.5, 850), (12, 1200), (0.1 + 0.2, 30), (1e3, 100000), ("12.", 1200), (",50", 50),
    ],
)  # fmt: skip
def test_an_amount_is_read_as_its_writer_meant_it(cell: Any, minor: int) -> None:
    assert read_amount(cell, "EUR") == minor


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        pytest.param("12,50,1", "more than one decimal sign", id="two commas"),
        pytest.param("1,234,56", "more than one decimal sign", id="two commas that group nothing"),
        pytest.param("1.234,56,7", "more than one decimal sign", id="both signs, one twice"),
        pytest.param("1.234", "can be read as 1234 or as 1.234", id="a point that groups or parts"),
        pytest.param("1,234", "can be read as 1234 or as 1.234", id="a comma likewise"),
        pytest.param("12.345,678", "more than 2 decimal places", id="three decimals"),
        pytest.param(12.345, "more than 2 decimal places", id="a number with three decimals"),
        pytest.param("-5", "below nought", id="less than nothing"),
        pytest.param("(5.00)", "below nought", id="less than nothing, as accounts write it"),
        pytest.param("about 5", "is no amount", id="words"),
        pytest.param(True, "is no amount", id="a truth value"),
        pytest.param(float("nan"), "is no amount|decimal", id="no number"),
        pytest.param("$ 5", "is in USD and the lot in EUR", id="another currency by its sign"),
        pytest.param("5 chf", "is in CHF and the lot in EUR", id="another currency by its code"),
        pytest.param("99999999999", "is more than", id="too much"),
        pytest.param("€", "is no amount", id="a sign alone"),
    ],
)
def test_an_amount_that_is_none_or_two_is_not_guessed_at(cell: Any, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_amount(cell, "EUR")


@pytest.mark.parametrize(
    ("shown", "currency"),
    [
        ("General", ""), ("0.00", ""), ('"$"#,##0.00', "USD"), ("[$€-407] #,##0.00", "EUR"), ("#,##0.00 [$CHF]", "CHF"),
        ("#,##0.00\\ £", "GBP"), ("[$-409]d/m/yy", ""), ('0 "min"', ""),
    ],
)  # fmt: skip
def test_the_currency_of_a_number_is_the_one_it_is_shown_in(shown: str, currency: str) -> None:
    assert currency_of_format(shown) == currency


def test_columns_are_called_as_a_spreadsheet_calls_them() -> None:
    assert [letters_of(k) for k in (1, 26, 27, 52, 703)] == ["A", "Z", "AA", "AZ", "AAA"]


# --- headings ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Tag,Model,Fault\nA-1,Plover T2,drifts\n", id="commas"),
        pytest.param("Tag;Model;Fault\r\nA-1;Plover T2;drifts\r\n", id="semicolons"),
        pytest.param("sep=|\nTag|Model|Fault\nA-1|Plover T2|drifts\n", id="told in the first line"),
        pytest.param("Tag\tModel\tFault\nA-1\tPlover T2\tdrifts\n", id="tabs"),
        pytest.param("Stock of the week\n\nNo.;Item;Reported fault;Colour\nA-1;Plover T2;drifts;grey\n", id="a title"),
        pytest.param('"Tag","Model","Problem"\n"A-1","Plover T2","drifts"\n', id="quotes"),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_rows_are_found_whatever_parts_their_cells(tmp_path: Path, text: str, encoding: str) -> None:
    draft = of_text(tmp_path, text, encoding=encoding)
    assert [(u.tag, u.model, u.claim) for u in draft.units] == [("A-1", "Plover T2", "drifts")]
    assert draft.sound


def test_another_encoding_is_read_and_told(tmp_path: Path) -> None:
    draft = of_text(tmp_path, "Tag;Claim\nA-1;croît à gauche\n", encoding="cp1252")
    assert draft.units[0].claim == "croît à gauche"
    assert any("Windows-1252" in note for note in draft.notes)


@pytest.mark.parametrize(
    ("head", "model"),
    [
        pytest.param("Tag,Controller,Problem", "Plover T2", id="for want of better"),
        pytest.param("Model,Controller,Problem", "A-1", id="the very word goes before"),
        pytest.param("Tag,Controller colour,Problem", "", id="only the whole of it"),
    ],
)
def test_a_column_of_controllers_is_of_models(tmp_path: Path, head: str, model: str) -> None:
    draft = of_text(tmp_path, f"{head}\nA-1,Plover T2,drifts\n")
    assert [unit.model for unit in draft.units] == [model]


def test_a_unit_without_a_price_beside_others_with_one_is_told(tmp_path: Path) -> None:
    draft = of_text(tmp_path, "Tag,Model,Price\nA-1,Plover T2,8.50\nA-2,Plover T2,\n")
    assert "Without a price, so it bears none of that: A-2." in draft.notes
    draft = of_text(tmp_path, "Tag,Model,Price\nA-1,Plover T2,8.50\nA-2,Plover T2,9\n")
    assert not any("Without a price" in note for note in draft.notes)


def test_what_is_not_taken_is_told(tmp_path: Path) -> None:
    draft = of_text(tmp_path, "Tag,Model,Colour,Weight\nA-1,Plover T2,grey,200\n")
    assert "Columns that are not taken: Colour, Weight." in draft.notes
    assert draft.columns_told() == "Columns: Tag → Tag, Model → Model"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n1,2\n", "No row of list.csv reads like headings"),
        ("Fault,Problem,Model\nx,y,z\n", "Two columns read like “Claim”: A and B"),
    ],
)
def test_without_headings_nothing_is_guessed(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        of_text(tmp_path, text)


# --- rows ---------------------------------------------------------------------------------------------------------


def test_every_row_with_something_wrong_is_told_by_its_number(tmp_path: Path) -> None:
    rows = (
        "Tag,Model,Claim,Price,Box,Qty\n"  # 1
        "A-1,Plover T2,drifts,8.50,yes,1\n"  # 2
        'a-1,Plover T2,,"12,50,1",perhaps,\n'  # 3
        "\n"  # 4
        "A-3,Plover T2,,$ 4.00,,\n"  # 5
        "B-9,Plover T2,,,,\n"  # 6
        ",,,5.00,,\n"  # 7
        "A-4,Plover T2,,,,3\n"  # 8
        f"{'x' * 70},Plover T2,,,,\n"  # 9
    )
    draft = of_text(tmp_path, rows, here=Here(tags=("b-9",)))
    assert [(row, what[:28]) for row, what in problems(draft)] == [
        (3, "“12,50,1” has more than one "),
        (3, "“perhaps” does not say wheth"),
        (3, "the tag a-1 is in row 2 too;"),
        (5, "“$ 4.00” is in USD and the l"),
        (6, "the tag B-9 is on a unit tha"),
        (7, "it has neither a tag nor a m"),
        (8, "it stands for 3 units; write"),
        (9, "The tag “xxxxxxxxxxxxxxxxxxx"),
    ]
    assert not draft.sound
    assert "6 rows have something wrong" in draft.wrong_told()


def test_units_without_a_tag_get_the_next_ones(tmp_path: Path) -> None:
    text = "Tag,Model\n,Plover T2\nSM-08-05,Plover T2\n,Plover T2\n"
    draft = of_text(tmp_path, text, here=Here(tags=("SM-08-06",), of_lot=("SM-08-03", "SM-08-04")))
    assert [unit.tag for unit in draft.units] == ["SM-08-07", "SM-08-05", "SM-08-08"]
    assert "2 units had no tag: SM-08-07 to SM-08-08." in draft.notes
    assert of_text(tmp_path, "Model,Claim\nPlover T2,x\n").units[0].tag == "SM-08-01"


def test_a_model_is_called_as_its_sheet_is_and_claims_are_bound(tmp_path: Path) -> None:
    text = "Model,Claim\nplover t2,left stick drifts\nOther,LS drift\nOther,smells\n"
    draft = of_text(tmp_path, text, here=Here(sheets=(PLOVER,)))
    assert [(u.model, u.sheet) for u in draft.units] == [("Plover T2", "Plover T2"), ("Other", ""), ("Other", "")]
    assert "Claims that are bound to a control: 2 of 3." in draft.notes


def test_a_new_lot_costs_what_its_units_do(tmp_path: Path) -> None:
    text = 'Tag,Model,Price\nA-1,P,8.50\nA-2,P,"9,25"\n'
    assert of_text(tmp_path, text).lot.cost_minor == 1775
    kept = Lot("here", "SM-08", "2026-11-28", cost_minor=5000)
    assert of_text(tmp_path, text, lot=kept).lot == kept


# --- workbooks ----------------------------------------------------------------------------------------------------


def test_a_workbook_is_read_with_its_numbers_as_they_are(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        sheet.title = "Units"
        sheet.append(["Our list"])
        sheet.append(["No.", "Item", "Fault", "Price", "Serial", "Boxed"])
        sheet.append([17, "Plover T2", "left stick drifts", 8.5, 4411, "x"])
        sheet.append([18.0, "Plover T2", None, "9,25", "A0012", None])
        book.create_sheet("Notes").append(["nothing"])

    draft = of_book(tmp_path, fill)
    assert draft.sound
    assert [(u.tag, u.serial, u.cost_minor, u.box) for u in draft.units] == [
        ("17", "4411", 850, "box"), ("18", "A0012", 925, ""),
    ]  # fmt: skip
    assert draft.rows == (3, 4)
    assert "Taken from the sheet “Units”; others are not read: Notes." in draft.notes


def test_merged_cells_are_told_where_each_row_or_column_needs_its_own(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        sheet.append(["Our list of the week", None, None])
        sheet.append(["Tag", "Model", "Fault", None])
        for k in range(3):
            sheet.append([f"A-{k}", "Plover T2" if k == 0 else None, "drifts", "left"])
        sheet.merge_cells("A1:D1")  # a title: harmless
        sheet.merge_cells("C2:D2")
        sheet.merge_cells("B3:B5")

    assert problems(of_book(tmp_path, fill)) == [
        (2, "The heading “Fault” spans the columns C to D; split the cell and name each column."),
        (3, "“Model” is one cell over the rows 3 to 5; split it and write what holds in each row."),
    ]


def test_a_formula_counts_as_its_result_and_without_one_it_is_told(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        sheet.append(["Tag", "Model", "Price"])
        sheet.append(["A-1", "Plover T2", "=2*4.25"])
        sheet.append(["A-2", "Plover T2", "#REF!"])
        sheet["C3"].data_type = "e"
        sheet.append(["A-3", "Plover T2", 12345678901234567])

    draft = of_book(tmp_path, fill)
    *two, (row, what) = problems(draft)
    assert (row, "is more than" in what) == (4, True)
    assert [(row, what[:40]) for row, what in two] == [
        (2, "“Price” is a formula whose result is not"),
        (3, "“Price” shows the error #REF!; mend the "),
    ]
    saved = with_result(tmp_path / "list.xlsx", "8.5")
    (tmp_path / "saved.xlsx").write_bytes(saved)
    again = drafted(read_table(tmp_path / "saved.xlsx"), NEW, Here())
    assert again.units[0].cost_minor == 850
    assert [row for row, _ in problems(again)] == [3, 4]


def with_result(path: Path, result: str) -> bytes:
    """The workbook with a result beside its first formula, as a spreadsheet program saves it."""
    out = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            text = old.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                assert b"</f><v/>" in text or b"</f><v></v>" in text
                text = text.replace(b"</f><v/>", f"</f><v>{result}</v>".encode(), 1)
                text = text.replace(b"</f><v></v>", f"</f><v>{result}</v>".encode(), 1)
            new.writestr(part, text)
    return out.getvalue()


def test_a_price_shown_in_another_currency_is_told(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        sheet.append(["Tag", "Model", "Price"])
        sheet.append(["A-1", "Plover T2", 4])
        sheet["C2"].number_format = '"$"#,##0.00'
        sheet.append(["A-2", "Plover T2", 4])
        sheet["C3"].number_format = "[$€-407] #,##0.00"

    assert problems(of_book(tmp_path, fill)) == [(2, "“4” is in USD and the lot in EUR; write it in EUR.")]


def test_macros_are_told_and_not_run(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Tag", "Model"])
    sheet.append(["A-1", "Plover T2"])
    book.save(tmp_path / "list.xlsm")
    with zipfile.ZipFile(tmp_path / "list.xlsm", "a") as file:
        file.writestr("xl/vbaProject.bin", b"\xd0\xcf\x11\xe0")
    draft = drafted(read_table(tmp_path / "list.xlsm"), NEW, Here())
    assert draft.sound
    assert "The file has macros; they were not run." in draft.notes


def test_a_serial_number_that_was_rounded_is_told(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        sheet.append(["Tag", "Model", "Serial"])
        sheet.append(["A-1", "Plover T2", 1234567890123456789])

    ((row, what),) = problems(of_book(tmp_path, fill))
    assert row == 2
    assert what.startswith("“Serial number” was made a rounded number")


# --- what would have come in wrong ----------------------------------------------------------------------------

HEAD = "Tag,Model,Claim,Price\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param(HEAD + 'A-1,P,"drifts,8\nA-2,P,x,8\n', "row 2: a quotation mark", id="one that is never closed"),
        pytest.param(HEAD + 'A-1,P,"drifts,8\nA-2,P,"x",8\n', "row 2: a quotation mark", id="one closed a row below"),
        pytest.param(HEAD + 'A-1,P,x,8\nA-2,P,"left" one,8\n', "row 3: a quotation mark", id="one amid a cell"),
        pytest.param(HEAD + f"A-1,P,{'c' * 100_000},8\n", "row 2: a cell has more than 20000 letters", id="100 kB"),
        pytest.param(HEAD + f"A-1,P,{'c' * 200_000},8\n", "row 2: ", id="200 kB, more than the reader takes"),
        pytest.param(HEAD + "A-1,P,c,8\n" * 20_000, "more than 10000 rows", id="20,000 rows"),
        pytest.param("Tag,Model" + ",x" * 498 + ",Price\nA-1,P" + ",1" * 499 + "\n", "more than 60 columns", id="500"),
        pytest.param("<html><td>Tag</td><td>Model</td></html>", "no spreadsheet that can be read", id="a page"),
        pytest.param(HEAD + "A-\x001,P,c,8\n", "nor text of an encoding that is known", id="a NUL"),
    ],
)
def test_what_cannot_be_read_for_certain_is_refused(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        of_text(tmp_path, text)


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32", "cp1250"])
def test_text_without_a_mark_in_a_rare_encoding_is_refused(tmp_path: Path, encoding: str) -> None:
    with pytest.raises(InputError, match="as CSV in UTF-8"):
        of_text(tmp_path, HEAD + "A-1,P,žluť ť,8\n", encoding=encoding)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        pytest.param("A-1,P,c,8\nTotal,,,8\n", [(3, "“Total” looks like the sum")], id="a total below"),
        pytest.param("A-1,P,c,8\n,,Sum of all:,8\n", [(3, "“Sum of all:” looks like")], id="a total under the claims"),
        pytest.param("A-1,P,c,8,50\n", [(2, "it has more cells than")], id="a decimal comma that parts two cells"),
        pytest.param('"A-\t1",P,c,8\n', [(2, "The tag “A-\t1” holds a sign")], id="a tab in a tag"),
        pytest.param('"A-\n1",P,c,8\n', [(2, "The tag “A-\n1” holds a sign")], id="a line break in a tag"),
        pytest.param("A-\u202e1,P,c,8\n", [(2, "The tag “A-‹202E›1” hol")], id="a sign that turns the text round"),
        pytest.param("A-1,P,c,١٢\n", [(2, "“١٢” is no amount")], id="digits of another script"),
    ],
)
def test_a_row_that_would_come_in_wrong_is_told(tmp_path: Path, rows: str, said: list[tuple[int, str]]) -> None:
    found = problems(of_text(tmp_path, HEAD + rows))
    assert [(row, what[: len(text)]) for (row, what), (_, text) in zip(found, said, strict=True)] == said


def test_text_that_runs_from_right_to_left_is_taken_as_it_is(tmp_path: Path) -> None:
    draft = of_text(tmp_path, HEAD + "حقيبة-١,P,تالف,8\n")
    assert draft.sound
    assert (draft.units[0].tag, draft.units[0].claim) == ("حقيبة-١", "تالف")


def test_a_unit_whose_tag_is_a_word_for_a_sum_may_come_in_with_its_model(tmp_path: Path) -> None:
    assert of_text(tmp_path, HEAD + "Sum 1,P,c,8\n").sound


def test_words_in_the_cells_of_a_unit_are_no_headings(tmp_path: Path) -> None:
    draft = of_text(tmp_path, "Ref,Pad,Notes,Model\nA-1,pad,stick error,no box\nA-2,device,problem of case,with box\n")
    assert [unit.model for unit in draft.units] == ["no box", "with box"], "the first row has the one heading"
    assert "Columns that are not taken: Ref, Pad, Notes." in draft.notes


def test_rows_above_the_headings_and_headings_again_are_told(tmp_path: Path) -> None:
    text = "Seller,Kim\n" + HEAD + "A-1,P,c,8\n" + HEAD + "A-2,P,c,8\n"
    draft = of_text(tmp_path, text)
    assert [unit.tag for unit in draft.units] == ["A-1", "A-2"]
    assert "Rows above the headings, which stand in row 2, are not taken: 1." in draft.notes
    assert "Rows that repeat the headings are left out: 4." in draft.notes


def test_a_heading_of_prices_in_another_currency_is_told(tmp_path: Path) -> None:
    text = "Tag,Model,Price (USD)\nA-1,P,8\n"
    ((row, what),) = problems(of_text(tmp_path, text))
    assert row == 1
    assert "is of prices in USD and the lot is in EUR" in what
    assert of_text(tmp_path, text, lot=Lot("here", "SM-08", "2026-11-28", currency="USD")).sound


def rows_of(*rows: list[object]) -> Callable[[Workbook], None]:
    def fill(book: Workbook) -> None:
        sheet = book.active
        assert sheet is not None
        for row in rows:
            sheet.append(row)

    return fill


def test_what_a_spreadsheet_made_a_date_is_no_tag(tmp_path: Path) -> None:
    rows = rows_of(["Tag", "Model", date(2026, 3, 7)], [datetime(2026, 3, 7), "P", "x"], [time(3, 7), "P", "x"])
    assert [(row, what[:40]) for row, what in problems(of_book(tmp_path, rows))] == [
        (2, "“Tag” was made a date or a time (2026-03"),
        (3, "“Tag” was made a date or a time (03:07:0"),
    ]


def test_a_number_has_the_noughts_in_front_that_it_is_shown_with(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        rows_of(["Tag", "Model"], [12, "P"])(book)
        assert book.active is not None
        book.active["A2"].number_format = "0000"

    assert of_book(tmp_path, fill).units[0].tag == "0012"


def test_a_sheet_that_is_seen_comes_before_a_hidden_one(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        rows_of(["Tag", "Model"], ["OLD", "P"])(book)
        assert book.active is not None
        book.active.sheet_state = "hidden"
        now = book.create_sheet("Now")
        now.append(["Tag", "Model"])
        now.append(["NEW", "P"])
        now.append(["NEW-2", "P"])
        now.row_dimensions[3].hidden = True
        book.active = 1

    draft = of_book(tmp_path, fill)
    assert [unit.tag for unit in draft.units] == ["NEW", "NEW-2"]
    assert "1 hidden row is read too." in draft.notes
    assert "Taken from the sheet “Now”; others are not read: Sheet." in draft.notes


@pytest.mark.parametrize(
    ("fill", "said"),
    [
        pytest.param(rows_of(), "is empty", id="no sheet has a cell"),
        pytest.param(rows_of(["Tag", *["x"] * 500, "Price"]), "more than 60 columns", id="500 columns"),
        pytest.param(rows_of(["Tag", "Claim"], ["A-1", "c" * 32_767]), "row 2: a cell has more than", id="a long cell"),
    ],
)
def test_a_workbook_that_cannot_be_read_for_certain_is_refused(
    tmp_path: Path, fill: Callable[[Workbook], None], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        of_book(tmp_path, fill)


def test_what_stands_below_no_heading_is_told(tmp_path: Path) -> None:
    draft = of_book(tmp_path, rows_of(["Tag", "Model", None, "Price"], ["A-1", "P", "sold already", 8]))
    assert draft.sound
    assert "Cells below no heading are not taken: C2." in draft.notes


def test_entities_are_refused_in_parts_of_any_name(tmp_path: Path) -> None:
    of_book(tmp_path, rows_of(["Tag", "Model"], ["A-1", "P"]))
    with zipfile.ZipFile(tmp_path / "list.xlsx", "a") as file:
        file.writestr("xl/worksheets/sheet2.data", '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    with pytest.raises(InputError, match="parts that a spreadsheet does not have"):
        read_table(tmp_path / "list.xlsx")
