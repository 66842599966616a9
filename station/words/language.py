"""Another language in the place of the English words.

A translation is a package `station.words.<code>` whose modules have the names of those here and hold the same
constants; what it leaves out stays English. It is put in force before the rest of the program is imported, since some
words are taken over at import; so it is in child processes, which inherit the environment that it was chosen from.
"""

from __future__ import annotations

import pkgutil
import re
from collections.abc import Iterator, Mapping
from importlib import import_module
from types import ModuleType

from station.words.figures import Style

ENGLISH = "en"
ASKED_IN = ("RESTPOINT_LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")
"""variables of the environment that name a language, the first that is set counts (the last three: POSIX.1, 8.2)"""
_MACHINERY = ("language",)


def chosen(environment: Mapping[str, str]) -> str:
    """The language that the environment asks for, if there is a translation; else English."""
    asked = next((environment[name] for name in ASKED_IN if environment.get(name)), ENGLISH)
    code = re.split("[_.@-]", asked)[0].lower()
    return code if code != ENGLISH and code in translations() else ENGLISH


def translations() -> tuple[str, ...]:
    """The codes of the translations that there are."""
    package = import_module("station.words")
    return tuple(sorted(m.name for m in pkgutil.iter_modules(package.__path__) if m.ispkg))


def speak(code: str) -> None:
    """Use the translation `code`; English needs none. LookupError if there is no such translation."""
    if code == ENGLISH:
        return
    package = f"station.words.{code}"
    try:
        import_module(package)
    except ModuleNotFoundError as error:
        raise LookupError(f"There is no translation {code!r}.") from error
    unknown = sorted(set(_modules(package)) - set(catalogue()))
    if unknown:
        raise LookupError(f"station.words has no {unknown[0]}.")
    for name in _modules(package):
        put(name, {**constants(module := import_module(f"{package}.{name}")), **styles(module)})


def catalogue() -> tuple[str, ...]:
    """The names of the modules that hold words."""
    return tuple(sorted(name for name in _modules("station.words") if name not in _MACHINERY))


def _modules(package: str) -> tuple[str, ...]:
    """The names of the modules of a package, those that are packages themselves left out."""
    return tuple(m.name for m in pkgutil.iter_modules(import_module(package).__path__) if not m.ispkg)


def constants(module: ModuleType) -> dict[str, object]:
    """The words of a module: its constants in capitals that hold text."""
    named = {name: value for name, value in vars(module).items() if name.isupper() and not name.startswith("_")}
    return {name: value for name, value in named.items() if next(texts(value), None) is not None}


def styles(module: ModuleType) -> dict[str, Style]:
    """The styles of a module: how its language writes numbers, dates and money, as `PAPER` in `figures`."""
    return {name: value for name, value in vars(module).items() if name.isupper() and isinstance(value, Style)}


def put(name: str, translated: Mapping[str, object]) -> None:
    """Put words in the place of those of the module `name`. LookupError for a word that it does not have."""
    module = import_module(f"station.words.{name}")
    known = {**constants(module), **styles(module)}
    for word, value in translated.items():
        if word not in known:
            raise LookupError(f"station.words.{name} has no {word}.")
        setattr(module, word, value)


def texts(value: object) -> Iterator[str]:
    """Every text in a constant: the text itself, or those of a map or a row of texts."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from texts(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from texts(inner)
