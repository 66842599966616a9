"""Faults in words, with the units of their magnitudes."""

from __future__ import annotations

from station.sources.simulated.faults import Fault
from station.words import samples as words


def told(fault: Fault) -> str:
    """The magnitude of a fault in words, with its units."""
    return words.FAULTS[fault.kind].format(
        size=fault.size, at=fault.at, ms=fault.ms, other=fault.other, axis=fault.axis
    )
