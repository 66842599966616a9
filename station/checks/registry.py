"""All checks, in the order in which a visit works through them, and what each says of itself.

`with_checks` brings in more of them; everything else in the program asks here and knows no check by its name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from types import MappingProxyType

from station.checks.alone import Alone
from station.checks.ask import CHARGE, LOOK, RUMBLE, AskCheck
from station.checks.cell import Cell
from station.checks.contact import ContactCheck
from station.checks.glance import Glance
from station.checks.hat import HatCheck
from station.checks.hold import HoldCheck
from station.checks.letgo import LetGo
from station.checks.light import ON_REQUEST, LightCheck
from station.checks.link import Link
from station.checks.motion import Sides, Still
from station.checks.quiet import Quiet
from station.checks.rest import Rest
from station.checks.rim import Rim
from station.checks.strengths import CHECK_OF
from station.checks.sweep import Sweep
from station.checks.together import Together
from station.checks.touch import Swipe, Untouched
from station.checks.travel import Travel
from station.checks.trigger import Trigger
from station.checks.types import Check, Description, Dial, FindingKind, Limits, ReadingKind, Shows
from station.sheets.model import Control, Sheet

_PARTS = ("x", "y", "up", "right", "down", "left")
_registered: dict[str, Check] = {}

CHECKS: Mapping[str, Check] = MappingProxyType(_registered)
"""name → check, in the order of a visit; presses on request are not among them, since no plan has them"""


def register(checks: Iterable[Check]) -> None:
    """Add checks to the program, after those there are. ValueError for a name that is taken."""
    for check in checks:
        if check.name in _registered or check.name in ON_REQUEST:
            raise ValueError(f"there is a check named {check.name!r} already")
        _registered[check.name] = check


@contextmanager
def with_checks(*checks: Check) -> Iterator[None]:
    """More checks for a while: they are planned, drawn, recorded and printed like those that ship."""
    register(checks)
    try:
        yield
    finally:
        for check in checks:
            del _registered[check.name]


register(
    (
        Glance(),
        ContactCheck(),
        LightCheck(),
        HoldCheck(),
        Rest(),
        LetGo(),
        Travel(),
        Rim(),
        Sweep(),
        Trigger(),
        HatCheck(),
        Together(),
        Still(),
        Sides(),
        Untouched(),
        Swipe(),
        Link(),
        Quiet(),
        Alone(),
        Cell(),
        RUMBLE,
        CHARGE,
        LOOK,
    )
)


def check_named(name: str, sheet: Sheet) -> Check | None:
    """The check of that name: one of `CHECKS`, an ask of the sheet's own, or a press on request; None: none."""
    found = CHECKS.get(name)
    if found is None:
        ask = next((ask for ask in sheet.asks if ask.id == name), None)
        if ask is not None:
            return AskCheck(name, ask.meter)
    return found or ON_REQUEST.get(name)


def checks_of(sheet: Sheet) -> tuple[tuple[Check, Control | None], ...]:
    """Every check that applies to every control of the sheet and to the whole unit (None), in the order of a visit."""
    own = tuple(AskCheck(ask.id, ask.meter) for ask in sheet.asks if ask.id not in CHECKS)
    targets: tuple[Control | None, ...] = (*sheet.controls, None)
    return tuple((check, c) for check in (*CHECKS.values(), *own) for c in targets if check.applies(c, sheet))


# --- what they say of themselves ------------------------------------------------------------------------


_ask = lru_cache(maxsize=256)(AskCheck)


def known(name: str) -> Check:
    """The check of that name, presses on request among them; for any other name an ask, as a sheet may have it."""
    return CHECKS.get(name) or ON_REQUEST.get(name) or _ask(name)


def describe(name: str) -> Description:
    """What the check of that name says of itself."""
    return known(name).about


def described() -> Mapping[str, Description]:
    """name → description of every check, presses on request after the others."""
    return {name: check.about for name, check in {**CHECKS, **ON_REQUEST}.items()}


def title_of(name: str) -> str:
    """The name of a check in words: "Light press"."""
    return known(name).title


def answered_by() -> Mapping[str, bool]:
    """name → whether a person answers it: what a sheet may name, and what an ask of its own must not be called."""
    return {name: about.person_answers for name, about in described().items()}


def reading_kind(check: str, name: str) -> tuple[ReadingKind, str]:
    """The kind of a reading, and the axis or direction in its name ("reach_up" → reach, "up"; "" for none).

    A reading that no description has (of a check that is gone, or an ask's) is called by its own name.
    """
    kinds = {kind.name: kind for kind in describe(check).readings}
    if name in kinds:
        return kinds[name], ""
    base, _, part = name.rpartition("_")
    if base and part in _PARTS:
        kind = kinds.get(base)
        return kind or ReadingKind(base, base.replace("_", " "), digits=1), part
    return ReadingKind(name, name.replace("_", " "), digits=1), ""


def unseen(check: str, name: str) -> str:
    """What a reading cannot see."""
    return reading_kind(check, name)[0].unseen or describe(check).unseen


def finding_kind(check: str, code: str) -> FindingKind | None:
    """The finding of that code as the check describes it; None if it has no such finding."""
    return next((kind for kind in describe(check).findings if kind.code == code), None)


def codes_of(check: str) -> tuple[str, ...]:
    """The codes of the findings that a check can make."""
    return tuple(kind.code for kind in describe(check).findings)


def drawn_on_dial(shows: Shows) -> tuple[str, Dial]:
    """The check that puts this on a stick's dial, and how: one does."""
    found = ((n, about.dial) for n, about in described().items() if about.dial is not None)
    return next((name, dial) for name, dial in found if dial.shows == shows)


def limits_of_pull() -> tuple[str, tuple[str, str]]:
    """The check whose limits stand beside a trigger's column, and which: of the released value and of the full pull."""
    found = ((name, about.released_and_full) for name, about in described().items())
    return next((name, pair) for name, pair in found if pair is not None)


def limits_table(name: str) -> str:
    """The check under whose name the limits of this one stand: those of all presses on beats with the light press."""
    return CHECK_OF["light"] if name in ON_REQUEST else name


def shipped_limits() -> Limits:
    """The limits that the descriptions bring along, where resources/limits.toml gives none."""
    found = {
        name: {kind.limit: kind.shipped for kind in about.readings if kind.limit and kind.shipped is not None}
        for name, about in described().items()
    }
    return {name: table for name, table in found.items() if table}
