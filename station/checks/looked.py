"""What a check looked at in the reports of a try, for whoever draws them: which stretches it used, and where in them
lies what it found. Nothing is judged here; the readings and findings of a result are what they are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from station.sheets.signals import F64
from station.words import looked as words

Picture = Literal["time", "path", "codes", "cloud", "intervals"]
"""axes and contacts over time; the path of a stick; the codes seen over its travel; where it rests; the waits between
reports"""


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a try. `why`: why the measure left it out, "" of one that it used."""

    begin_ns: int
    end_ns: int
    why: str = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a try at which something shows. `code`: of the finding that it belongs to; a place that belongs to
    none has the word of its kind. `text` in a few words. `faulty`: wrong whatever
    the result came to, as a spike is; another one is only where a value was read off.

    `at_pct`: where on the track of `axis` it stands, `width_pct` how wide it is there; `point`: where on the field of a
    stick, %; `direction`: of a finding that is made for each direction; `other`:
    the id of another control that it shows at.
    """

    code: str
    text: str
    begin_ns: int
    end_ns: int
    axis: Literal["x", "y"] | None = None
    at_pct: float | None = None
    width_pct: float = 0.0
    point: tuple[float, float] | None = None
    direction: str = ""
    other: str = ""
    faulty: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """`sector_reach`: float[72] in %, NaN where not covered; `settled`: float[k, 2] where a stick came to rest, %, as
    far as that was used, `set_aside` where it did and was not; `circle`: (x, y, radius) through the rim, %."""

    parts: tuple[Part, ...] = ()
    spots: tuple[Spot, ...] = ()
    sector_reach: F64 | None = None
    settled: F64 | None = None
    set_aside: F64 | None = None
    circle: tuple[float, float, float] | None = None


NOTHING = Looked()


def between(parts: Iterable[Part], begin_ns: int, end_ns: int) -> tuple[Part, ...]:
    """The parts in order of time, and what lies before, between and after them: left out, for no pass ran there."""
    found: list[Part] = []
    at = begin_ns
    for part in sorted(parts, key=lambda p: p.begin_ns):
        if part.begin_ns > at:
            found.append(Part(at, part.begin_ns, words.NO_PASS))
        found.append(part)
        at = max(at, part.end_ns)
    if end_ns > at:
        found.append(Part(at, end_ns, words.NO_PASS))
    return tuple(found)
