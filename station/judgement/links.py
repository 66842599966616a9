"""What a unit was measured over: the newest link check of each link, compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from station.checks.types import Reading
from station.judgement.tries import gave_verdict
from station.records.types import Result

WAIT, RADIO = "wait_mean", "over_radio"


@dataclass(frozen=True, slots=True)
class LinksCompared:
    """Mean wait of a movement over radio less that over USB, ms, with its expanded uncertainty (k = 2)."""

    difference_ms: float
    uncertainty_ms: float


def links_compared(results: Sequence[Result]) -> LinksCompared | None:
    """From the newest results that tell their link, oldest first in `results`; None unless there is one of each.

    U of a difference of independent values: √(U₁² + U₂²) (JCGM 100:2008, 5.1.2).
    """
    newest: dict[bool, Reading] = {}
    for result in results:
        found = {r.name: r for r in result.assessment.readings if r.value is not None}
        if gave_verdict(result) and WAIT in found and RADIO in found:
            newest[bool(found[RADIO].value)] = found[WAIT]
    if len(newest) < 2:
        return None
    radio, usb = newest[True], newest[False]
    return LinksCompared((radio.value or 0.0) - (usb.value or 0.0), math.hypot(radio.uncertainty, usb.uncertainty))
