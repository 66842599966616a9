"""Tables for programs have the columns that docs/formats.md names, in every language."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from station.app import grades
from station.evidence import course, numbers
from station.lots.shop import said

PAGE = Path(__file__).resolve().parents[2] / "docs" / "formats.md"
FIXED = (grades.COLUMNS, numbers.HEADS, course.HEADS, *said.HEADS.values())


def documented() -> list[tuple[str, ...]]:
    """The columns of each row of the chapter, in order."""
    chapter = PAGE.read_text("utf-8").partition("## Tables\n")[2].partition("\n## ")[0]
    rows = [line.split("|")[2] for line in chapter.splitlines() if line.startswith("| ")]
    return [tuple(re.findall(r"`(\w+)`", row)) for row in rows]


@pytest.mark.parametrize("columns", FIXED, ids=" ".join)
def test_the_columns_are_those_of_the_page(columns: tuple[str, ...]) -> None:
    assert columns in documented()


@pytest.mark.parametrize("columns", FIXED, ids=" ".join)
def test_a_column_has_a_plain_name_of_its_own(columns: tuple[str, ...]) -> None:
    assert len(set(columns)) == len(columns)
    assert all(re.fullmatch("[a-z_]+", name) for name in columns)
