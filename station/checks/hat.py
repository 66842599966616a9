"""Hat: are all eight directions there, and does it return to its null state?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from station.checks.base import again, count, finding, hat_of, spoken
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    ParamValue,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.sheets.model import Control, Sheet
from station.words import checks as words
from station.words import unseen
from station.words.figures import Style
from station.words.grammar import listed

ROLLED_AFTER = 5
"""Directions passed that make a roll (with one contact dead, a roll passes five); with fewer, nothing is said about
those not seen. The person has read which are missing, and ends the try when they do not come."""
NEVER_AFTER_NS = 3 * NS_PER_S
_PASSING_NS = 300 * NS_PER_MS


def _eighth(value: ParamValue, style: Style | None = None) -> str:
    """The k-th of eight directions."""
    return words.HAT_EIGHTHS[value % 8] if isinstance(value, int) else str(value)


class HatCheck:
    """One slow roll through all directions, then let go."""

    name = "hat"
    title = words.HAT
    about = Description(
        kinds=("hat",),
        unseen=unseen.HAT,
        readings=(
            ReadingKind("directions", words.HAT_DIRECTIONS, limit="directions"),
            ReadingKind("null_returns", words.HAT_NULL_RETURNS, limit="null_returns"),
        ),
        findings=(
            FindingKind(
                "missing_direction",
                lambda params: words.MISSING_DIRECTION if "eighth" in params else words.MISSING_ALL,
                {"eighth": _eighth},
            ),
            FindingKind("no_null", words.NO_NULL),
        ),
        due_after="any opening",
        counts=True,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "hat"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.HAT_DO.format(who=spoken(control)), words.HAT_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        rolled = _rolled(take)
        readings = judged(self.name, _readings(rolled), limits)
        missing = [words.HAT_EIGHTHS[d] for d in range(8) if d not in rolled.seen]
        share = (len(rolled.seen) + min(1, rolled.nulls)) / 9
        marks = {"directions": tuple(d in rolled.seen for d in range(8))}
        if len(missing) > 3:
            return Progress(False, words.HAT_MANY_TO_GO.format(directions=len(missing)), share, readings, marks)
        if missing:
            return Progress(False, words.TO_GO.format(what=listed(missing)), share, readings, marks)
        if not rolled.nulls:
            return Progress(False, words.LET_GO, share, readings, marks)
        return Progress(True, "", 1.0, readings, marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        rolled = _rolled(take)
        readings = judged(self.name, _readings(rolled), limits)
        who = spoken(take.control)
        if rolled.moves < ROLLED_AFTER and not (rolled.moves == 0 and take.end_ns - take.begin_ns >= NEVER_AFTER_NS):
            return again(words.HAT_ALL_EIGHT.format(who=who), readings)
        bad = {r.name for r in readings if out_of_limit(r)}
        missing = [d for d in range(8) if d not in rolled.seen] if "directions" in bad else []
        skipped = [d for d in missing if not _surely_missing(d, rolled)]
        if skipped:
            directions = listed([words.HAT_EIGHTHS[d] for d in skipped])
            return again(words.HAT_SKIPPED.format(who=who, directions=directions), readings)
        findings = _missing_findings(take.control, missing)
        if rolled.moves and "null_returns" in bad:
            findings.append(finding("no_null", take.control))
        return Assessment(outcome_of(readings), readings, tuple(findings))


def _missing_findings(control: Control | None, missing: list[int]) -> list[Finding]:
    """One for each direction missing. A main direction takes its diagonals with it: they need its contact too."""
    if len(missing) == 8:
        return [finding("missing_direction", control)]
    main = {d for d in missing if d % 2 == 0}
    named = [d for d in missing if d in main or not main & {(d - 1) % 8, (d + 1) % 8}]
    return [finding("missing_direction", control, {"eighth": d}, direction=45.0 * d) for d in named]


@dataclass(frozen=True, slots=True)
class _Rolled:
    """Directions seen, returns to null, changes of direction; `path`: the directions in order, brief nulls as −1."""

    seen: frozenset[int]
    nulls: int
    moves: int
    path: tuple[int, ...]


def _rolled(take: Take) -> _Rolled:
    signal = hat_of(take)
    if signal is None:
        return _Rolled(frozenset(), 0, 0, ())
    changed = np.append(True, signal.direction[1:] != signal.direction[:-1])
    state, since = signal.direction[changed], signal.t_ns[changed]
    lasted = np.diff(since, append=take.end_ns)
    nulls = int(((state[1:] < 0) & (state[:-1] >= 0)).sum())
    kept = (state >= 0) | (lasted < _PASSING_NS)
    return _Rolled(frozenset(state[state >= 0].tolist()), nulls, int((state >= 0).sum()), tuple(state[kept].tolist()))


def _surely_missing(direction: int, rolled: _Rolled) -> bool:
    """A main direction not seen in a roll is missing. A diagonal can be passed over in a hurry: it is missing when
    the hat fell to null in its place, or when it was passed over twice, or when a neighbour is missing as well."""
    left, right = (direction - 1) % 8, (direction + 1) % 8
    if direction % 2 == 0 or left not in rolled.seen or right not in rolled.seen:
        return True
    path = rolled.path
    passes = sum({a, b} == {left, right} for a, b in pairwise(path))
    through_null = any({a, c} == {left, right} and b < 0 for a, b, c in zip(path, path[1:], path[2:], strict=False))
    return through_null or passes >= 2


def _readings(rolled: _Rolled) -> tuple[Reading, ...]:
    unseen = "" if rolled.path else words.HAT_NOT_REPORTED
    return (count("directions", len(rolled.seen), rolled.moves, unseen), count("null_returns", rolled.nulls))
