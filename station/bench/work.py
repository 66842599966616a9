"""A treatment while it is worked at: what is done to which part, and for how long so far.

The clock is the wall clock, so that it goes on while the window or the program is closed. Pure; nothing waits here.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from typing import Any

from station.records.clock import parse_time, time_text
from station.records.types import Treatment

MOST_S = 4 * 3600.0
"""what runs for longer was forgotten, and its minutes are asked for (customary, no published source)"""


@dataclass(frozen=True, slots=True)
class Work:
    """One treatment under way. `treatment`: what will be recorded, with its id; its minutes are not known yet.

    `passed_s`: what was worked before the stretch that runs. `since`: when that began, UTC; empty while it is paused.
    """

    treatment: Treatment
    begun_at: str
    shelf_part_id: str = ""
    passed_s: float = 0.0
    since: str = ""

    @property
    def unit_id(self) -> str:
        return self.treatment.unit_id

    @property
    def paused(self) -> bool:
        return not self.since


def begin(treatment: Treatment, now: datetime, shelf_part_id: str = "") -> Work:
    """The work begins, and its clock."""
    at = time_text(now)
    return Work(treatment, at, shelf_part_id, since=at)


def seconds(work: Work, now: datetime) -> float:
    """For how long it was worked at; a clock that was set back takes nothing away."""
    if work.paused:
        return work.passed_s
    return work.passed_s + max((now - parse_time(work.since)).total_seconds(), 0.0)


def paused(work: Work, now: datetime) -> Work:
    """The clock stands."""
    return replace(work, passed_s=seconds(work, now), since="")


def gone_on(work: Work, now: datetime) -> Work:
    """The clock goes on; one that goes is left."""
    return replace(work, since=time_text(now)) if work.paused else work


def minutes(work: Work, now: datetime) -> int | None:
    """Minutes that it took, begun ones whole; None where the clock was forgotten and says nothing."""
    passed = seconds(work, now)
    return None if passed > MOST_S else max(1, math.ceil(passed / 60.0))


def ended(work: Work, now: datetime, took: int) -> Treatment:
    """What is recorded of it."""
    return replace(work.treatment, minutes=took, at=time_text(now))


def to_text(works: Iterable[Work]) -> str:
    """As it is kept."""
    return json.dumps([asdict(work) for work in works])


def from_text(text: str) -> tuple[Work, ...]:
    """What was kept; what is no work under way is left out."""
    try:
        rows = json.loads(text) if text else []
    except (ValueError, RecursionError):
        return ()
    return tuple(work for row in rows if (work := _work(row)) is not None) if isinstance(rows, list) else ()


def _work(row: Any) -> Work | None:
    try:
        given = {field.name: row[field.name] for field in fields(Work)}
        given["treatment"] = Treatment(**given["treatment"])
        work = Work(**given)
        for at in (work.begun_at, *((work.since,) if work.since else ())):
            parse_time(at)
        if not math.isfinite(float(work.passed_s)) or work.passed_s < 0:
            return None
        return work if work.unit_id and work.treatment.id else None
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError):
        return None
