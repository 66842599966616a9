"""docs/METHOD.md, section 11: a row for each reading, which says what the program says."""

from __future__ import annotations

import re

import pytest

from station.checks.registry import described, unseen
from station.checks.said import cannot_see
from station.checks.types import Description, Reading, ReadingKind
from tests.checks.method_page import METHOD
from tests.house.papers import table

READINGS = [(name, about, kind) for name, about in described().items() for kind in about.readings]


def rows() -> dict[tuple[str, str], list[str]]:
    """(check, reading) → its cells after these two."""
    found: dict[tuple[str, str], list[str]] = {}
    for reading, checks, *cells in table(METHOD, "11. Readings"):
        for check in re.findall(r"`(\w+)`", checks):
            assert (check, reading) not in found, f"{check}.{reading} has two rows"
            found[check, reading] = cells
    return found


@pytest.mark.parametrize(("check", "about", "kind"), READINGS, ids=[f"{n}.{k.name}" for n, _, k in READINGS])
def test_a_reading_has_its_row(check: str, about: Description, kind: ReadingKind) -> None:
    estimate, uncertainty, limit, cannot = rows()[check, kind.name]
    assert estimate
    assert uncertainty
    assert limit == (kind.limit or (f"{kind.sheet_limit} (sheet)" if kind.sheet_limit else "–"))
    assert cannot
    assert cannot == unseen(check, kind.name)
    assert cannot in cannot_see(check, (Reading(kind.name, 1.0, kind.unit),))


def test_no_row_is_of_a_reading_that_is_gone() -> None:
    assert set(rows()) == {(name, kind.name) for name, _, kind in READINGS}


@pytest.mark.parametrize("check", described())
def test_a_check_says_what_it_cannot_see_in_half_a_sentence(check: str) -> None:
    for text in (described()[check].unseen, *(kind.unseen for kind in described()[check].readings if kind.unseen)):
        assert text
        assert text[0].islower()
        assert not text.endswith((".", ";"))
