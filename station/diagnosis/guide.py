"""The fault guide: suspects, treatments, cautions and money, from resources/fault_guide.toml or the shop's own copy."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from station import RESOURCES
from station.errors import InputError
from station.records.types import TREATMENT_KINDS
from station.words import diagnosis as words
from station.words import grammar

KINDS = ("stick", "trigger", "button", "hat", "battery", "motion", "touch", "unit")
DEFAULT_PATH = RESOURCES / "fault_guide.toml"
FORMAT, VERSION = "restpoint-fault-guide", 1


@dataclass(frozen=True, slots=True)
class Role:
    """A sort of part: on which kinds of control it sits, how often it is bad, what it shows when it is."""

    role: str
    name: str
    of: tuple[str, ...]
    rate: float
    shows: Mapping[str, float] = field(hash=False)
    per_axis: bool = False
    common: bool = False
    words: tuple[str, ...] = ()
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Method:
    """A treatment. `cures`: role → (cured, of how many) to start from; `again` scales the rate of a further try."""

    kind: str
    title: str
    minutes: int
    cost_minor: int
    harm: float
    needs_open: bool
    cures: Mapping[str, tuple[float, float]]
    again: float = 0.5
    cautions: tuple[str, ...] = ()
    includes: tuple[str, ...] = ()
    """kinds of treatment that are not worth trying once this one was done"""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Values:
    """What a unit brings, in minor units."""

    ready_minor: int
    as_is_minor: int
    parts_minor: int


@dataclass(frozen=True, slots=True)
class Guide:
    """The whole guide."""

    suspects: tuple[Role, ...]
    treatments: tuple[Method, ...]
    cautions: Mapping[str, str]
    values: Values
    currency: str = "EUR"
    hour_minor: int = 0
    open_minutes: int = 0
    test_minutes: int = 0
    values_of: Mapping[str, Values] = field(default_factory=dict)

    def values_for(self, model: str) -> Values:
        return self.values_of.get(model, self.values)

    def caution(self, method: Method) -> str:
        """The cautions of a treatment, one after the other."""
        return " ".join(self.cautions[name] for name in method.cautions)


def guide_for(folder: Path) -> Guide:
    """The shop's own guide, `fault_guide.toml` in the folder of its records, or the one that ships."""
    own = folder / DEFAULT_PATH.name
    return load_guide(own if own.exists() else DEFAULT_PATH)


def load_guide(path: Path = DEFAULT_PATH) -> Guide:
    """Read and check a fault guide. InputError names the entry and what is wrong with it."""
    try:
        document = tomllib.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(words.GUIDE_NOT_READABLE.format(file=path, fault=fault)) from fault
    except tomllib.TOMLDecodeError as fault:
        raise InputError(words.GUIDE_NO_TOML.format(file=path, fault=fault)) from fault
    return _Reader(path).guide(document)


