"""What moved over a whole visit, and what the person was asked to touch meanwhile: which movements no hand explains.

A control that moves though nobody was asked to touch it may do so by itself, or a hand has brushed against it. They
are told apart as far as that goes (docs/METHOD.md, Quiet): a brush is brief, near to where the hand works, and comes
with that work only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from statistics import median
from typing import Literal

from station.sheets.model import BYSTANDERS, Control, Sheet

GRACE_NS = 1_000_000_000
"""a control still comes to rest, or is let go, for so long after a try (common practice, no source)"""
BRIEF_NS = 300_000_000
"""a brush against a neighbour is over by then (common practice, no source)"""
WITH_PRESS_NS = 60_000_000
"""what begins so near to a press of the control that was asked for belongs to it: a short, which the contact check
names, or a finger across both"""
BESIDE_NS = 350_000_000
"""a movement of the control that was asked for within this before or after: the finger was there and not on another"""
HALF_BEAT_NS = 250_000_000
"""a press that was given to another button begins no nearer than half of a beat to those before and after it: half of
the usual interval of the presses of this try, or this where there are too few"""
FEWEST_PRESSES = 4

Cause = Literal["asked", "along", "elsewhere", "brush", "pause", "none"]


@dataclass(frozen=True, slots=True)
class Moved:
    """A control left its rest: a button closed, a hat left its middle, a stick or trigger went off. Source's clock."""

    control: str
    begin_ns: int
    end_ns: int


@dataclass(frozen=True, slots=True)
class Asked:
    """From `begin_ns` on this is asked, until the next one. `running`: a try runs; else it is what comes next.

    `controls`: those that the person works, "" among them the whole unit; `hands_off`: nothing is to be touched.
    """

    begin_ns: int
    check: str = ""
    controls: tuple[str, ...] = ()
    running: bool = False
    hands_off: bool = False


@dataclass(frozen=True, slots=True)
class CellTold:
    """What the unit said of its cell at a moment: % of full, in steps of `step_pct`. `drains`: it lived on its cell."""

    t_ns: int
    level_pct: float
    step_pct: float
    drains: bool


@dataclass(frozen=True, slots=True)
class Watched:
    """A visit as it was watched: `watched_ns` is how long reports could come, `vibrated_ns` how long motors ran."""

    begin_ns: int
    watched_ns: int
    moved: tuple[Moved, ...] = ()
    asked: tuple[Asked, ...] = ()
    cell: tuple[CellTold, ...] = ()
    vibrated_ns: int = 0


@dataclass(frozen=True, slots=True)
class Explained:
    """A movement with what explains it; `during`: the control that was being worked, "" for none; `try_ns`: when the
    try began in which a hand was at work, None where nothing was to be touched."""

    moved: Moved
    cause: Cause
    during: str
    try_ns: int | None = None


Moves = dict[str, list[Explained]]


def by_control(moves: Sequence[Explained], causes: tuple[Cause, ...]) -> Moves:
    """Control → its movements with such a cause, in order of time."""
    found: Moves = {}
    for one in moves:
        if one.cause in causes:
            found.setdefault(one.moved.control, []).append(one)
    return found


def goes_along(own: Control, other: Control, sheet: Sheet) -> bool:
    """Whether `other` may move when `own` is worked: itself, what repeats it or is repeated, its own stick or press.

    Without a sheet that says which button is whose, sticks and triggers and buttons may move along with each other.
    """
    if other.id == own.id or other.kind in BYSTANDERS:
        return True
    sources = {own.id, own.seen_as} - {None}
    if other.id in sources or (other.seen_as is not None and other.seen_as in sources):
        return True
    pair = {own.kind in ("stick", "trigger"), other.kind in ("stick", "trigger")}
    if pair != {True, False}:
        return False
    whole, part = (own, other) if own.kind in ("stick", "trigger") else (other, own)
    if sheet.drawn_up:
        return True
    return part.id.startswith(whole.id) or part.name.casefold().startswith(whole.name.casefold())


