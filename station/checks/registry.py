"""All checks, in the order in which a visit works through them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from station.checks.ask import CHARGE, LOOK, RUMBLE, AskCheck
from station.checks.contact import ContactCheck
from station.checks.hat import HatCheck
from station.checks.hold import HoldCheck
from station.checks.letgo import LetGo
from station.checks.light import HARDER, LightCheck
from station.checks.link import Link
from station.checks.rest import Rest
from station.checks.rim import Rim
from station.checks.sweep import Sweep
from station.checks.travel import Travel
from station.checks.trigger import Trigger
from station.checks.types import Check
from station.sheets.model import Control, Sheet

_ALL: tuple[Check, ...] = (
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
    Link(),
    RUMBLE,
    CHARGE,
    LOOK,
)

CHECKS: Mapping[str, Check] = MappingProxyType({check.name: check for check in _ALL})
"""name → check, in the order of a visit"""


def check_named(name: str, sheet: Sheet) -> Check | None:
    """The check of that name: one of `CHECKS`, an ask of the sheet's own, or a harder press; None if there is none."""
    found = CHECKS.get(name)
    if found is None and any(ask.id == name for ask in sheet.asks):
        return AskCheck(name)
    return found or HARDER.get(name)


def checks_of(sheet: Sheet) -> tuple[tuple[Check, Control | None], ...]:
    """Every check that applies to every control of the sheet and to the whole unit (None), in the order of a visit."""
    own = tuple(AskCheck(ask.id) for ask in sheet.asks if ask.id not in CHECKS)
    targets: tuple[Control | None, ...] = (*sheet.controls, None)
    return tuple((check, c) for check in (*_ALL, *own) for c in targets if check.applies(c, sheet))