class _Reader:
    """Takes values out of the document, or says where they are wrong."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def _wrong(self, place: str, what: str) -> InputError:
        return InputError(words.GUIDE_WRONG.format(file=self._path, place=place, what=what))

    def guide(self, document: Mapping[str, Any]) -> Guide:
        if document.get("format") != FORMAT or document.get("version") != VERSION:
            raise self._wrong(words.AT_ITS_HEAD, words.NEEDS_FORMAT.format(format=FORMAT, version=VERSION))
        work = self._get(document, "work", dict, words.AT_ITS_HEAD)
        suspects = tuple(
            self._role(i, t) for i, t in enumerate(self._get(document, "suspect", list, words.AT_ITS_HEAD), 1)
        )
        cautions = {k: self._text(v, words.CAUTION.format(name=k)) for k, v in document.get("cautions", {}).items()}
        roles = {s.role for s in suspects}
        if len(roles) != len(suspects):
            raise self._wrong(words.SUSPECTS, words.SAME_ROLE)
        treatments = tuple(
            self._method(i, t, roles, cautions)
            for i, t in enumerate(self._get(document, "treatment", list, words.AT_ITS_HEAD), 1)
        )
        return Guide(
            suspects,
            treatments,
            cautions,
            self._values(self._get(document, "value", dict, words.AT_ITS_HEAD), "value"),
            self._text(work.get("currency", "EUR"), "work.currency"),
            self._whole(work, "hour_minor", "work"),
            self._whole(work, "open_minutes", "work"),
            self._whole(work, "test_minutes", "work"),
            {m: self._values(v, f'value_of."{m}"') for m, v in document.get("value_of", {}).items()},
        )

    def _role(self, number: int, table: Mapping[str, Any]) -> Role:
        place = words.SUSPECT.format(number=number, role=table.get("role", "?"))
        of = tuple(self._get(table, "of", list, place))
        if not of or any(kind not in KINDS for kind in of):
            raise self._wrong(place, words.OF_MAY_NAME.format(allowed=grammar.COMMA.join(KINDS)))
        shows = self._get(table, "shows", dict, place)
        return Role(
            self._text(table.get("role"), place),
            self._text(table.get("name"), place),
            of,
            self._share(table.get("rate"), words.ENTRY.format(place=place, key="rate")),
            {code: self._share(p, words.SHOWS.format(place=place, code=code)) for code, p in shows.items()},
            bool(table.get("per_axis", False)),
            bool(table.get("common", False)),
            tuple(str(w) for w in table.get("words", ())),
            str(table.get("mark", "")),
        )

    def _method(self, number: int, table: Mapping[str, Any], roles: set[str], cautions: Mapping[str, str]) -> Method:
        place = words.TREATMENT.format(number=number, kind=table.get("kind", "?"))
        kind = self._text(table.get("kind"), place)
        if kind not in TREATMENT_KINDS:
            raise self._wrong(place, words.KIND_IS_ONE_OF.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        cures = {}
        for role, counts in self._get(table, "cures", dict, place).items():
            if role not in roles:
                raise self._wrong(place, words.CURES_NO_SUSPECT.format(role=role))
            cures[role] = self._counts(counts, words.CURES_ROLE.format(place=place, role=role))
        included = tuple(table.get("includes", ()))
        if any(kind not in TREATMENT_KINDS for kind in included):
            raise self._wrong(place, words.INCLUDES_MAY_NAME.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        for name in (named := tuple(table.get("cautions", ()))):
            if name not in cautions:
                raise self._wrong(place, words.NO_CAUTION.format(name=name))
        if table.get("needs_open") and "open" not in named:
            raise self._wrong(place, words.OPENED_WITHOUT_CAUTION)
        return Method(
            kind,
            self._text(table.get("title"), place),
            self._whole(table, "minutes", place),
            self._whole(table, "cost_minor", place),
            self._share(table.get("harm", 0.0), words.ENTRY.format(place=place, key="harm")),
            bool(table.get("needs_open", False)),
            cures,
            self._share(table.get("again", 0.5), words.ENTRY.format(place=place, key="again")),
            named,
            included,
            str(table.get("mark", "")),
        )

    def _values(self, table: Mapping[str, Any], place: str) -> Values:
        ready, as_is, parts = (self._whole(table, k, place) for k in ("ready_minor", "as_is_minor", "parts_minor"))
        return Values(ready, as_is, parts)

    def _counts(self, value: Any, place: str) -> tuple[float, float]:
        match value:
            case [int() | float() as cured, int() | float() as tried] if 0 <= cured <= tried:
                return float(cured), float(tried)
        raise self._wrong(place, words.NEEDS_COUNTS)

    def _get(self, table: Mapping[str, Any], key: str, kind: type, place: str) -> Any:
        value = table.get(key)
        if not isinstance(value, kind):
            raise self._wrong(place, words.MISSING_OR_WRONG.format(key=key))
        return value

    def _text(self, value: Any, place: str) -> str:
        if not isinstance(value, str) or not value:
            raise self._wrong(place, words.TEXT_MISSING)
        return value

    def _share(self, value: Any, place: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise self._wrong(place, words.NEEDS_SHARE)
        return float(value)

    def _whole(self, table: Mapping[str, Any], key: str, place: str) -> int:
        value = table.get(key)
        if isinstance(value, bool) or not isinstance(value, int) or value < 0:
            raise self._wrong(place, words.NEEDS_WHOLE_NUMBER.format(key=key))
        return value
