"""Which parts a treatment may be for: what a person chooses from when work begins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from station.diagnosis.guide import Guide
from station.diagnosis.suspects import Candidate, part_of, parts_on
from station.sheets.model import Sheet


def parts_for(kind: str, sheet: Sheet, guide: Guide, weights: Mapping[str, float]) -> tuple[str, ...]:
    """Names of the parts that a kind of treatment can help, the likeliest bad ones first (`weights`: name → 0…1), then
    as the sheet lists the controls. Of a kind that the guide names no cures for, every part."""
    method = guide.method(guide.now_called(kind))
    roles = set(method.cures) if method is not None else set()
    found = (part_of(one, sheet)[1] for one in _all(sheet, guide) if not roles or one.role.role in roles)
    names = dict.fromkeys(found)
    return tuple(sorted(names, key=lambda name: -weights.get(name, 0.0)))


def _all(sheet: Sheet, guide: Guide) -> Iterator[Candidate]:
    for control in sheet.controls:
        yield from parts_on(control.id, control.kind, guide)
    yield from parts_on("", "unit", guide)
    yield from (Candidate(role, "") for role in guide.suspects if role.common)
