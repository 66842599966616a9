"""What the records ask of the trade's rules, which they do not know themselves; and the shop's days of rest.

Whoever opens the records hands the rules in (`station.judgement.gate`), so that there is no second copy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from sqlite3 import Connection
from typing import Protocol

from station.capture.text import visible_line
from station.errors import InputError
from station.records.entered import is_kind
from station.records.types import Result, Treatment, Unit, UnitHistory, Visit
from station.words import records as words

ResultsOf = Callable[[str], Iterable[Result]]
"""visit id → its results, oldest first; they need no readings and findings"""


class RestRule(Protocol):
    """Rest after a treatment, the second test, and when a unit is ready. `today`: YYYY-MM-DD; days are counted in
    UTC."""

    def rest_days(self, kind: str) -> int:
        """Days of rest after this kind of treatment where the shop has set none."""
        ...

    def rest_until(self, unit: Unit, treatment: Treatment, days: int) -> str:
        """The rest date of the unit after this treatment."""
        ...

    def becomes_after_treatment(self, unit: Unit) -> str:
        """What becomes of the unit once it was treated: what was called ready is open again."""
        ...

    def rest_over(self, unit: Unit, today: str) -> bool:
        """Whether the rest date has come."""
        ...

    def second_test(self, unit: Unit, visits: Sequence[Visit], results_of: ResultsOf) -> Visit | None:
        """The visit that is the unit's test after the rest, None while there is none."""
        ...

    def why_not_ready(self, history: UnitHistory, today: str) -> str:
        """Why the unit may not be called ready yet, one sentence; empty when it may."""
        ...

    def why_not_alone(self, history: UnitHistory) -> str:
        """The same of a shop that wants units left alone before their second test."""
        ...


MOST_REST_DAYS = 365
ALONE_KEY = "alone_before_second_test"
"""the setting of a shop that wants every unit left alone before its second test: on or off"""


def rest_days_key(kind: str) -> str:
    """The setting that holds the days of rest after this kind of treatment."""
    return f"rest_days.{kind}"


def whole_days(value: str) -> int | None:
    """The days that a setting says; None where it says none that this version can use: another one may have written
    it."""
    if not value.isascii() or not value.isdigit() or len(value) > len(str(MOST_REST_DAYS)):
        return None
    days = int(value)
    return days if days <= MOST_REST_DAYS else None


def rest_days(db: Connection, kind: str, rule: RestRule) -> int:
    """Days of rest after this kind of treatment: as the shop set them, else (or where that cannot be used) by the
    rule."""
    row = db.execute("SELECT value FROM settings WHERE key = ?", (rest_days_key(kind),)).fetchone()
    days = whole_days(row[0]) if row else None
    return rule.rest_days(kind) if days is None else days


def rest_asked(db: Connection, treatments: Iterable[Treatment], rule: RestRule) -> str:
    """The rest date that these treatments ask for; empty: none. That of the unit is earlier where it was cut short."""
    nobody, until = Unit("", "", ""), ""
    for treatment in treatments:
        days = rest_days(db, treatment.kind, rule)
        until = rule.rest_until(replace(nobody, rest_until=until), treatment, days)
    return until


def check_rest_setting(key: str, value: str) -> None:
    """InputError unless a `rest_days.…` setting names a kind of treatment and 0 to 365 whole days."""
    if not key.startswith(rest_days_key("")):
        return
    if not is_kind(key.removeprefix(rest_days_key(""))) or whole_days(value) is None:
        raise InputError(words.NO_REST_DAYS.format(value=visible_line(value, 40), most=MOST_REST_DAYS, setting=key))
