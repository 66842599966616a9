"""The guide shows each kind of evidence, before and after, the course and the figures, in files of a bearable size."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parents[2] / "docs"
MOST_BYTES = 150_000
SHOWN = (
    *(f"evidence-{kind}" for kind in ("time", "contacts", "path", "codes", "rest", "intervals")),
    *("before-and-after", "course"),
    *(f"figures-{table}" for table in ("came", "claims", "faults", "cures", "money", "standing")),
)


@pytest.mark.parametrize("name", SHOWN)
def test_each_picture_is_in_the_guide_and_small(name: str):
    file = DOCS / "screenshots" / f"{name}-light-1280.png"
    assert 10_000 < file.stat().st_size <= MOST_BYTES
    assert f"](screenshots/{file.name})" in (DOCS / "GUIDE.md").read_text(encoding="utf-8")


def test_every_picture_that_the_guide_names_is_there():
    named = re.findall(r"\]\((screenshots/[^)]+)\)", (DOCS / "GUIDE.md").read_text(encoding="utf-8"))
    assert named
    assert [path for path in named if not (DOCS / path).is_file()] == []
