"""Small things that all checks share: words for the person, readings that count, the signal of the control."""

from __future__ import annotations

from collections.abc import Sequence

from station.checks.types import Assessment, Outcome, Reading, Take
from station.sheets.model import Control
from station.sheets.signals import ButtonSignal, HatSignal, Signal

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def spoken(control: Control | None) -> str:
    """The control's name inside a sentence: "Left stick" → "left stick", while "A" and "L3" stay as they are."""
    return "unit" if control is None else spoken_name(control.name)


def spoken_name(name: str) -> str:
    """A control's name inside a sentence."""
    return name[0].lower() + name[1:] if len(name) > 1 and name[1].islower() else name


def number(n: int) -> str:
    """n in words up to twelve, in figures above: "no", "one", …, "13"."""
    return _NUMBERS[n] if 0 <= n < len(_NUMBERS) else str(n)


def some(n: int, noun: str) -> str:
    """ "one press", "two presses", "no press": a number with its noun, plural where it needs one."""
    if n in (0, 1):
        return f"{number(n)} {noun}"
    return f"{number(n)} {noun}{'es' if noun.endswith(('s', 'sh', 'ch', 'x')) else 's'}"


def times(n: int) -> str:
    """ "once", "twice", "three times"."""
    return {1: "once", 2: "twice"}.get(n) or some(n, "time")


def listed(words: Sequence[str]) -> str:
    """ "up", "up and right", "up, right and down"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def again(text: str, readings: tuple[Reading, ...] = ()) -> Assessment:
    """The try does not count: incomplete or sloppy, never a fail. `text` says what to do, without a full stop."""
    return Assessment(Outcome.NOT_DONE, readings, (), f"again, please: {text}")


def count(name: str, value: int, n: int = 0, reason: str = "") -> Reading:
    """A reading that was counted: no unit, no uncertainty."""
    return Reading(name, float(value), "", n=n, reason=reason)


def signal_of(take: Take, control_id: str | None = None) -> Signal | None:
    """What the take's control (or another one) did; for one that only repeats another, what that one did."""
    if control_id is None:
        if take.control is None:
            return None
        control_id = take.control.id
    found = take.signals.get(control_id)
    if found is None:
        repeats = {c.id: c.seen_as for c in take.sheet.controls}.get(control_id)
        found = take.signals.get(repeats) if repeats else None
    return found


def button_of(take: Take, control_id: str | None = None) -> ButtonSignal | None:
    """The signal if it is a button's and has reported, else None."""
    found = signal_of(take, control_id)
    return found if isinstance(found, ButtonSignal) and len(found.t_ns) else None


def hat_of(take: Take) -> HatSignal | None:
    """The signal if it is a hat's and has reported, else None."""
    found = signal_of(take)
    return found if isinstance(found, HatSignal) and len(found.t_ns) else None
