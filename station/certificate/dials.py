"""The points of a certificate's dials, read again from the captures behind the results."""

from __future__ import annotations

import numpy as np

from station.certificate.types import Dial
from station.checks.types import Limits, Progress
from station.judgement.limits import limit
from station.measure.sectors import SECTORS
from station.records.types import Result
from station.sheets.model import Control


def dial_of(control: Control, results: dict[str, Result], evidence: dict[str, Progress], limits: Limits) -> Dial:
    """One stick's dial.

    `results` holds the verdict that stands per check ("rest", "rim", …), `evidence` what the check drew from its
    capture.
    """
    rest = _rest_point(results.get("rest"))
    reach = evidence["rim"].marks.get("sector_reach") if "rim" in evidence else None
    settle = evidence["letgo"].marks.get("settle_points") if "letgo" in evidence else None
    return Dial(
        control.id,
        control.name,
        rest,
        limit("rest", "offset", limits)[0],
        limit("rim", "least_reach", limits)[0],
        tuple(float(v) for v in np.asarray(reach, float)) if reach is not None else (float("nan"),) * SECTORS,
        tuple((float(x), float(y)) for x, y in np.asarray(settle, float).reshape(-1, 2)) if settle is not None else (),
    )


def _rest_point(result: Result | None) -> tuple[float, float] | None:
    if result is None:
        return None
    values = {r.name: r.value for r in result.assessment.readings}
    x, y = values.get("offset_x"), values.get("offset_y")
    return (x, y) if x is not None and y is not None else None
