"""What to test again after a treatment: what it went for, and what opening the housing may have disturbed."""

from __future__ import annotations

from station.checks.registry import described
from station.diagnosis.evidence import last_counts
from station.diagnosis.guide import Guide
from station.diagnosis.learn import target_before
from station.records.types import Treatment, UnitHistory
from station.sheets.model import Kind, Sheet


def untested(history: UnitHistory) -> Treatment | None:
    """The last treatment, if nothing was tested since."""
    if not history.treatments:
        return None
    last = history.treatments[-1]
    return None if any(r.at > last.at for r in history.results) else last


def rechecks(history: UnitHistory, treatment: Treatment, sheet: Sheet, guide: Guide) -> tuple[tuple[str, str], ...]:
    """(check, control) in the order of the sheet: every check done before on the treated control, and after an opened
    housing the quick checks of all the others. A treatment whose target is not known: every check done before."""
    before = [key for key, r in last_counts(history).items() if r.at <= treatment.at]
    target = target_before(history, treatment, guide, sheet)
    wanted = [key for key in before if target is None or not target.control or key[1] == target.control]
    opened = any(m.needs_open for m in guide.treatments if m.kind == treatment.kind)
    if opened:
        wanted += [(check, c.id) for c in sheet.controls for check in _quick_checks(c.kind)]
    order = {c.id: i for i, c in enumerate(sheet.controls)}
    return tuple(sorted(dict.fromkeys(wanted), key=lambda key: order.get(key[1], len(order))))


def _quick_checks(kind: Kind) -> list[str]:
    """Those that are due on a control of that kind once the housing was opened."""
    return [name for name, about in described().items() if about.due_after == "any opening" and kind in about.kinds]
