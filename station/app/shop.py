"""Who issues certificates: the shop as it calls itself, how it is reached, and who sits at the bench."""

from __future__ import annotations

from dataclasses import dataclass

from station.capture.text import looks, visible
from station.errors import InputError
from station.records.store import Store
from station.words import desk as words


@dataclass(frozen=True, slots=True)
class Shop:
    """`mark`: the path of its picture. `costs`: it wants minutes and costs on its certificates. `paper`: the name of
    their paper; "" as is usual here."""

    name: str
    contact: str = ""
    person: str = ""
    costs: bool = False
    paper: str = ""
    mark: str = ""


def shop_of(store: Store) -> Shop:
    """The shop as the settings have it. InputError while it has no name of which anything is to be seen: the
    computer's or the user's would tell a buyer nothing."""
    told = {
        key: visible(store.get_setting(key)).strip() for key in ("bench", "contact", "person", "costs", "paper", "mark")
    }
    if not looks(told["bench"]):
        raise InputError(words.NO_SHOP)
    return Shop(told["bench"], told["contact"], told["person"], told["costs"] == "on", told["paper"], told["mark"])
