"""Which readings and findings docs/METHOD.md describes."""

from __future__ import annotations

import re
from pathlib import Path

from station.checks.registry import described
from station.checks.types import ReadingKind

METHOD = Path(__file__).resolve().parents[2] / "docs" / "METHOD.md"


def undescribed(page: str | None = None) -> list[str]:
    """ "check", "check.reading" and "check: finding" of every check that the page does not have.

    A check is described where its word has a row in the table of checks, a reading where its name stands in italics or
    first in a row of a table ("*reach_up/_right*", "| missed, split |"), a finding where its code has a row in the
    table of findings.
    """
    page = METHOD.read_text(encoding="utf-8") if page is None else page
    marked = re.findall(r"\*([a-z][a-z0-9_/, ]*)\*", page) + re.findall(r"^\| ([a-z0-9_, ]+) \|", page, re.MULTILINE)
    names = {name.strip().partition("/")[0] for row in marked for name in row.split(",")}
    rows = set(re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| (`.*?) \|", page, re.MULTILINE))))
    findings = set(re.findall(r"^\| `(\w+)` \|", page, re.MULTILINE))
    missing = []
    for check, about in described().items():
        missing += [] if check in rows else [check]
        missing += [f"{check}.{kind.name}" for kind in about.readings if not _spellings(kind) & names]
        if not about.person_answers:
            missing += [f"{check}: {kind.code}" for kind in about.findings if kind.code not in findings]
    return missing


def _spellings(kind: ReadingKind) -> set[str]:
    return {kind.name, *(f"{kind.name}_{part}" for part in kind.parts)}
