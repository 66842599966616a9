"""The shop's prices: its own where it has set them, else those of the fault guide."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from station.checks.house import House
from station.diagnosis.guide import Guide, Values
from station.diagnosis.returned import SoldOfModel, with_returns
from station.records.money import CURRENCY, MOST_MINOR
from station.records.store import Store

Get = Callable[[str, str], str]
"""(key, default) → what is stored in the settings"""
HOUR = "hour_minor"
PRICES = {"price.ready": "ready_minor", "price.as-is": "as_is_minor", "price.parts": "parts_minor"}
"""name that is typed → setting, which is called as the field of `Values`"""


def grade_names(house: House) -> tuple[str, ...]:
    """The names of the grades of the house, the best first."""
    return tuple(grade.name for grade in house.grades)


def grade_key(grade: str) -> str:
    """The setting of what a ready unit brings that is called so."""
    return f"ready_minor.{grade}"


def with_prices(guide: Guide, get: Get, grades: Iterable[str] = ()) -> Guide:
    """The guide with the shop's own prices in the place of its own. Those it has for a model stay. `grades`: the names
    of those that units may be given."""

    def minor(key: str, default: int) -> int:
        text = get(key, "")
        return int(text) if text.isascii() and text.isdigit() and int(text) <= MOST_MINOR else default

    values = guide.values
    priced = {grade: minor(grade_key(grade), -1) for grade in grades}
    return replace(
        guide,
        currency=get(CURRENCY, "") or guide.currency,
        hour_minor=minor(HOUR, guide.hour_minor),
        values=Values(*(minor(key, getattr(values, key)) for key in PRICES.values())),
        ready_of={grade: ready for grade, ready in priced.items() if ready >= 0},
    )


def with_sales(guide: Guide, store: Store) -> Guide:
    """The guide with what sold units that came back teach of prices."""
    sold = [SoldOfModel(m, n, back, lost, currency) for m, currency, n, back, lost in store.sales()]
    return with_returns(guide, sold)
