"""The fault guide: suspects, treatments, hazards and money, from resources/fault_guide.toml or the shop's own copy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from station import RESOURCES
from station.capture.text import visible_line
from station.capture.toml import read_toml
from station.diagnosis.hazards import OPENED, STEPS, Hazard, sharpened
from station.errors import InputError
from station.judgement.treated import opens_housing
from station.records.entered import MOST_KIND, MOST_NUMBER, is_kind
from station.records.types import TREATMENT_KINDS
from station.words import diagnosis as words
from station.words import grammar

KINDS = ("stick", "trigger", "button", "hat", "battery", "motion", "touch", "unit")
DEFAULT_PATH = RESOURCES / "fault_guide.toml"
FORMAT, VERSION = "restpoint-fault-guide", 1
_SHOWN = 60
"""so much of a name is told"""


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
    """The whole guide. `hazards`: name → hazard; `steps`: step of the bench → names of its hazards. `ready_of`: name of
    a grade → what a ready unit that is called so brings, where the shop says so."""

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
    ready_of: Mapping[str, int] = field(default_factory=dict)

    def values_for(self, model: str, grade: str = "") -> Values:
        """What a unit of the model brings; with a grade that has a price, what one brings that is called so when it is
        ready: of a model with prices of its own the same share of its price."""
        found = self.values_of.get(model, self.values)
        if (ready := self.ready_of.get(grade)) is None:
            return found
        usual = self.values.ready_minor
        return replace(found, ready_minor=round(found.ready_minor * ready / usual) if usual else ready)

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
        not know, what every opened housing brings; of one that is called as a step, what either brings."""
        method, step = self.method(what), self.steps.get(what, ())
        names = (*step, *method.hazards) if method is not None else step or OPENED
        return tuple(self.hazards[name] for name in dict.fromkeys(names))


def guide_for(folder: Path) -> Guide:
    """The shop's own guide, `fault_guide.toml` in the folder of its records, or the one that ships."""
    own = folder / DEFAULT_PATH.name
    return load_guide(own if own.exists() else DEFAULT_PATH)


def load_guide(path: Path = DEFAULT_PATH) -> Guide:
    """Read and check a fault guide. InputError names the entry and what is wrong with it."""
    document = read_toml(path, words.GUIDE_FILE)
    ships = None if path == DEFAULT_PATH else load_guide()
    return _Reader(path, ships).guide(document)


