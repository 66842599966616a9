"""How hard a button is pressed on the beats: light, normal, firm. Each strength is a check of its own.

So a try at one strength never counts in the place of a try at another (docs/decisions/strengths-are-checks.md).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Literal

from station.checks.base import finding
from station.checks.types import Assessment, Finding, Outcome, ParamValue, Reading
from station.words import checks as words
from station.words.figures import Style, bare
from station.words.grammar import listed

PressStrength = Literal["light", "normal", "firm"]
STRENGTHS: tuple[PressStrength, ...] = ("light", "normal", "firm")
"""lightest first"""
CHECK_OF: Mapping[PressStrength, str] = MappingProxyType(
    {"light": "light", "normal": "normal_press", "firm": "firm_press"}
)
"""strength → the word for its check in code, records and captures"""
_STRENGTH_OF = {check: strength for strength, check in CHECK_OF.items()}


def strength_of(check: str) -> PressStrength | None:
    """The strength of a press check; None for any other check."""
    return _STRENGTH_OF.get(check)


def contrast(who: str, check: str, done: Mapping[str, Assessment]) -> Finding | None:
    """What the presses of one control say together: light ones fail, harder ones pass.

    `done` maps each press check of the control to its assessment, that of `check` (the newest) among them. None when
    the newest does not complete such a pair.
    """
    outcomes = {s: done[CHECK_OF[s]].outcome for s in STRENGTHS if CHECK_OF[s] in done}
    newest = strength_of(check)
    passing = [s for s in STRENGTHS if outcomes.get(s) is Outcome.PASS]
    failing = [s for s in STRENGTHS if outcomes.get(s) is Outcome.FAIL]
    good = newest if newest in passing else next(iter(passing), None)
    if newest is None or good is None:
        return None
    below = [s for s in failing if STRENGTHS.index(s) < STRENGTHS.index(good)]
    if not below or newest not in (good, *below):
        return None
    return finding(
        "misses", who, {"failing": tuple(_with_force(s, done) for s in below), "passing": _with_force(good, done)}
    )


def of_several_tries(told: Finding) -> bool:
    """Whether a finding is such a contrast, which the reports of one try cannot tell."""
    return told.code == "misses" and "passing" in told.params


def _with_force(strength: PressStrength, done: Mapping[str, Assessment]) -> str:
    """A strength as a parameter of a finding: "light", or "light 0.981 0.0012" with the force (N) that a mass gave it
    and the expanded uncertainty of that."""
    forces = [r for r in done[CHECK_OF[strength]].readings if r.name == "force" and r.value is not None]
    return f"{strength} {forces[0].value:.6g} {forces[0].uncertainty:.6g}" if forces else strength


def shown_strength(param: ParamValue, style: Style | None = None) -> str:
    """A strength in words: "light", or with its force, to the place of its uncertainty, "light (0.9810 N)"."""
    strength, *force = str(param).split(" ")
    word = words.STRENGTHS.get(strength, strength)
    if not force:
        return word
    value, uncertainty = float(force[0]), float(force[1]) if len(force) > 1 else 0.0
    return words.STRENGTH_WITH_FORCE.format(strength=word, force=bare(value, uncertainty, 2, style))


def spoken_strengths(param: ParamValue, style: Style | None = None) -> str:
    """Strengths one after the other."""
    return listed([shown_strength(one, style) for one in (param if isinstance(param, tuple) else (param,))])


def faulty_presses(readings: Sequence[Reading]) -> tuple[int, int] | None:
    """(faulty presses, beats) of a press check; None for any other."""
    found = {r.name: r.value for r in readings}
    beats = found.get("beats")
    if beats is None:
        return None
    return round(sum(found.get(name) or 0.0 for name in ("missed", "split", "short"))), round(beats)
