"""Who issues certificates: the shop as it calls itself, how it is reached, and who sits at the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from station.capture.text import looks, visible
from station.errors import InputError
from station.records.store import Store
from station.words import desk as words

if TYPE_CHECKING:
    from station.certificate.formats import Format  # the window starts without it


@dataclass(frozen=True, slots=True)
class Shop:
    """`mark`: the path of its picture. `costs`: it wants minutes and costs on its certificates."""

    name: str
    contact: str = ""
    person: str = ""
    costs: bool = False
    mark: str = ""


def shop_of(store: Store) -> Shop:
    """The shop as the settings have it. InputError while it has no name of which anything is to be seen: the
    computer's or the user's would tell a buyer nothing."""
    told = {key: visible(store.get_setting(key)).strip() for key in ("bench", "contact", "person", "costs", "mark")}
    if not looks(told["bench"]):
        raise InputError(words.NO_SHOP)
    return Shop(told["bench"], told["contact"], told["person"], told["costs"] == "on", told["mark"])


def paper_of(store: Store) -> Format:
    """The paper that the shop chose, or what is usual in the country that the system is set to. InputError for one that
    there is none of."""
    from PySide6.QtCore import QLocale

    from station.certificate.formats import format_of

    territory = QLocale.territoryToCode(QLocale.system().territory())  # ISO 3166-1; "" where it is set to none
    return format_of(visible(store.get_setting("paper")).strip(), territory)
