"""The paper that a certificate is set for: A4 or Letter, as the shop says or as is usual where it is. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

from station.errors import InputError
from station.words import certificate as words


@dataclass(frozen=True, slots=True)
class Format:
    """A size of paper. What stands on a certificate is as wide on each; a wider one has wider margins."""

    name: str
    width_mm: float
    height_mm: float


A4, LETTER = Format("A4", 210.0, 297.0), Format("Letter", 215.9, 279.4)
"""ISO 216; ANSI/ASME Y14.1, size A: 8.5 by 11 inches"""
FORMATS = (A4, LETTER)
LETTER_TERRITORIES = frozenset(("BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"))
"""where Letter is usual (Unicode CLDR, supplemental data, paperSize); A4 everywhere else"""


def usual_in(territory: str) -> Format:
    """The paper of a country, named by its code (ISO 3166-1, two letters); "" is none."""
    return LETTER if territory in LETTER_TERRITORIES else A4


def format_of(setting: str, territory: str) -> Format:
    """The paper that the shop chose, by its name; "" is what is usual in `territory`. InputError for any other: a
    certificate does not fit on it."""
    if not setting:
        return usual_in(territory)
    found = next((one for one in FORMATS if one.name.casefold() == setting.casefold()), None)
    if found is None:
        raise InputError(words.NO_SUCH_PAPER.format(paper=setting))
    return found