class _Reader:
    """Takes values out of the document, or says where they are wrong. A shop's guide adds to the hazards that ship and
    sharpens them: it takes away none of a treatment or step, and no rule to stop by."""

    def __init__(self, path: Path, ships: Guide | None) -> None:
        """`ships`: the guide that ships, whose hazards stand beside those of a shop's own."""
        self._path, self._ships = path, ships

    def _wrong(self, place: str, what: str) -> InputError:
        place, what = visible_line(place, 120), visible_line(what)
        return InputError(words.GUIDE_WRONG.format(file=self._path, place=place, what=what))

    def guide(self, document: Mapping[str, Any]) -> Guide:
        if document.get("format") != FORMAT or document.get("version") != VERSION:
            raise self._wrong(words.AT_ITS_HEAD, words.NEEDS_FORMAT.format(format=FORMAT, version=VERSION))
        work = self._get(document, "work", dict, words.AT_ITS_HEAD)
        self._get(document, "suspect", list, words.AT_ITS_HEAD)
        suspects = tuple(self._role(i, t) for i, t in enumerate(self._tables(document, "suspect"), 1))
        hazards = self._hazards(document)
        roles = {s.role for s in suspects}
        if len(roles) != len(suspects):
            raise self._wrong(words.SUSPECTS, words.SAME_ROLE)
        self._get(document, "treatment", list, words.AT_ITS_HEAD)
        tables = self._tables(document, "treatment")
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
            {model: self._values_of(model, value) for model, value in self._table(document, "value_of").items()},
        )

    def _role(self, number: int, table: Mapping[str, Any]) -> Role:
        place = words.SUSPECT.format(number=number, role=_name(table, "role"))
        of = self._texts(table, "of", place)
        if not of or any(kind not in KINDS for kind in of):
            raise self._wrong(place, words.OF_MAY_NAME.format(allowed=grammar.COMMA.join(KINDS)))
        shows = self._get(table, "shows", dict, place)
        return Role(
            self._text(table.get("role"), place),
            self._text(table.get("name"), place),
            of,
            self._share(table.get("rate"), words.ENTRY.format(place=place, key="rate")),
            {code: self._share(p, words.SHOWS.format(place=place, code=code)) for code, p in shows.items()},
            self._yes(table, "per_axis", place),
            self._yes(table, "common", place),
            self._texts(table, "words", place),
            self._maybe_text(table, "mark", place),
        )

    def _hazards(self, document: Mapping[str, Any]) -> dict[str, Hazard]:
        """Those that ship, each with what the shop says of it, and the shop's own. `[cautions]` of a guide from before
        are what to do before the work."""
        found = dict(self._ships.hazards) if self._ships is not None else {}
        for name, text in self._table(document, "cautions").items():
            before = self._text(text, words.HAZARD.format(name=name))
            found[name] = replace(found[name], before=before) if name in found else Hazard(name, name, before)
        for table in self._tables(document, "hazard"):
            place = words.HAZARD.format(name=_name(table, "name"))
            name = self._text(table.get("name"), place)
            own = Hazard(
                name,
                self._text(table.get("sign", name), place),
                self._text(table.get("before"), words.ENTRY.format(place=place, key="before")),
                self._maybe_text(table, "stop", place),
                self._maybe_text(table, "during", place),
            )
            found[name] = sharpened(found[name], own) if name in found else own
        return found

    def _steps(self, document: Mapping[str, Any], hazards: Mapping[str, Hazard]) -> dict[str, tuple[str, ...]]:
        """Those that ship, each with what the shop names besides."""
        found = dict(self._ships.steps) if self._ships is not None else {}
        steps = self._table(document, "steps")
        for step in steps:
            place = words.STEP.format(name=step)
            if step not in STEPS:
                raise self._wrong(place, words.STEP_IS_ONE_OF.format(allowed=grammar.COMMA.join(STEPS)))
            named = self._named(self._texts(steps, step, place), hazards, place)
            found[step] = tuple(dict.fromkeys((*found.get(step, ()), *named)))
        return found

    def _named(self, names: Iterable[str], hazards: Mapping[str, Hazard], place: str) -> tuple[str, ...]:
        """Names of hazards, in the order given, each once."""
        for name in (named := tuple(dict.fromkeys(names))):
            if name not in hazards:
                raise self._wrong(place, words.NO_HAZARD.format(name=name[:_SHOWN]))
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
        place = words.TREATMENT.format(number=number, kind=_name(table, "kind"))
        kind = self._text(table.get("kind"), place)
        self._yes(table, "own", place)
        if kind not in kinds:
            raise self._wrong(place, words.KIND_IS_ONE_OF.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        if not is_kind(kind):
            raise self._wrong(place, words.KIND_TOO_LONG.format(most=MOST_KIND))
        cures = {}
        for role, counts in self._get(table, "cures", dict, place).items():
            if role not in roles:
                raise self._wrong(place, words.CURES_NO_SUSPECT.format(role=role[:_SHOWN]))
            cures[role] = self._counts(counts, words.CURES_ROLE.format(place=place, role=role))
        included = self._texts(table, "includes", place)
        if any(kind not in kinds for kind in included):
            raise self._wrong(place, words.INCLUDES_MAY_NAME.format(allowed=grammar.COMMA.join(TREATMENT_KINDS)))
        needs_open = self._yes(table, "needs_open", place)
        named = self._named(self._texts(table, "hazards", place), hazards, place)
        if needs_open and "hazards" in table and not {*OPENED} <= {*named}:
            raise self._wrong(place, words.OPENED_WITHOUT_HAZARDS.format(needed=grammar.COMMA.join(OPENED)))
        besides = self._named(self._texts(table, "cautions", place), hazards, place)  # of a guide from before
        brought = dict.fromkeys((*self._brought(kind, needs_open), *(named or besides)))
        return Method(
            kind,
            self._text(table.get("title"), place),
            self._whole(table, "minutes", place),
            self._whole(table, "cost_minor", place),
            self._share(table.get("harm", 0.0), words.ENTRY.format(place=place, key="harm")),
            needs_open,
            cures,
            self._share(table.get("again", 0.5), words.ENTRY.format(place=place, key="again")),
            tuple(brought),
            included,
            self._maybe_text(table, "mark", place),
            self._texts(table, "formerly", place),
        )

    def _brought(self, kind: str, needs_open: bool) -> tuple[str, ...]:
        """The hazards that a kind brings, whatever the guide names: those that ship with it, or of an opened
        housing."""
        known = self._ships.method(kind) if self._ships is not None else None
        if known is not None:
            return known.hazards
        return OPENED if needs_open or opens_housing(kind) else ()

    def _values_of(self, model: str, value: Any) -> Values:
        place = words.VALUE_OF.format(model=model)
        return self._values(self._is_table(value, place), place)

    def _values(self, table: Mapping[str, Any], place: str) -> Values:
        ready, as_is, parts = (self._whole(table, k, place) for k in ("ready_minor", "as_is_minor", "parts_minor"))
        return Values(ready, as_is, parts)

    def _counts(self, value: Any, place: str) -> tuple[float, float]:
        match value:
            case [int() | float() as cured, int() | float() as tried] if 0 <= cured <= tried <= MOST_NUMBER:
                return float(cured), float(tried)
        raise self._wrong(place, words.NEEDS_COUNTS)

    def _get(self, table: Mapping[str, Any], key: str, kind: type, place: str) -> Any:
        value = table.get(key)
        if not isinstance(value, kind):
            raise self._wrong(place, words.MISSING_OR_WRONG.format(key=key))
        return value

    def _text(self, value: Any, place: str) -> str:
        if not isinstance(value, str) or not value.strip():
            raise self._wrong(place, words.TEXT_MISSING)
        return value

    def _maybe_text(self, table: Mapping[str, Any], key: str, place: str) -> str:
        """A text that may be empty or left out."""
        value = table.get(key, "")
        if not isinstance(value, str):
            raise self._wrong(place, words.MISSING_OR_WRONG.format(key=key))
        return value.strip()

    def _texts(self, table: Mapping[str, Any], key: str, place: str) -> tuple[str, ...]:
        """A list of texts; none where it is left out."""
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise self._wrong(place, words.NEEDS_TEXTS.format(key=key[:_SHOWN]))
        return tuple(value)

    def _yes(self, table: Mapping[str, Any], key: str, place: str) -> bool:
        """true or false; false where it is left out."""
        value = table.get(key, False)
        if not isinstance(value, bool):
            raise self._wrong(place, words.NEEDS_TRUE_OR_FALSE.format(key=key))
        return value

    def _table(self, document: Mapping[str, Any], key: str) -> Mapping[str, Any]:
        """A table at the head of the guide; an empty one where it is left out."""
        return self._is_table(document.get(key, {}), key)

    def _tables(self, document: Mapping[str, Any], key: str) -> tuple[Mapping[str, Any], ...]:
        """The tables [[key]]; none where they are left out."""
        value = document.get(key, [])
        if not isinstance(value, list):
            raise self._wrong(key, words.NEEDS_TABLES.format(key=key))
        return tuple(self._is_table(one, words.NUMBERED.format(key=key, number=i)) for i, one in enumerate(value, 1))

    def _is_table(self, value: Any, place: str) -> Mapping[str, Any]:
        if not isinstance(value, dict):
            raise self._wrong(place, words.NEEDS_TABLE)
        return value

    def _share(self, value: Any, place: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise self._wrong(place, words.NEEDS_SHARE)
        return float(value)

    def _whole(self, table: Mapping[str, Any], key: str, place: str) -> int:
        value = table.get(key)
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MOST_NUMBER:
            raise self._wrong(place, words.NEEDS_WHOLE_NUMBER.format(key=key, most=MOST_NUMBER))
        return value


def _name(table: Mapping[str, Any], key: str) -> str:
    """What an entry calls itself, as far as it is told."""
    value = table.get(key)
    return value[:_SHOWN] if isinstance(value, str) and value.strip() else "?"
