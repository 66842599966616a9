"""A unit's story told to real records, event by event; and what the rules, told again in the plainest way, make of it.

Events: ("visit", kind), ("finish",), ("treat", kind, part), ("days", n), ("ready",) with a reason, ("open",),
("mistake", event) for what is recorded and withdrawn, and tries: (word, check, control) with a word of TRIES.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from station.checks.types import Assessment, Outcome, Reading
from station.errors import InputError
from station.records.store import Store
from station.records.types import Lot, Note, Result, ShelfPart, Treatment, UnitHistory
from station.sheets.model import Control, Part, Sheet
from tests.records.records_kit import HandClock, a_unit, open_store

Key = tuple[str, str]
REASON = "the buyer waits"
MISTAKEN = "wrong unit in hand"
Event = tuple[object, ...]

SHEET = Sheet(
    "Plover T2",
    controls=(
        Control("left_stick", "stick", "Left stick", "left hand"),
        Control("left_shoulder", "button", "Left shoulder", "top"),
        Control("left_trigger", "trigger", "Left trigger", "top"),
    ),
    parts=(Part("left_stick_x_sensor", "Stick sensor, horizontal", ("left_stick.x",)),),
)
SWEEP: Key = ("sweep", "left_stick")
REST: Key = ("rest", "left_stick")
CONTACT: Key = ("contact", "left_shoulder")
LIGHT: Key = ("light", "left_shoulder")
FIRM: Key = ("firm_press", "left_shoulder")
LINK: Key = ("link", "")
KEYS = (SWEEP, REST, CONTACT, LIGHT, FIRM, LINK)


def _counted(beats: int, missed: int, tries: int) -> tuple[Reading, ...]:
    counts = {"beats": beats, "missed": missed, "tries": tries}
    return tuple(Reading(name, float(value), "", n=beats) for name, value in counts.items())


def _read(gap: float, noise: float) -> tuple[Reading, ...]:
    """Two readings with limits, in percent: each alone may say something else than the try does."""
    return Reading("gap", gap, "%", 0.1, 3.0, 8.0), Reading("noise", noise, "%", 0.1, 1.5, 4.0)


TRIES: dict[str, tuple[Assessment, bool]] = {
    "pass": (Assessment(Outcome.PASS, _read(1.0, 0.5)), False),
    "borderline": (Assessment(Outcome.BORDERLINE, _read(5.0, 0.5)), False),
    "fail": (Assessment(Outcome.FAIL, _read(9.0, 0.5)), False),
    "fail by noise": (Assessment(Outcome.FAIL, _read(1.0, 6.0)), False),
    "interrupted": (Assessment(Outcome.INTERRUPTED, _read(9.0, 0.5)), False),
    "again": (Assessment(Outcome.NOT_DONE, _read(1.0, 6.0), again="again, please: slower"), False),
    "skip": (Assessment(Outcome.NOT_DONE), True),
    "fail, 2 of 9": (Assessment(Outcome.FAIL, _counted(9, 2, 1)), False),
    "borderline, 2 of 69 in all": (Assessment(Outcome.BORDERLINE, _counted(69, 2, 2)), False),
    "again, 12 presses": (Assessment(Outcome.NOT_DONE, _counted(12, 0, 1), again="again, please: 19 presses"), False),
    "by hand pass": (Assessment(Outcome.PASS, _read(9.0, 6.0)), True),
    "by hand borderline": (Assessment(Outcome.BORDERLINE), True),
    "by hand fail": (Assessment(Outcome.FAIL, _read(1.0, 0.5)), True),
}
"""what was recorded for each kind of try, and whether a person set it"""
SAYS = {
    "fail, 2 of 9": "fail", "borderline, 2 of 69 in all": "borderline",
    "pass": "pass", "borderline": "borderline", "fail": "fail", "fail by noise": "fail", "by hand pass": "pass",
    "by hand borderline": "borderline", "by hand fail": "fail", "skip": "not done",
}  # fmt: skip
"""the tries that count, and what they say"""
SHOWN = SAYS | {"interrupted": "interrupted", "again": "not done", "again, 12 presses": "not done"}
"""what a check is shown as while none of its tries counts: its last one"""

TREATMENTS: dict[tuple[str, str], tuple[Key, ...]] = {
    ("clean from outside", "Stick sensor, horizontal"): (SWEEP, REST),
    ("clean the sensor", "Stick sensor, horizontal"): (SWEEP, REST, CONTACT),
    ("open and clean", "left shoulder contact"): (CONTACT, LIGHT, FIRM, REST),
    ("adjust", "left_trigger"): (REST, CONTACT),
    ("replace board", "Board"): KEYS,
    ("other", ""): KEYS,
}
"""what each treatment may have changed: its control (by part, by name, by id), the quick checks once it was opened,
everything where nobody can tell what was touched"""


@dataclass
class Expected:
    """What the story comes to, worked out beside it."""

    visits: list[dict[Key, list[str]]] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    days: list[int] = field(default_factory=list)
    finished: list[bool] = field(default_factory=list)
    when: dict[Key, int] = field(default_factory=dict)
    """key → event number of the try that counts"""
    treated: list[tuple[int, tuple[Key, ...]]] = field(default_factory=list)
    rest_day: int | None = None
    together: dict[Key, list[str]] = field(default_factory=dict)
    """key → the tries of the visit at hand that the next one is taken together with, oldest first"""
    ready: bool = False
    excused: bool = False
    """it was called ready with a reason that was needed, and not opened again since"""

    def shown(self, visit: int) -> dict[Key, str]:
        """What each check of a visit is shown as."""
        return {key: _last_said(tries) or SHOWN[tries[-1]] for key, tries in self.visits[visit].items()}

    def totals(self, visit: int) -> tuple[int, int, int, int]:
        said = [_last_said(tries) or "not done" for tries in self.visits[visit].values()]
        return tuple(said.count(word) for word in ("pass", "borderline", "fail", "not done"))  # type: ignore[return-value]

    def stands(self) -> dict[Key, str]:
        """What stands for the unit; a firm press from before the newest light one's visit does not."""
        found: dict[Key, str] = {}
        light = [i for i, v in enumerate(self.visits) if _last_verdict(v.get(LIGHT, []))]
        for i, visit in enumerate(self.visits):
            for key, tries in visit.items():
                if (said := _last_said(tries)) and not (key == FIRM and light and i < light[-1]):
                    found[key] = said
        return found

    def verdicts(self) -> dict[Key, str]:
        return {key: said for key, said in self.stands().items() if said != "not done"}

    def older(self) -> set[Key]:
        """Checks whose verdict is older than something that may have changed it."""
        return {k for k in self.verdicts() if any(at > self.when[k] and k in keys for at, keys in self.treated)}

    def due(self) -> bool:
        """Whether the second test has yet to come."""
        return self.rest_day is not None and self.second_test() is None

    def second_test(self) -> int | None:
        """The visit that is the second test."""
        day = self.rest_day or 0
        found = [
            i
            for i, kind in enumerate(self.kinds)
            if kind in ("after rest", "final") and self.finished[i] and self.days[i] >= day
            and any(_last_verdict([word for word in tries if not word.startswith("by hand")])
                    for tries in self.visits[i].values())
        ]  # fmt: skip
        return found[-1] if found else None


