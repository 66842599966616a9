"""The points of a certificate's dials, read again from the captures behind the results."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from station.certificate.types import Dial
from station.checks.registry import described, drawn_on_dial, reading_kind
from station.checks.said import reading_name, value_text
from station.checks.types import Limits, Progress, Reading, Shows
from station.judgement.limits import limit
from station.measure.sectors import SECTORS
from station.records.types import Result
from station.sheets.model import Control
from station.words import certificate as words
from station.words import figures
from station.words import readings as reading_words


def dial_of(control: Control, results: dict[str, Result], evidence: dict[str, Progress], limits: Limits) -> Dial:
    """One stick's dial.

    `results` holds the verdict that stands per check, `evidence` what those that draw on a dial drew from their
    captures.
    """
    rest = _rest_point(results)
    reach = _mark(evidence, "sectors", "sector_reach")
    settle = _mark(evidence, "settled", "settle_points")
    return Dial(
        control.id,
        control.name,
        rest,
        _ring(results, limits, "rest"),
        _ring(results, limits, "sectors"),
        tuple(float(v) for v in np.asarray(reach, float)) if reach is not None else (float("nan"),) * SECTORS,
        tuple((float(x), float(y)) for x, y in np.asarray(settle, float).reshape(-1, 2)) if settle is not None else (),
        words.DOT.join(_captions(results)),
    )


def _captions(results: dict[str, Result]) -> Iterator[str]:
    """What each check that draws on the dial tells of it."""
    for check, about in described().items():
        for reading in results[check].assessment.readings if check in results else ():
            if about.dial is not None and reading.name == about.dial.reading and reading.value is not None:
                name, value = reading_name(check, reading.name), value_text(check, reading, figures.PAPER)
                yield reading_words.REPORTED.format(name=name, value=value)


def _mark(evidence: dict[str, Progress], shows: Shows, mark: str) -> object:
    check, _ = drawn_on_dial(shows)
    return evidence[check].marks.get(mark) if check in evidence else None


def _rest_point(results: dict[str, Result]) -> tuple[float, float] | None:
    check, dial = drawn_on_dial("rest")
    result = results.get(check)
    if result is None:
        return None
    values = {r.name: r.value for r in result.assessment.readings}
    x, y = (values.get(name) for name in dial.point)
    return (x, y) if x is not None and y is not None else None


def _ring(results: dict[str, Result], limits: Limits, shows: Shows) -> float:
    """The limit that is drawn around what a check shows: the one that judged it, as it stands in the table beside the
    dial; the one in force where nothing was judged."""
    check, dial = drawn_on_dial(shows)
    readings = results[check].assessment.readings if check in results else ()
    judged_by = (r.limit for r in readings if r.limit is not None and _limit_of(check, r) == dial.ring)
    return next(judged_by, limit(check, dial.ring, limits)[0])


def _limit_of(check: str, reading: Reading) -> str:
    return reading_kind(check, reading.name)[0].limit
