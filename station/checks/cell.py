"""The cell under load: how its level falls over a visit, by the unit's own word."""

from __future__ import annotations

from station.checks.base import again, finding
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    FindingKind,
    Limits,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.checks.watched import CellTold, Watched
from station.measure.arrays import NS_PER_S
from station.measure.drain import Change, Level, change, step_of
from station.measure.uncertainty import expanded, resolution
from station.sheets.model import Control, Sheet
from station.sheets.power import Power
from station.words import checks as words
from station.words import figures, unseen

ENOUGH_S = 600.0
"""on its cell; a shorter time says next to nothing (common practice, no source)"""


class Cell:
    """Nothing to do for it: judged from what the unit told of its cell while the visit went on."""

    name = "cell_under_load"
    title = words.CELL
    about = Description(
        kinds=(),
        unseen=unseen.CELL,
        readings=(
            ReadingKind("before", words.CELL_BEFORE, "%", 0),
            ReadingKind("after", words.CELL_AFTER, "%", 0),
            ReadingKind("fall", words.CELL_FALL, "%", 0),
            ReadingKind("fall_per_hour", words.CELL_FALL_PER_HOUR, "%/h", 0),
            ReadingKind("fall_at_least", words.CELL_FALL_AT_LEAST, "%/h", 0, limit="fall_at_least", noted=True),
            ReadingKind("gained", words.CELL_GAINED, "%", 0),
            ReadingKind("on_cell", words.CELL_ON_CELL, "s", 0),
            ReadingKind("vibrated", words.CELL_VIBRATED, "s", 0),
        ),
        findings=(FindingKind("falls_fast", words.FALLS_FAST, {"fall": "fall_per_hour", "least": "fall_at_least"}),),
        watches="cell",
        when_seen=True,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and bool(sheet.controls)

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.CELL_DO, words.CELL_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        fallen = _fallen(take.watched)
        return Progress(fallen is not None, "" if fallen else words.CELL_TOO_SHORT, 1.0 if fallen else 0.0)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        fallen = _fallen(take.watched)
        if fallen is None or take.watched is None:
            return again(words.CELL_TOO_SHORT)
        readings = judged(self.name, _readings(fallen, take.watched), limits)
        found = {r.name: r for r in readings}
        fast = out_of_limit(found["fall_at_least"])
        shown = {"fall": found["fall_per_hour"], "least": found["fall_at_least"]}
        return Assessment(outcome_of(readings), readings, (finding("falls_fast", None, shown),) if fast else ())


def told_of(power: Power, at_ns: int, bus: str) -> CellTold | None:
    """What is kept of the unit's word on its cell; None where it says no level.

    It lives on its cell if it neither charges nor has power from outside; one that says nothing of it does so over
    radio, and has power from the socket over USB.
    """
    if power.level_pct is None:
        return None
    fed = power.charging is True or power.powered is True
    says_not = power.charging is False and power.full is not True
    return CellTold(at_ns, power.level_pct, power.step_pct, not fed and (says_not or bus == "bluetooth"))


def _levels(told: tuple[CellTold, ...]) -> list[Level]:
    return [Level(one.t_ns / NS_PER_S, one.level_pct, one.drains) for one in told]


def _step(told: tuple[CellTold, ...]) -> float:
    return step_of([one.level_pct for one in told], max(one.step_pct for one in told))


def _fallen(watched: Watched | None) -> Change | None:
    """How it fell while it lived on its cell, if that was for long enough."""
    if watched is None or not watched.cell:
        return None
    fallen = change(_levels(watched.cell), _step(watched.cell), draining=True)
    return fallen if fallen is not None and fallen.seconds >= ENOUGH_S else None


def _readings(fallen: Change, watched: Watched) -> tuple[Reading, ...]:
    told, step = watched.cell, _step(watched.cell)
    draining = [one for one in told if one.drains]
    n, u = len(draining), expanded(resolution(step))
    an_hour, u_an_hour = fallen.an_hour()
    least = max(0.0, an_hour - u_an_hour)
    steps, blind = (figures.number(value, 0, figures.PAPER) for value in (step, u_an_hour))
    found = [
        Reading("before", draining[0].level_pct, "%", u, n=1),
        Reading("after", draining[-1].level_pct, "%", u, n=1),
        Reading("fall", fallen.pct, "%", fallen.uncertainty_pct, n=n),
        Reading("fall_per_hour", an_hour, "%/h", u_an_hour, n=n),
        Reading("fall_at_least", least, "%/h", n=n, reason=words.CELL_STEPS.format(step=steps, blind=blind)),
        Reading("on_cell", fallen.seconds, "s", n=n),
        Reading("vibrated", watched.vibrated_ns / NS_PER_S, "s", n=n),
    ]
    gained = change(_levels(told), step, draining=False)
    if gained is not None:
        found.append(Reading("gained", gained.pct, "%", gained.uncertainty_pct, n=len(told) - n))
    return tuple(found)
