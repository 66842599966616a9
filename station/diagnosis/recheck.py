"""Whether a treatment was tested: until then nobody knows what it did."""

from __future__ import annotations

from station.judgement.tries import was_tested
from station.records.types import Treatment, UnitHistory


def untested(history: UnitHistory) -> Treatment | None:
    """The last treatment, if nothing was tested since."""
    if not history.treatments:
        return None
    last = history.treatments[-1]
    return None if was_tested(history.results, last.at) else last
