"""Labels for the shelf and for parcels: which sizes there are, and where each label lies on its sheet. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from station import RESOURCES
from station.capture.text import visible
from station.capture.toml import read_toml
from station.certificate.formats import Format
from station.errors import InputError
from station.words import grammar
from station.words import labels as words

SIZES_FILE = RESOURCES / "labels.toml"
MOST_SIZES, MOST_ACROSS = 200, 60
MOST_MM = 2000.0
LEAST_WIDE_MM, LEAST_HIGH_MM = 25.0, 15.0
"""room for a code of 21 modules of 0.4 mm with its quiet zone (ISO/IEC 18004), and the tag beside it"""
_KEYS = ("name", "page", "label", "columns", "rows", "left", "top", "step")
Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Size:
    """A sheet of labels, in mm; a single label is a sheet of one."""

    name: str
    page: Pair
    label: Pair
    columns: int
    rows: int
    left: float
    top: float
    step: Pair

    @property
    def each(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label: the tag, which is also the code, and two lines below it."""

    tag: str
    model: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """A label on its sheet: number of the page from 0, left upper corner in mm."""

    label: Label
    page: int
    x: float
    y: float


def sizes(own: Path | None = None, paper: Format | None = None) -> tuple[Size, ...]:
    """The sizes that ship, those of the shop's file in front, then sheets of the shop's `paper`: a sheet of labels
    comes in the paper of the country. InputError names the entry that is wrong."""
    shipped = _read(SIZES_FILE)
    if paper is not None:
        shipped = tuple(sorted(shipped, key=lambda size: size.page != (paper.width_mm, paper.height_mm)))
    shops = _read(own) if own is not None and own.exists() else ()
    named = {size.name for size in shops}
    return (*shops, *(size for size in shipped if size.name not in named))


def size_named(name: str, there: Sequence[Size]) -> Size:
    """The size of that name, the first one for "". InputError lists them if there is none."""
    found = next((size for size in there if name in ("", size.name)), None)
    if found is None:
        raise InputError(words.NO_SUCH_SIZE.format(name=name, names=grammar.COMMA.join(s.name for s in there)))
    return found


def places(labels: Sequence[Label], size: Size, start: int = 1) -> Iterator[Place]:
    """Where each label lies, row by row. `start`: the first label of the first sheet that is still there, from 1.
    InputError where the sheet has no such label."""
    if not 1 <= start <= size.each:
        raise InputError(words.NO_SUCH_START.format(most=size.each))
    for number, label in enumerate(labels, start - 1):
        page, at = divmod(number, size.each)
        row, column = divmod(at, size.columns)
        yield Place(label, page, size.left + column * size.step[0], size.top + row * size.step[1])


def _read(path: Path) -> tuple[Size, ...]:
    document = read_toml(path, words.FILE)
    entries = document.get("label", [])
    found: dict[str, Size] = {}
    for entry in entries[:MOST_SIZES] if isinstance(entries, list) else [entries]:
        size = _size(entry if isinstance(entry, dict) else {}, path)
        if size.name in found:
            raise _wrong(path, entry, words.A_NAME)
        found[size.name] = size
    return tuple(found.values())


def _size(entry: Mapping[str, Any], path: Path) -> Size:
    for key in entry:
        if key not in _KEYS:
            raise _wrong(path, entry, words.ONLY_KNOWN.format(key=visible(key)))
    name = entry.get("name")
    if not isinstance(name, str) or not visible(name).strip():
        raise _wrong(path, entry, words.A_NAME)
    page, label = (_pair(entry, key, path) for key in ("page", "label"))
    columns, rows = (_count(entry, key, path) for key in ("columns", "rows"))
    left, top = (_length(entry, key, path) if entry.get(key, 0) != 0 else 0.0 for key in ("left", "top"))
    step = _pair(entry, "step", path) if "step" in entry else label
    made = Size(visible(name).strip(), page, label, columns, rows, left, top, step)
    if label[0] < LEAST_WIDE_MM or label[1] < LEAST_HIGH_MM:
        raise _wrong(path, entry, words.TOO_SMALL.format(width=round(LEAST_WIDE_MM), height=round(LEAST_HIGH_MM)))
    ends = (left + (columns - 1) * step[0] + label[0], top + (rows - 1) * step[1] + label[1])
    if ends[0] > page[0] + 0.05 or ends[1] > page[1] + 0.05 or step[0] < label[0] or step[1] < label[1]:
        raise _wrong(path, entry, words.ON_THE_PAGE)
    return made


def _pair(entry: Mapping[str, Any], key: str, path: Path) -> Pair:
    given = entry.get(key)
    if not isinstance(given, list) or len(given) != 2 or not all(map(_is_length, given)):
        raise _wrong(path, entry, words.LENGTHS.format(key=key))
    return float(given[0]), float(given[1])


def _length(entry: Mapping[str, Any], key: str, path: Path) -> float:
    if not _is_length(entry[key]):
        raise _wrong(path, entry, words.A_LENGTH.format(key=key))
    return float(entry[key])


def _is_length(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= MOST_MM


def _count(entry: Mapping[str, Any], key: str, path: Path) -> int:
    value = entry.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= MOST_ACROSS:
        raise _wrong(path, entry, words.A_NUMBER.format(key=key, most=MOST_ACROSS))
    return value


def _wrong(path: Path, entry: object, what: str) -> InputError:
    name = entry.get("name") if isinstance(entry, dict) else None
    shown = visible(name) if isinstance(name, str) else words.WITHOUT_A_NAME
    return InputError(words.WRONG.format(path=path, name=shown, what=what))
