"""What a shop can set, in one table: name, where it is kept, how it ships, and what it may be.

Limits and grades are a file of their own (limits.toml), as are keys (keys.toml), labels and the offer's text: they are
tables, and a person writes them with an editor (`shop_files`). Knowledge of faults is in the fault guide; the prices in
it hold until the shop sets its own here. The command and the panel of the window both ask here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from station.app.certificate_pictures import check_mark
from station.app.prices import HOUR, PRICES, Get, grade_key
from station.app.settings import BY_ITSELF
from station.capture.text import looks, visible, visible_line
from station.certificate.formats import FORMATS
from station.certificate.identity import MOST_NAME_BYTES
from station.diagnosis.guide import Guide
from station.errors import InputError, StationError
from station.judgement.rest import rest_days
from station.records.money import CURRENCY, MOST_MINOR, amount_text, parse_money
from station.records.rules import ALONE_KEY, MOST_REST_DAYS, rest_days_key, whole_days
from station.records.types import TREATMENT_KINDS
from station.words import common, figures, grammar
from station.words import grades as grade_words
from station.words import options as words

Put = Callable[[str, str], None]
"""(key, value): store it"""
YES_NO = ("on", "off")
MOST_LETTERS = 200
"""of a line on a certificate"""
MOST_PATH = 4096
PAPERS = tuple(one.name for one in FORMATS)
ADDRESS = re.compile(r"https://[^\s/?#]+(?:[/?][^\s#]*)?", re.IGNORECASE)
"""https: elsewhere browsers check no signature (W3C Web Cryptography API, secure contexts). No “#”: what follows it is
the fingerprint, which the offer adds"""
MOST_QUOTED = 40
"""letters of what was typed that a sentence repeats"""
SCALE_PERCENT = ("100", "115", "130", "150", "175", "200")
"""the steps of the window's text (`ui.painting.look.SCALES`)"""


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that can be set. `name` is typed, `key` is where it is stored, `title` what it is called.

    `default`: what is stored for a person that never set it; "" where nothing is. `read` makes of what was typed what
    is stored (InputError says what may be typed), `show` the other way round. `choices`: all that it may be.
    """

    name: str
    key: str
    group: str
    title: str
    default: str = ""
    choices: tuple[str, ...] = ()
    read: Callable[[str], str] = str
    show: Callable[[str], str] = str
    cleared: str = ""
    """what is stored in place of nothing"""
    counts: str = "now"
    """from when on a change counts, one of `words.COUNTS`"""
    unit: str = ""
    """of what is shown: "%", "days", or a currency"""


@dataclass(frozen=True, slots=True)
class Held:
    """What an option is now. `stored`: as it is kept, "" for nothing. `shown`: as it is typed; what cannot be used is
    shown as it is stored, and `problem` is one sentence then. `own`: it is not what ships."""

    stored: str
    shown: str
    own: bool
    problem: str = ""


def options(guide: Guide, get: Get, grades: Sequence[str] = ()) -> list[Option]:
    """All of them, in the order in which they are shown. Prices of the guide stand where the shop has none. `grades`:
    the names of those that units may be given."""
    currency = get(CURRENCY, "") or guide.currency

    def priced(name: str, key: str, minor: int) -> Option:
        return Option(
            name, key, "money", words.NAMES[name], str(minor), (), lambda text: _amount(text, currency),
            lambda stored: amount_text(int(stored), currency) or "0", unit=currency,
        )  # fmt: skip

    return [
        _words("shop", "bench", "certificate", _shop),
        _words("contact", "contact", "certificate"),
        _words("person", "person", "visit"),
        _words("page", "check_page", "offer", _address),
        _words("mark", "mark", "certificate", _mark),
        _choice("costs", "costs", "shop", "off", counts="certificate"),
        _choice("paper", "paper", "shop", "", PAPERS, counts="certificate"),
        Option("currency", CURRENCY, "money", words.NAMES["currency"], guide.currency, (), _currency),
        priced("hour", HOUR, guide.hour_minor),
        *(priced(name, key, getattr(guide.values, key)) for name, key in PRICES.items()),
        *(_of_grade(grade, currency) for grade in grades),
        *_rests(),
        _choice("alone", ALONE_KEY, "rest", "off", counts="visit"),
        _choice("sound", "sound", "window", "on"),
        _choice("theme", "theme", "window", "auto", ("auto", "light", "dark")),
        Option(
            "text-size", "scale", "window", words.NAMES["text-size"], "", SCALE_PERCENT, _scale,
            lambda stored: figures.number(100 * float(stored), 0) if stored else "", unit="%",
        ),
        _choice("by-itself", BY_ITSELF, "keys", "on", counts="visit"),
    ]  # fmt: skip


def _of_grade(grade: str, currency: str) -> Option:
    title = words.READY_OF_GRADE.format(grade=grade_words.NAMES.get(grade, grade))
    return Option(
        f"price.ready.{grade.replace(' ', '-')}", grade_key(grade), "money", title, "", (),
        lambda text: _amount(text, currency), lambda stored: amount_text(int(stored), currency) or "0", unit=currency,
    )  # fmt: skip


def named(name: str, of: Iterable[Option]) -> Option:
    """The option of that name. InputError if there is none."""
    found = next((option for option in of if option.name == name), None)
    if found is None:
        raise InputError(words.NO_SUCH.format(name=visible(name)))
    return found


def put(option: Option, text: str, store: Put) -> str:
    """Store what was typed, or how it ships where nothing was; returns what is stored. InputError if it may
    not be that."""
    stored = option.read(text.strip()) if text.strip() else option.cleared
    store(option.key, stored)
    return stored


def held(option: Option, get: Get) -> Held:
    """What it is now. Whatever is stored, by another version too, never raises."""
    stored = get(option.key, "")
    if not stored:
        return Held("", option.show(option.default) if option.default else "", own=False)
    own = stored not in (option.default, option.cleared)
    try:
        shown = option.show(stored)
        option.read(shown)
    except (ValueError, OverflowError):
        return Held(stored, visible_line(stored, MOST_LETTERS), own, words.NO_VALUE)
    except InputError as error:
        return Held(stored, visible_line(shown, MOST_LETTERS), own, str(error))
    return Held(stored, shown, own)


def _words(name: str, key: str, counts: str, read: Callable[[str], str] | None = None) -> Option:
    return Option(name, key, "shop", words.NAMES[name], read=read or _text, show=visible, counts=counts)


def _choice(
    name: str, key: str, group: str, default: str, choices: tuple[str, ...] = YES_NO, counts: str = "now"
) -> Option:
    read = partial(_one_of, choices=choices)
    return Option(name, key, group, words.NAMES[name], default, choices, read, cleared=default, counts=counts)


def _rests() -> Iterator[Option]:
    for kind in TREATMENT_KINDS:
        title = words.REST_AFTER.format(kind=common.TREATMENT_KINDS[kind])
        name = f"rest.{kind.replace(' ', '-')}"
        days = str(rest_days(kind))
        yield Option(
            name, rest_days_key(kind), "rest", title, days, read=_days, cleared=days, counts="treatment", unit="days"
        )


def _text(text: str, most: int = MOST_LETTERS) -> str:
    if visible_line(text) != text:
        raise InputError(words.NO_SIGNS)
    if len(text.encode()) > most:
        raise InputError(words.TOO_LONG.format(most=most))
    return text


def _shop(text: str) -> str:
    if not looks(text):
        raise InputError(words.NEEDS_NAME)
    return _text(text, MOST_NAME_BYTES)


def _mark(text: str) -> str:
    """The whole path, because the window and the command stand in different folders."""
    path = Path(_text(text, MOST_PATH)).expanduser().absolute()
    try:
        check_mark(path)
    except (StationError, OSError, ValueError) as error:
        raise InputError(words.NO_PICTURE.format(path=visible_line(str(path), MOST_LETTERS))) from error
    return str(path)


def _address(text: str) -> str:
    if not ADDRESS.fullmatch(text):
        raise InputError(words.NO_ADDRESS)
    return _text(text)


def usable_page(stored: str) -> str:
    """Where buyers find the page that checks certificates, as it is stored; "" for none, and for what an earlier
    version took and this one does not."""
    try:
        return _address(visible(stored).strip())
    except InputError:
        return ""


def _one_of(text: str, choices: tuple[str, ...]) -> str:
    found = next((choice for choice in choices if choice.casefold() == text.casefold()), None)
    if found is None:
        raise InputError(words.ONE_OF.format(value=_quoted(text), choices=grammar.COMMA.join(choices)))
    return found


def _quoted(text: str) -> str:
    return visible_line(text, MOST_QUOTED)


def _currency(text: str) -> str:
    code = text.upper()
    if len(code) != 3 or not (code.isascii() and code.isalpha()):
        raise InputError(words.NO_CURRENCY.format(value=_quoted(text)))
    return code


def _amount(text: str, currency: str) -> str:
    minor = parse_money(text, currency)
    if minor is None or minor > MOST_MINOR:
        example = amount_text(1800, currency)
        raise InputError(words.NO_AMOUNT.format(value=_quoted(text), currency=currency, example=example))
    return str(minor)


def _days(text: str) -> str:
    days = whole_days(text)
    if days is None:
        raise InputError(words.NO_DAYS.format(value=_quoted(text), most=MOST_REST_DAYS))
    return str(days)


def _scale(text: str) -> str:
    return str(int(_one_of(text.removesuffix("%").strip(), SCALE_PERCENT)) / 100)
