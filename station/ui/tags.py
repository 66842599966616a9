"""Tags on shelf labels run in series; the next one, and the lot that a series belongs to. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from station.records.types import Unit


def stem_of(tag: str) -> str | None:
    """A tag without its closing number: "SM-07-04" → "SM-07-"; None if it has none."""
    match = re.fullmatch(r"(.*?)(\d+)", tag)
    return match.group(1) if match else None


def next_tag(tags: Sequence[str]) -> str:
    """The tag after the highest of the newest series (oldest first): SM-07-04 → SM-07-05; "" if none has a number."""
    for tag in reversed(tags):
        stem = stem_of(tag)
        if stem is not None:
            numbers = [int(t[len(stem) :]) for t in tags if t.startswith(stem) and t[len(stem) :].isdecimal()]
            return f"{stem}{max(numbers) + 1:0{len(tag) - len(stem)}d}"
    return ""


def by_age(units: Sequence[Unit]) -> list[Unit]:
    """Oldest first; keys are UUIDv7, so they break ties in order of time."""
    return sorted(units, key=lambda u: (u.created_at, u.id))


def shelf_order(unit: Unit) -> tuple[str, int, str]:
    """Sorts tags as they stand on a shelf: B-2 before B-10."""
    stem = stem_of(unit.tag)
    return (unit.tag, -1, "") if stem is None else (stem, int(unit.tag[len(stem) :]), unit.tag)


def lot_of(tag: str, units: Sequence[Unit]) -> str | None:
    """The lot of the newest unit of the same series, the only sign of where a new unit comes from. Oldest first."""
    stem = stem_of(tag)
    if stem is None:
        return None
    return next((u.lot_id for u in reversed(units) if stem_of(u.tag) == stem), None)


def lot_at_hand(tag: str, units: Sequence[Unit], in_front: str | None, shown: Unit | None) -> str | None:
    """The lot that a unit is taken into by its scanned tag: that of its series; else the one in front, that of the unit
    that is open, that of the newest unit. Oldest first."""
    newest = units[-1].lot_id if units else None
    return lot_of(tag, units) or in_front or (shown.lot_id if shown is not None else None) or newest
