"""Two triggers that a platform presents as one axis, their difference.

It rests in the middle; one trigger raises it, the other lowers it, both together cancel. A descriptor does not say so:
a drawn-up pad with two sticks and a single axis left over is suspected, and its reports decide.
"""

from __future__ import annotations

import numpy as np

from station.sheets.model import Control, Sheet
from station.sheets.signals import F64, I64
from station.words import sheets as words

MIDDLE_PCT = (40.0, 60.0)
LEAVES_PCT = 15.0
SHARE_AT_REST = 0.25
"""share of a try: an even pull of a whole axis is in the middle fifth for less than a fifth of the time; one that rests
there adds the time between the pulls"""


def suspect(sheet: Sheet) -> Control | None:
    """The axis that may be two triggers; None where there is no reason to think so."""
    triggers = [c for c in sheet.controls if c.kind == "trigger"]
    sticks = [c for c in sheet.controls if c.kind == "stick"]
    return triggers[0] if sheet.drawn_up and len(sticks) == 2 and len(triggers) == 1 else None


def remark(sheet: Sheet) -> str:
    """One sentence for the person about the suspected axis; empty without one."""
    control = suspect(sheet)
    if control is None:
        return ""
    return words.MAY_BE_TWO_TRIGGERS.format(control=control.name, cannot=words.CANNOT_TELL_APART)


def rests_in_the_middle(t_ns: I64, pct: F64, begin_ns: int, end_ns: int) -> bool:
    """Whether an axis (% of its range) rests in its middle and leaves it.

    Weighted by time: a value holds until the next report.
    """
    if not len(t_ns):
        return False
    held_ns = np.diff(np.clip(np.append(t_ns, end_ns), begin_ns, end_ns))
    middle = (pct >= MIDDLE_PCT[0]) & (pct <= MIDDLE_PCT[1])
    away = (pct < MIDDLE_PCT[0] - LEAVES_PCT) | (pct > MIDDLE_PCT[1] + LEAVES_PCT)
    rests = float(held_ns[middle].sum()) >= SHARE_AT_REST * float(max(held_ns.sum(), 1))
    return rests and bool(away.any())
