"""A unit's swaps so far as a search: which part to swap next to find out most a minute."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from station.checks.types import Outcome
from station.diagnosis.evidence import last_counts
from station.diagnosis.faults import SWAP
from station.diagnosis.guide import Guide
from station.diagnosis.swaps import MAX_PARTS, SwapAdvice, SwapPart, SwapSearch
from station.diagnosis.types import Suspect
from station.records.types import UnitHistory

LEAST_WEIGHT = 0.03
MINUTES = 12.0
"""of a swap where the guide does not say (common practice, no source)"""


def search_by_swaps(history: UnitHistory, control: str, found: Sequence[Suspect], guide: Guide) -> SwapSearch | None:
    """The search for the bad part of one control, with the swaps already made and tested; None with fewer than two
    suspects. A swapped part stays in the unit, so what was swapped before is in every later test."""
    mine = sorted((s for s in found if s.weight >= LEAST_WEIGHT), key=lambda s: -s.weight)[:MAX_PARTS]
    if len(mine) < 2:
        return None
    minutes = next((float(m.minutes) for m in guide.treatments if m.kind == SWAP), MINUTES)
    search = SwapSearch(
        tuple(SwapPart(s.part_id, s.name, s.weight, minutes) for s in mine), test_minutes=float(guide.test_minutes or 4)
    )
    by_name = {s.name.casefold(): s.part_id for s in mine} | {s.part_id.casefold(): s.part_id for s in mine}
    inside: set[str] = set()
    for i, treatment in enumerate(history.treatments):
        part = by_name.get(treatment.part.casefold()) if treatment.kind == SWAP else None
        if part is None:
            continue
        inside.add(part)
        until = history.treatments[i + 1].order if i + 1 < len(history.treatments) else "~"
        fault = _shows(history, control, treatment.order, until)
        if fault is not None:
            search = search.after(frozenset(inside), fault)
    return search


def next_swap(search: SwapSearch | None) -> SwapAdvice | None:
    """The swap that tells most a minute; None when there is nothing to search, or a part is found."""
    if search is None or search.contradictory or search.verdict() is not None:
        return None
    return search.next_swap()


def _shows(history: UnitHistory, control: str, start: str, end: str) -> bool | None:
    """Whether the fault showed on the control between two moments; None if it was not tested."""
    tested = replace(history, results=tuple(r for r in history.results if start < r.order <= end))
    outcomes = [r.assessment.outcome for (_, c), r in last_counts(tested).items() if c == control]
    return Outcome.FAIL in outcomes if outcomes else None
