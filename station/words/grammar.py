"""How English counts and lists: numbers in words, plurals, names inside a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from station.words import figures
from station.words.figures import Style

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
TIMES = {1: "once", 2: "twice"}
TIME = ("time", "times")
AND = "{first} and {last}"
OR = "{first} or {last}"
COMMA = ", "


def number(n: int, style: Style | None = None) -> str:
    """n in words up to twelve, in figures above: "no", "one", …, "13", "1,234"."""
    return NUMBERS[n] if 0 <= n < len(NUMBERS) else figures.number(n, 0, style)


def plural(n: int, noun: tuple[str, str]) -> str:
    """The form of (one, many) that goes with n; "no press" is said in the singular, as "one press"."""
    return noun[0] if n in (0, 1) else noun[1]


def some(n: int, noun: tuple[str, str], style: Style | None = None) -> str:
    """ "one press", "two presses", "no press": a number in words with its noun (one, many)."""
    return f"{number(n, style)} {plural(n, noun)}"


def count_of(n: int, noun: tuple[str, str], style: Style | None = None) -> str:
    """ "1 unit", "3 units", "0 units": a number in figures with its noun (one, many)."""
    return f"{figures.number(n, 0, style)} {noun[0] if n == 1 else noun[1]}"


def times(n: int, style: Style | None = None) -> str:
    """ "once", "twice", "three times"."""
    return TIMES.get(n) or some(n, TIME, style)


def listed(words: Sequence[str]) -> str:
    """ "up", "up and right", "up, right and down"."""
    if len(words) < 2:
        return "".join(words)
    return AND.format(first=COMMA.join(words[:-1]), last=words[-1])


def either(words: Sequence[str]) -> str:
    """ "a", "a or b", "a, b or c"."""
    if len(words) < 2:
        return "".join(words)
    return OR.format(first=COMMA.join(words[:-1]), last=words[-1])


def spoken_name(name: str) -> str:
    """A control's name inside a sentence: "Left stick" → "left stick", while "A" and "L3" stay as they are."""
    return name[0].lower() + name[1:] if len(name) > 1 and name[1].islower() else name


def check_of(template: str, control: str, title: str) -> str:
    """The check of a control by a template that names both; where the check is called as the control is (the hat of a
    pad with one), once is enough."""
    check = spoken_name(title)
    return control if check == spoken_name(control) else template.format(control=control, check=check)


def sentence_start(text: str) -> str:
    """The text with its first letter large, for the beginning of a line."""
    return text[:1].upper() + text[1:]
