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

KINDS = ("stick", "trigger", "button", "hat", "battery", "unit")
DEFAULT_PATH = RESOURCES / "fault_guide.toml"


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
        raise InputError(
            f"The fault guide {path} cannot be read ({fault}); put the one that ships in its place."
        ) from fault
    except tomllib.TOMLDecodeError as fault:
        raise InputError(f"The fault guide {path} is not valid TOML: {fault}; mend that line.") from fault
    return _Reader(path).guide(document)


class _Reader:
    """Takes values out of the document, or says where they are wrong."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def _wrong(self, place: str, what: str) -> InputError:
        return InputError(f"The fault guide {self._path}, {place}: {what}; mend that entry.")

    def guide(self, document: Mapping[str, Any]) -> Guide:
        if document.get("format") != "restpoint-fault-guide" or document.get("version") != 1:
            raise self._wrong("at its head", 'needs format = "restpoint-fault-guide" and version = 1')
        work = self._get(document, "work", dict, "at its head")
        suspects = tuple(self._role(i, t) for i, t in enumerate(self._get(document, "suspect", list, "at its head"), 1))
        cautions = {k: self._text(v, f"caution {k}") for k, v in document.get("cautions", {}).items()}
        roles = {s.role for s in suspects}
        if len(roles) != len(suspects):
            raise self._wrong("suspects", "two have the same role")
        treatments = tuple(
            self._method(i, t, roles, cautions)
            for i, t in enumerate(self._get(document, "treatment", list, "at its head"), 1)
        )
        return Guide(
            suspects,
            treatments,
            cautions,
            self._values(self._get(document, "value", dict, "at its head"), "value"),
            self._text(work.get("currency", "EUR"), "work.currency"),
            self._whole(work, "hour_minor", "work"),
            self._whole(work, "open_minutes", "work"),
            self._whole(work, "test_minutes", "work"),
            {m: self._values(v, f'value_of."{m}"') for m, v in document.get("value_of", {}).items()},
        )

    def _role(self, number: int, table: Mapping[str, Any]) -> Role:
        place = f"suspect {number} ({table.get('role', '?')})"
        of = tuple(self._get(table, "of", list, place))
        if not of or any(kind not in KINDS for kind in of):
            raise self._wrong(place, f"`of` may name {', '.join(KINDS)}")
        shows = self._get(table, "shows", dict, place)
        return Role(
            self._text(table.get("role"), place),
            self._text(table.get("name"), place),
            of,
            self._share(table.get("rate"), f"{place}, rate"),
            {code: self._share(p, f"{place}, shows {code}") for code, p in shows.items()},
            bool(table.get("per_axis", False)),
            bool(table.get("common", False)),
            tuple(str(w) for w in table.get("words", ())),
            str(table.get("mark", "")),
        )

    def _method(self, number: int, table: Mapping[str, Any], roles: set[str], cautions: Mapping[str, str]) -> Method:
        place = f"treatment {number} ({table.get('kind', '?')})"
        kind = self._text(table.get("kind"), place)
        if kind not in TREATMENT_KINDS:
            raise self._wrong(place, f"`kind` is one of {', '.join(TREATMENT_KINDS)}")
        cures = {}
        for role, counts in self._get(table, "cures", dict, place).items():
            if role not in roles:
                raise self._wrong(place, f"cures “{role}”, which is no suspect")
            cures[role] = self._counts(counts, f"{place}, cures {role}")
        included = tuple(table.get("includes", ()))
        if any(kind not in TREATMENT_KINDS for kind in included):
            raise self._wrong(place, f"`includes` may name {', '.join(TREATMENT_KINDS)}")
        for name in (named := tuple(table.get("cautions", ()))):
            if name not in cautions:
                raise self._wrong(place, f"there is no caution “{name}”")
        if table.get("needs_open") and "open" not in named:
            raise self._wrong(place, 'a housing that is opened needs the caution "open"')
        return Method(
            kind,
            self._text(table.get("title"), place),
            self._whole(table, "minutes", place),
            self._whole(table, "cost_minor", place),
            self._share(table.get("harm", 0.0), f"{place}, harm"),
            bool(table.get("needs_open", False)),
            cures,
            self._share(table.get("again", 0.5), f"{place}, again"),
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
        raise self._wrong(place, "needs [cured, of how many]")

    def _get(self, table: Mapping[str, Any], key: str, kind: type, place: str) -> Any:
        value = table.get(key)
        if not isinstance(value, kind):
            raise self._wrong(place, f"`{key}` is missing or of the wrong sort")
        return value

    def _text(self, value: Any, place: str) -> str:
        if not isinstance(value, str) or not value:
            raise self._wrong(place, "a text is missing")
        return value

    def _share(self, value: Any, place: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise self._wrong(place, "needs a share from 0 to 1")
        return float(value)

    def _whole(self, table: Mapping[str, Any], key: str, place: str) -> int:
        value = table.get(key)
        if isinstance(value, bool) or not isinstance(value, int) or value < 0:
            raise self._wrong(place, f"`{key}` needs a whole number from 0 up")
        return value
