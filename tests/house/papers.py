"""The project's papers as text: headings, links and citations."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAPERS = (
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "sample_units" / "README.md",
    *sorted((ROOT / "docs").rglob("*.md")),
)
CODE = tuple(
    path
    for folder in ("station", "tests", "sample_units", "docs", "resources")
    for path in sorted((ROOT / folder).rglob("*"))
    if path.suffix in (".py", ".toml", ".sh", ".rules") or path.name == "bench"
    if path.is_file()
)
_FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


def without_code(text: str) -> str:
    """The text less its blocks of code."""
    return _FENCED.sub("", text)


def headings(paper: Path) -> list[str]:
    """The headings of a paper, from the first one down, without their marks."""
    return [line.lstrip("#").strip() for line in without_code(paper.read_text("utf-8")).splitlines() if line[:1] == "#"]


def anchor(heading: str) -> str:
    """The name by which a link reaches a heading."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def links(paper: Path) -> Iterator[str]:
    """Where the links and pictures of a paper point to."""
    for found in re.finditer(r"\]\(([^)\s]+)\)", without_code(paper.read_text("utf-8"))):
        yield found[1]


def blocks(paper: Path, language: str) -> list[str]:
    """The blocks of code in that language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", paper.read_text("utf-8"), re.MULTILINE | re.DOTALL)


def table(paper: Path, heading: str) -> list[list[str]]:
    """The rows of the first table under a heading, its head left out; the cells as they are written."""
    text = paper.read_text("utf-8").split(f" {heading}\n", 1)[1]
    rows = re.search(r"(^\|.*\n)+", text, re.MULTILINE)
    assert rows is not None
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in rows[0].splitlines()[2:]]
