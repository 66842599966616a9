"""The fault guide: suspects, treatments, hazards and money, from resources/fault_guide.toml or the shop's own copy."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from station import RESOURCES
from station.diagnosis.hazards import OPENED, STEPS, Hazard
from station.errors import InputError
from station.records.entered import MOST_KIND, is_kind
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
    """A treatment. `cures`: role → (cured, of how many) to start from, empty: it is never proposed; `again` scales the
    rate of a further try. `hazards`: names of what can hurt. `formerly`: kinds under which older records have it."""

    kind: str
    title: str
    minutes: int
    cost_minor: int
    harm: float
    needs_open: bool
    cures: Mapping[str, tuple[float, float]]
    again: float = 0.5
    hazards: tuple[str, ...] = ()
    includes: tuple[str, ...] = ()
    """kinds of treatment that are not worth trying once this one was done"""
    mark: str = ""
    formerly: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Values:
    """What a unit brings, in minor units."""

    ready_minor: int
    as_is_minor: int
    parts_minor: int


@dataclass(frozen=True, slots=True)
class Guide:
    """The whole guide. `hazards`: name → hazard; `steps`: step of the bench → names of its hazards."""

    suspects: tuple[Role, ...]
    treatments: tuple[Method, ...]
    hazards: Mapping[str, Hazard] = field(hash=False)
    steps: Mapping[str, tuple[str, ...]] = field(hash=False)
    values: Values
    currency: str = "EUR"
    hour_minor: int = 0
    open_minutes: int = 0
    test_minutes: int = 0
    values_of: Mapping[str, Values] = field(default_factory=dict)

    def values_for(self, model: str) -> Values:
        return self.values_of.get(model, self.values)

    def method(self, kind: str) -> Method | None:
        """The treatment of that kind; None if the guide has none."""
        return next((m for m in self.treatments if m.kind == kind), None)

    def now_called(self, kind: str) -> str:
        """The kind of a recorded treatment as this guide has it: older records have some under another."""
        method = self.method(kind)
        if method is not None and method.cures:
            return kind
        return next((m.kind for m in self.treatments if kind in m.formerly), kind)

    def hazards_of(self, what: str) -> tuple[Hazard, ...]:
        """What can hurt in a kind of treatment or a step of the bench (`hazards.STEPS`). Of a kind that the guide does
        not know, what every opened housing brings."""
        method = self.method(what)
        names = method.hazards if method is not None else self.steps.get(what, OPENED)
        return tuple(self.hazards[name] for name in names)


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
    except (ValueError, RecursionError) as fault:  # no TOML, or a number of too many digits
        raise InputError(words.GUIDE_NO_TOML.format(file=path, fault=fault)) from fault
    ships = None if path == DEFAULT_PATH else load_guide()
    return _Reader(path, ships).guide(document)


class _Reader:
    """Takes values out of the document, or says where they are wrong."""

    def __init__(self, path: Path, ships: Guide | None) -> None:
        """`ships`: the guide that ships, whose hazards stand where a shop's own has none."""
        self._path, self._ships = path, ships

    def _wrong(self, place: str, what: str) -> InputError:
        return InputError(words.GUIDE_WRONG.format(file=self._path, place=place, what=what))

    def guide(self, document: Mapping[str, Any]) -> Guide:
        if document.get("format") != FORMAT or document.get("version") != VERSION:
            raise self._wrong(words.AT_ITS_HEAD, words.NEEDS_FORMAT.format(format=FORMAT, version=VERSION))
        work = self._get(document, "work", dict, words.AT_ITS_HEAD)
        suspects = tuple(
            self._role(i, t) for i, t in enumerate(self._get(document, "suspect", list, words.AT_ITS_HEAD), 1)
        )
        hazards = self._hazards(document)
        roles = {s.role for s in suspects}
        if len(roles) != len(suspects):
            raise self._wrong(words.SUSPECTS, words.SAME_ROLE)
        tables = self._get(document, "treatment", list, words.AT_ITS_HEAD)
        kinds = {*TREATMENT_KINDS, *(t["kind"] for t in tables if t.get("own") and isinstance(t.get("kind"), str))}
        treatments = tuple(self._method(i, t, roles, hazards, kinds) for i, t in enumerate(tables, 1))
        return Guide(
            suspects,
            (*treatments, *self._not_named(treatments)),
            hazards,
            self._steps(document, hazards),
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

    def _hazards(self, document: Mapping[str, Any]) -> dict[str, Hazard]:
        """Those that ship, each with what the shop says of it in its place, and the shop's own. `[cautions]` of a guide
        from before are what to do before the work."""
        found = dict(self._ships.hazards) if self._ships is not None else {}
        for name, text in document.get("cautions", {}).items():
            before = self._text(text, words.HAZARD.format(name=name))
            found[name] = replace(found[name], before=before) if name in found else Hazard(name, name, before)
        for table in document.get("hazard", ()):
            name = self._text(table.get("name"), words.HAZARD.format(name="?"))
            place = words.HAZARD.format(name=name)
            found[name] = Hazard(
                name,
                self._text(table.get("sign", name), place),
                self._text(table.get("before"), words.ENTRY.format(place=place, key="before")),
                str(table.get("stop", "")),
                str(table.get("during", "")),
            )
        return found

    def _steps(self, document: Mapping[str, Any], hazards: Mapping[str, Hazard]) -> dict[str, tuple[str, ...]]:
        found = dict(self._ships.steps) if self._ships is not None else {}
        for step, names in document.get("steps", {}).items():
            place = words.STEP.format(name=step)
            if step not in STEPS:
                raise self._wrong(place, words.STEP_IS_ONE_OF.format(allowed=grammar.COMMA.join(STEPS)))
            found[step] = self._named(names, hazards, place)
        return found

    def _named(self, names: Iterable[str], hazards: Mapping[str, Hazard], place: str) -> tuple[str, ...]:
        """Names of hazards, in the order given, each once."""
        for name in (named := tuple(dict.fromkeys(names))):
            if name not in hazards:
                raise self._wrong(place, words.NO_HAZARD.format(name=name))
        return named

    def _not_named(self, treatments: Iterable[Method]) -> tuple[Method, ...]:
        """The treatments that ship and that a shop's own guide does not have: they can be logged and are not
        proposed."""
        named = {method.kind for method in treatments}
        ships = self._ships.treatments if self._ships is not None else ()
        return tuple(replace(m, cures={}, formerly=()) for m in ships if m.kind not in named)

    def _method(
        self, number: int, table: Mapping[str, Any], roles: set[str], hazards: Mapping[str, Hazard], kinds: set[str]
    ) -> Method:
        place = words.TREATMENT.format(number=number, kind=table.get("kind", "?"))
        kind = self._text(table.get("kind"), place)
        if kind not in kinds:
            raise self._wrong(place, words.KIND_IS_ONE_OF.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        if not is_kind(kind):
            raise self._wrong(place, words.KIND_TOO_LONG.format(most=MOST_KIND))
        cures = {}
        for role, counts in self._get(table, "cures", dict, place).items():
            if role not in roles:
                raise self._wrong(place, words.CURES_NO_SUSPECT.format(role=role))
            cures[role] = self._counts(counts, words.CURES_ROLE.format(place=place, role=role))
        included = tuple(table.get("includes", ()))
        if any(kind not in kinds for kind in included):
            raise self._wrong(place, words.INCLUDES_MAY_NAME.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        needs_open = bool(table.get("needs_open", False))
        named = self._named(self._hazards_named(table, kind, needs_open), hazards, place)
        if needs_open and not {*OPENED} <= {*named}:
            raise self._wrong(place, words.OPENED_WITHOUT_HAZARDS.format(needed=grammar.COMMA.join(OPENED)))
        return Method(
            kind,
            self._text(table.get("title"), place),
            self._whole(table, "minutes", place),
            self._whole(table, "cost_minor", place),
            self._share(table.get("harm", 0.0), words.ENTRY.format(place=place, key="harm")),
            needs_open,
            cures,
            self._share(table.get("again", 0.5), words.ENTRY.format(place=place, key="again")),
            named,
            included,
            str(table.get("mark", "")),
            tuple(table.get("formerly", ())),
        )

    def _hazards_named(self, table: Mapping[str, Any], kind: str, needs_open: bool) -> tuple[str, ...]:
        """What a treatment names as hazards. One of a guide from before has `cautions`: those beside what ships."""
        if "hazards" in table:
            return tuple(table["hazards"])
        known = self._ships.method(kind) if self._ships is not None else None
        return (*(known.hazards if known else OPENED if needs_open else ()), *table.get("cautions", ()))

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