def explained(watched: Watched, sheet: Sheet) -> tuple[Explained, ...]:
    """What explains each movement, in order of time."""
    spells = watched.asked or (Asked(watched.begin_ns),)
    by_control: dict[str, list[Moved]] = {}
    for one in watched.moved:
        by_control.setdefault(one.control, []).append(one)
    found, at = [], 0
    for one in sorted(watched.moved, key=lambda m: (m.begin_ns, m.control)):
        while at + 1 < len(spells) and spells[at + 1].begin_ns <= one.begin_ns:
            at += 1
        control = _control(one.control, sheet)
        if control is not None:
            found.append(_explained(one, control, spells, at, by_control, sheet))
    return tuple(found)


def _control(name: str, sheet: Sheet) -> Control | None:
    return next((c for c in sheet.controls if c.id == name), None)


def _explained(
    one: Moved,
    control: Control,
    spells: Sequence[Asked],
    at: int,
    by_control: dict[str, list[Moved]],
    sheet: Sheet,
) -> Explained:
    now = spells[at]
    during = now.controls[0] if now.running and now.controls else ""
    late = [s for k, s in enumerate(spells[:at]) if s.running and spells[k + 1].begin_ns >= one.begin_ns - GRACE_NS]
    ahead = [s for s in spells[at + 1 : at + 3] if s.begin_ns <= one.end_ns]
    if any(_may_touch(control, s, sheet) for s in (now, *late, *ahead)):
        return Explained(one, "asked", during)
    if not now.running:
        return Explained(one, "pause", "")
    worked = [c for name in now.controls if (c := _control(name, sheet)) is not None]
    mine = [m for c in worked for m in by_control.get(c.id, ())]
    begun = any(abs(m.begin_ns - one.begin_ns) <= WITH_PRESS_NS and m.end_ns > one.begin_ns for m in mine)
    if begun and any(c.kind == "button" for c in worked):
        return Explained(one, "along", during)
    since = [m for m in mine if m.begin_ns >= now.begin_ns]
    handled = not now.hands_off or not any(m.begin_ns < one.begin_ns for m in since)  # it is flicked before it rests
    near = _near
    if control.kind == "button":
        near = partial(_begins_near, within_ns=_half_beat_ns(since))
    beside = all(near(one, by_control.get(c.id, ())) for c in worked)
    if handled and not beside and any(c.kind == control.kind for c in worked):
        return Explained(one, "elsewhere", during)
    close = control.zone == "back" or not worked or any(c.zone == control.zone for c in worked)
    if close and not now.hands_off and one.end_ns - one.begin_ns <= BRIEF_NS:
        return Explained(one, "brush", during)
    return Explained(one, "none", during, None if now.hands_off else now.begin_ns)


def _near(one: Moved, mine: Sequence[Moved]) -> bool:
    """Whether one of these movements is near in time, so that the finger was there and on no other control."""
    return any(m.begin_ns - BESIDE_NS <= one.end_ns and m.end_ns + BESIDE_NS >= one.begin_ns for m in mine)


def _begins_near(one: Moved, mine: Sequence[Moved], within_ns: float) -> bool:
    """Of presses: whether one of these lasts meanwhile, or begins within half of a beat of it."""
    return any(
        (m.begin_ns <= one.end_ns and m.end_ns >= one.begin_ns) or abs(m.begin_ns - one.begin_ns) <= within_ns
        for m in mine
    )


def _half_beat_ns(presses: Sequence[Moved]) -> float:
    """Half of the usual interval of presses; of those of two fingers on one beat the first counts."""
    begins = sorted(m.begin_ns for m in presses)
    apart = [b - a for a, b in pairwise(begins) if b - a > WITH_PRESS_NS]
    return median(apart) / 2.0 if len(apart) + 1 >= FEWEST_PRESSES else HALF_BEAT_NS


def _may_touch(control: Control, spell: Asked, sheet: Sheet) -> bool:
    if spell.hands_off and spell.running:
        return control.id in spell.controls  # what it does then is for that check to say
    if "" in spell.controls:
        return control.kind in ("stick", "trigger") or not spell.running
    return any(c is not None and goes_along(c, control, sheet) for c in (_control(n, sheet) for n in spell.controls))
