"""The shop's own files beside its records: tables that a person writes with an editor. Where they are, what is wrong in
them, a first one to change, and one that is set aside."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from station import RESOURCES
from station.app.house import HouseFile
from station.app.keys_file import NAME as KEYS
from station.app.keys_file import keys_text
from station.app.labels import SIZES
from station.app.shop import paper_of
from station.app.whole_file import write_whole
from station.certificate.labels import SIZES_FILE, sizes
from station.certificate.listing import TEMPLATE
from station.checks.house import GRADES_FILE
from station.checks.limits import LIMITS_FILE
from station.diagnosis.guide import DEFAULT_PATH, guide_for
from station.errors import InputError
from station.records.store import Store
from station.ui.own_keys import read_own_keys
from station.words import options as words

ASIDE = "{name}.aside-{number}"
_MOST_ASIDE = 1000


@dataclass(frozen=True, slots=True)
class ShopFile:
    """A file in the folder of the records, in a group of the settings. `counts`: from when on a change counts, one of
    `words.COUNTS`. `first`: what a new one holds: all that ships where the file stands in its place, else what changes
    nothing yet. `problem`: one sentence, empty where nothing is wrong."""

    name: str
    group: str
    counts: str
    first: Callable[[], str]
    problem: Callable[[Store], str]


def _copy(path: Path) -> str:
    return path.read_text("utf-8")


def _switched_off(name: str, *paths: Path) -> str:
    """What ships, each line a comment: with it in force the shop's file would hold all of it for its own."""
    lines = [line for path in paths for line in path.read_text("utf-8").splitlines()]
    return words.FILE_HEAD[name] + "#\n" + "".join(f"{_comment(line)}\n" for line in lines)


def _comment(line: str) -> str:
    return line if line.startswith("#") else f"# {line}".rstrip()


def _said(read: Callable[[], object]) -> str:
    try:
        read()
    except InputError as error:
        return str(error)
    return ""


FILES = (
    ShopFile(
        LIMITS_FILE.name, "grades", "read", lambda: _switched_off(LIMITS_FILE.name, LIMITS_FILE, GRADES_FILE),
        lambda store: HouseFile(store.folder).now().problem,
    ),
    ShopFile(
        DEFAULT_PATH.name, "grades", "start", lambda: _copy(DEFAULT_PATH),
        lambda store: _said(lambda: guide_for(store.folder)),
    ),
    ShopFile(KEYS, "keys", "keys", lambda: words.FILE_KEYS, lambda store: _keys_problem(store.folder)),
    ShopFile(
        SIZES, "shop", "read", lambda: _switched_off(SIZES, SIZES_FILE),
        lambda store: _said(lambda: sizes(store.folder / SIZES, paper_of(store))),
    ),
    ShopFile(TEMPLATE, "shop", "offer", lambda: _copy(RESOURCES / TEMPLATE), lambda store: ""),
)  # fmt: skip


def _keys_problem(folder: Path) -> str:
    return _said(lambda: keys_text(folder)) or read_own_keys(keys_text(folder)).problem


def make(folder: Path, file: ShopFile) -> Path | None:
    """Write a first one where there is none; its path then. InputError where it cannot be written."""
    path = folder / file.name
    if path.exists():
        return None
    try:
        write_whole(path, file.first().encode())
    except OSError as error:
        raise InputError(words.FILE_NOT_MADE.format(file=path, reason=error.strerror or error)) from error
    return path


def set_aside(folder: Path, file: ShopFile) -> Path:
    """Give it another name, so that what ships counts; the new path. InputError where there is none, or it cannot."""
    path = folder / file.name
    names = (folder / ASIDE.format(name=file.name, number=n) for n in range(1, _MOST_ASIDE))
    aside = next(other for other in names if not other.exists())
    try:
        os.rename(path, aside)
    except FileNotFoundError as error:
        raise InputError(words.FILE_HAS_NONE) from error
    except OSError as error:
        raise InputError(words.FILE_NOT_ASIDE.format(file=path, reason=error.strerror or error)) from error
    return aside


def put_back(aside: Path, file: ShopFile) -> None:
    """Give it its name again. InputError where another one has it by now, or it cannot."""
    path = aside.parent / file.name
    if path.exists():
        raise InputError(words.FILE_BACK.format(file=file.name, aside=aside))
    try:
        os.rename(aside, path)
    except OSError as error:
        raise InputError(words.FILE_NOT_ASIDE.format(file=aside, reason=error.strerror or error)) from error
