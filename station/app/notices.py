"""Whose work this program is built on, and under which licence: read from what is installed, so that it stays true."""

from __future__ import annotations

import platform
import re
import sysconfig
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

from station import RESOURCES, __version__
from station.words import notices as words

FILE = "NOTICES.txt"
"""in a stand-alone copy, where nothing is installed that could be asked"""
RULE = "\n\n" + "-" * 78 + "\n\n"
_LICENCE_FILE = re.compile(r"licen[cs]e|copying|notice", re.IGNORECASE)
_QT = "PySide6-Essentials"


def notices() -> str:
    """The whole text: ours, that of Qt, then each package that Restpoint needs, the typeface and Python."""
    kept = RESOURCES / FILE
    if kept.is_file():
        return kept.read_text("utf-8")
    pieces = [words.OURS.format(version=__version__), words.QT]
    pieces += [_piece(distribution) for distribution in needed()]
    fonts = "\n\n".join(file.read_text("utf-8").strip() for file in sorted((RESOURCES / "fonts").glob("LICENSE*")))
    pieces += [f"{words.FONTS}\n\n{fonts}", _python(), f"{words.OUR_TEXT}\n\n{_our_licence()}"]
    return RULE.join(pieces) + "\n"


def needed(name: str = "restpoint") -> list[metadata.Distribution]:
    """What a package needs to run and what that needs in turn, as far as it is installed here, by name."""
    found: dict[str, metadata.Distribution] = {}
    _add(name, found)
    return [distribution for key, distribution in sorted(found.items()) if key != _plain(name)]


def _add(name: str, found: dict[str, metadata.Distribution]) -> None:
    if _plain(name) in found:
        return
    try:
        distribution = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return  # not needed on this system
    found[_plain(name)] = distribution
    for requirement in distribution.requires or ():
        if "extra" not in requirement.partition(";")[2]:
            _add(re.split(r"[^\w.-]", requirement, maxsplit=1)[0], found)


def _plain(name: str) -> str:
    """A package's name as PyPA's specification of names compares it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _piece(distribution: metadata.Distribution) -> str:
    heading = words.HEADING.format(
        name=distribution.name, version=distribution.version, licence=_licence(distribution) or words.NOT_SAID
    )
    texts = list(_texts(distribution))
    if not texts and _plain(distribution.name) in (_plain(_QT), "shiboken6"):
        return heading  # told at the top
    return "\n\n".join([heading, *(texts or [words.NO_TEXT])])


def _licence(distribution: metadata.Distribution) -> str:
    def told(field: str) -> list[str]:
        return [str(value) for value in distribution.metadata.get_all(field) or ()]

    said = next((value for value in told("License-Expression") + told("License") if value), "")
    classed = [c.rpartition(" :: ")[2] for c in told("Classifier") if c.startswith("License :: ")]
    return said if said and "\n" not in said else ", ".join(classed)


def _texts(distribution: metadata.Distribution) -> Iterator[str]:
    for file in distribution.files or ():
        if ".dist-info" in file.parts[0] and _LICENCE_FILE.search(file.name):
            yield Path(str(file.locate())).read_text("utf-8", errors="replace").strip()


def _python() -> str:
    file = Path(sysconfig.get_path("stdlib")) / "LICENSE.txt"
    text = file.read_text("utf-8", errors="replace").strip() if file.is_file() else words.PYTHON_TEXT
    return f"{words.PYTHON.format(version=platform.python_version())}\n\n{text}"


def _our_licence() -> str:
    """In a checkout it stands in docs, in an installed copy beside its metadata."""
    beside = RESOURCES.parent / "docs" / "LICENSE"
    if beside.is_file():
        return beside.read_text("utf-8").strip()
    return "\n\n".join(_texts(metadata.distribution("restpoint")))