def _last_said(tries: list[str]) -> str:
    """What the last try that counts says; empty without one."""
    return next((SAYS[word] for word in reversed(tries) if word in SAYS), "")


def _last_verdict(tries: list[str]) -> bool:
    """Whether any try gave a verdict (a visit that was skipped afterwards was still a test)."""
    return any(word in SAYS and word != "skip" for word in tries)


class Telling:
    """Tells events to records in a folder, and keeps what they come to."""

    def __init__(self, folder: Path) -> None:
        self.clock = HandClock()
        self.store: Store = open_store(folder, clock=self.clock, sheet=SHEET)
        lot = self.store.add_lot(Lot("", "SM-07", "2026-03-02", cost_minor=9600))
        self.unit_id = self.store.add_unit(replace(a_unit(), lot_id=lot.id)).id
        self.expected = Expected()
        self.refused = ""
        self._day = 0
        self._events = 0

    def tell(self, *events: Event) -> Telling:
        for event in events:
            self._events += 1
            match event:
                case ("visit", str() as kind):
                    self._finish()
                    self.store.start_visit(self.unit_id, kind)
                    e = self.expected
                    e.visits.append({})
                    e.kinds.append(kind)
                    e.days.append(self._day)
                    e.finished.append(False)
                    e.together.clear()
                case ("finish",):
                    self._finish()
                case ("treat", str() as kind, str() as part):
                    self.store.add_treatment(Treatment("", self.unit_id, kind, "", part))
                    self.expected.treated.append((self._events, TREATMENTS[kind, part]))
                    for key in TREATMENTS[kind, part]:
                        self.expected.together.pop(key, None)
                    self.expected.ready = self.expected.excused = False
                    if kind != "other":
                        self.expected.rest_day = self._day + 3
                case ("ready",) if not self.expected.ready:
                    self._becomes("ready", REASON)
                    self.expected.ready = True
                    self.expected.excused = self.expected.due() or bool(self.expected.older())
                case ("ready",):
                    pass
                case ("mistake", tuple() as what):
                    self._withdraw(what)
                case ("open",):
                    self._becomes("open")
                    self.expected.ready = self.expected.excused = False
                case ("days", int() as days):
                    self.clock.move(days=days)
                    self._day += days
                case (str() as word, str() as check, str() as control):
                    self._try(word, (check, control))
                case _:
                    raise AssertionError(event)
        return self

    def _try(self, word: str, key: Key) -> None:
        done, by_hand = TRIES[word]
        visit = self.store.visits(self.unit_id)[-1]
        reason = "no time" if by_hand else ""
        self.store.add_result(Result("", visit.id, *key, 0, "", done, by_hand=by_hand, reason=reason))
        self.expected.visits[-1].setdefault(key, []).append(word)
        if not by_hand and done.outcome is not Outcome.INTERRUPTED:
            self.expected.together.setdefault(key, []).append(word)
        if word in SAYS:
            self.expected.when[key] = self._events

    def _withdraw(self, event: Event) -> None:
        """Record something that should not be there, and take it back: nothing is expected of it."""
        match event:
            case ("treat", str() as kind, str() as part):
                wrong = Treatment("", self.unit_id, kind, "", part, minutes=30, cost_minor=900)
                self.store.withdraw("treatment", self.store.add_treatment(wrong).id, MISTAKEN)
            case ("note",):
                self.store.withdraw("note", self.store.add_note(Note("", self.unit_id, "", "x")).id, MISTAKEN)
            case ("unit",):
                unit = self.store.add_unit(replace(a_unit("SM-07-99"), lot_id=self.store.lots()[0].id))
                visit = self.store.start_visit(unit.id, "intake")
                self.store.add_result(Result("", visit.id, *SWEEP, 0, "", TRIES["fail"][0]))
                self.store.add_treatment(Treatment("", unit.id, "adjust", "", minutes=30, cost_minor=900))
                self.store.withdraw("unit", unit.id, MISTAKEN)
            case ("part",):
                part = self.store.add_shelf_part(ShelfPart("", "Stick sensor, horizontal", "Plover T2", 3))
                self.store.withdraw("part", part.id, MISTAKEN)
            case ("sold",):
                unit = self.store.unit(self.unit_id)
                self.store.change_unit(replace(unit, becomes="sold", sold_minor=3100))
                self.store.withdraw_sale(unit.id, MISTAKEN)
            case (str() as word, str() as check, str() as control):
                done, by_hand = TRIES[word]
                visit = self.store.visits(self.unit_id)[-1]
                reason = "no time" if by_hand else ""
                wrong_try = Result("", visit.id, check, control, 0, "", done, by_hand=by_hand, reason=reason)
                self.store.withdraw("result", self.store.add_result(wrong_try).id, MISTAKEN)
            case _:
                raise AssertionError(event)

    def _becomes(self, state: str, reason: str = "") -> None:
        self.store.change_unit(replace(self.store.unit(self.unit_id), becomes=state), reason=reason)

    def _finish(self) -> None:
        if self.expected.visits and not self.expected.finished[-1]:
            self.store.finish_visit(self.store.visits(self.unit_id)[-1].id)
            self.expected.finished[-1] = True

    @property
    def history(self) -> UnitHistory:
        return self.store.history(self.unit_id)

    @property
    def today(self) -> str:
        return self.store.now()[:10]

    def may_become_ready(self) -> bool:
        """Whether the records let it be called ready now; they are left as they were."""
        unit = self.store.unit(self.unit_id)
        try:
            self.store.change_unit(replace(unit, becomes="ready"))
        except InputError as refused:
            self.refused = str(refused)
            return False
        self.store.change_unit(replace(unit, becomes="open"))
        return True
