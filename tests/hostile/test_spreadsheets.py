"""A spreadsheet that somebody else made: refused in a sentence, within bounds, whatever is in it."""

from __future__ import annotations

import io
import os
import random
import tracemalloc
import zipfile
from collections.abc import Mapping
from pathlib import Path

import openpyxl
import pytest

from station.errors import InputError
from station.lots.incoming import tables
from station.lots.incoming.draft import Here, drafted
from station.lots.incoming.tables import MOST_UNFOLDED, Table, read_table
from station.records.types import Lot


def book() -> bytes:
    out, made = io.BytesIO(), openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.append(["Tag", "Model", "Claim"])
    for k in range(40):
        sheet.append([f"A-{k:02}", "Plover T2", "drifts"])
    made.save(out)
    return out.getvalue()


BOOK = book()
SHEET, STRINGS = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"


def with_parts(parts: Mapping[str, bytes], base: bytes = BOOK, level: int = 6) -> bytes:
    """The workbook with other parts, or with these besides."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(base)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=level) as new,
    ):
        for part in old.infolist():
            if part.filename not in parts:
                new.writestr(part.filename, old.read(part))
        for name, text in parts.items():
            new.writestr(name, text)
    return out.getvalue()


def part(name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(BOOK)) as file:
        return file.read(name)


def rows(cells: bytes) -> bytes:
    head, tail = part(SHEET).split(b"<sheetData>")[0], part(SHEET).split(b"</sheetData>")[1]
    return head + b"<sheetData>" + cells + b"</sheetData>" + tail


def lying_about_size(base: bytes) -> bytes:
    """A part that says in the directory that it unfolds to a hundred bytes."""
    data = bytearray(with_parts({SHEET: rows(b" " * 30_000_000)}, base))
    at = data.rfind(b"PK\x01\x02")
    while at >= 0:
        if bytes(data[at + 46 : at + 46 + len(SHEET)]) == SHEET.encode():
            data[at + 24 : at + 28] = (100).to_bytes(4, "little")
        at = data.rfind(b"PK\x01\x02", 0, at)
    return bytes(data)


BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE z [<!ENTITY a "'
    + b"a" * 1000
    + b'">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + k, b"&%c;" % (97 + k) * 20) for k in range(8))
    + b"]><sst>&i;</sst>"
)
FILES = {
    "nothing": b"",
    "blanks": b" \n\n ",
    "a workbook of an old form": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000),
    "zeros": b"Tag,Model\n" + bytes(100),
    "noise": random.Random(7).randbytes(20_000),
    "a quotation mark that never ends": b'Tag,Model\nA-1,"' + b"x\n" * 200_000,
    "a cell of a million signs": b"Tag,Model\nA-1," + b"x" * 1_000_000,
    "two hundred thousand rows": b"Tag,Model\n" + b"A,B\n" * 200_000,
    "another archive": with_parts({}, b"PK\x05\x06" + bytes(18)),
    "a text document": with_parts({"mimetype": b"application/vnd.oasis.opendocument.text"}),
    "half a workbook": BOOK[: len(BOOK) // 2],
    "a part that unfolds without end": with_parts({STRINGS: b" " * (MOST_UNFOLDED + 1)}, level=9),
    "a part that lies about its size": lying_about_size(BOOK),
    "entities within entities": with_parts({STRINGS: BOMB}),
    "entities behind another encoding": with_parts({STRINGS: BOMB.decode().encode("utf-16")}),
    "thousands of parts": with_parts({f"xl/media/{k}.bin": b"" for k in range(5_000)}),
    "no sheet": with_parts({"xl/workbook.xml": b"<workbook/>"}),
    "XML that ends early": with_parts({SHEET: part(SHEET)[:300]}),
    "a row beyond all rows": with_parts({SHEET: rows(b'<row r="999999999"><c r="A999999999"><v>1</v></c></row>')}),
    "a hundred thousand rows": with_parts(
        {SHEET: rows(b"".join(b'<row r="%d"><c r="A%d"><v>1</v></c></row>' % (k, k) for k in range(1, 100_001)))}
    ),
    "a style that is not there": with_parts({SHEET: rows(b'<row r="1"><c r="A1" s="999"><v>1</v></c></row>')}),
    "a text that is not there": with_parts({SHEET: rows(b'<row r="1"><c r="A1" t="s"><v>999</v></c></row>')}),
    "a number that is none": with_parts({SHEET: rows(b'<row r="1"><c r="A1"><v>1e999x</v></c></row>')}),
}


def read(tmp_path: Path, data: bytes) -> Table:
    path = tmp_path / "list"
    path.write_bytes(data)
    return read_table(path)


@pytest.mark.parametrize("data", FILES.values(), ids=FILES.keys())
def test_what_is_no_list_of_units_is_refused_in_one_sentence(tmp_path: Path, data: bytes) -> None:
    tracemalloc.start()
    try:
        with pytest.raises(InputError) as refused:
            drafted(read(tmp_path, data), Lot("", "L", "2026-11-28"), Here())
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    said = str(refused.value)
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 300
    assert peak < 500e6


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(
            with_parts({SHEET: part(SHEET).replace(b'ref="A1:C41"', b'ref="A1:XFD1048576"')}), id="it says it is huge"
        ),
        pytest.param(
            with_parts({SHEET: part(SHEET).replace(b"</row>", b'<c r="XFD1"><v>1</v></c></row>', 1)}), id="a far cell"
        ),
        pytest.param(with_parts({"xl/externalLinks/externalLink1.xml": b"<externalLink/>"}), id="a link elsewhere"),
        pytest.param(with_parts({"../../evil.txt": b"x"}), id="a part that leads out"),
    ],
)
def test_what_only_looks_terrible_is_read(tmp_path: Path, data: bytes) -> None:
    draft = drafted(read(tmp_path, data), Lot("", "L", "2026-11-28"), Here())
    assert (len(draft.units), draft.sound) == (40, True)
    assert [path.name for path in tmp_path.iterdir()] == ["list"]


@pytest.mark.parametrize("seed", range(60))
def test_damaged_bytes_end_in_a_sentence_or_in_rows(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    data = bytearray(BOOK)
    for _ in range(rng.randint(1, 30)):
        data[rng.randrange(len(data))] = rng.randrange(256)
    said: list[object] = []
    try:
        draft = drafted(read(tmp_path, bytes(data)), Lot("", "L", "2026-11-28"), Here())
        said += [*draft.units, *draft.problems]
    except InputError as refused:  # anything else fails
        said.append(str(refused))
    assert said
    assert not any("\n" in one for one in said if isinstance(one, str)), "one sentence"


def test_what_would_never_end_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="cannot be read"):
        read_table(tmp_path / "pipe")
    with pytest.raises(InputError, match="cannot be read"):
        read_table(tmp_path)


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "MOST_BYTES", 100)
    with pytest.raises(InputError, match="larger than"):
        read(tmp_path, b"Tag,Model\n" + b"A,B\n" * 100)


def test_signs_that_cannot_be_seen_are_told_by_row(tmp_path: Path) -> None:
    draft = drafted(read(tmp_path, "Tag,Model\nA-\u202e1,P\nA-2,P\n".encode()), Lot("", "L", "2026-11-28"), Here())
    assert [problem.row for problem in draft.problems] == [2]
    assert "‹202E›" in draft.problems[0].what
