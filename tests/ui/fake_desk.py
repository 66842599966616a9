"""A desk without device, disk or clock of its own: everything in memory, every command kept, time moved by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from station.bench.teaching_types import TeachView
from station.bench.types import (
    Again,
    AgainPlease,
    Answer,
    Beat,
    BeatView,
    Choose,
    Command,
    Finish,
    Go,
    MarkByHand,
    ResultCommitted,
    SessionView,
    Skip,
    Step,
    StepStarted,
    StepView,
    TakeBack,
    VisitFinished,
    VisitStarted,
)
from station.checks.limits import load_limits
from station.checks.types import Assessment, Limits, Outcome, Progress, Prompt, Reading
from station.records.types import Lot, Note, Result, ShelfPart, Treatment, Unit, UnitHistory, Visit
from station.sheets.model import Ask, Control, Part, Place, Sheet
from station.sheets.signals import ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal
from station.sources.port import DeviceInfo, SourceStatus
from station.ui.ports import (
    CertificateReady,
    DeskEvent,
    DeviceAppeared,
    DueRow,
    KeptWalk,
    LiveView,
    LotAnswer,
    ProposalView,
    RecordChanged,
    Said,
    SilentListed,
    SuspectView,
)

DEVICE = DeviceInfo("fake:1", 0x1209, 0x0001, "Plover T2", "PT2-0419", "usb", b"")
_BUTTONS = (
    ("left_shoulder", "Left shoulder", "top", "right_shoulder"),
    ("right_shoulder", "Right shoulder", "top", "left_shoulder"),
    ("south", "South", "right hand", "north"),
    ("east", "East", "right hand", "west"),
    ("west", "West", "right hand", "east"),
    ("north", "North", "right hand", "south"),
    ("left_stick_press", "Left stick press", "left hand", "right_stick_press"),
    ("right_stick_press", "Right stick press", "right hand", "left_stick_press"),
    ("back_left", "Back left", "back", "back_right"),
    ("back_right", "Back right", "back", "back_left"),
)
TITLES = {
    "contact": "Contact",
    "light": "Light press",
    "hold": "Steady hold",
    "rest": "At rest",
    "letgo": "Let go",
    "travel": "Full travel",
    "rim": "Round the rim",
    "sweep": "Slow sweep",
    "trigger": "Trigger pull",
    "hat": "Hat",
    "rumble": "Rumble",
    "charge": "Charge",
}
DO = {
    "contact": "Press it three times.",
    "light": "As lightly as it clicks, on every beat.",
    "hold": "Hold it lightly for five seconds.",
    "rest": "Hands off for three seconds.",
    "letgo": "Flick it to eight directions and let go.",
    "travel": "Push it fast up, right, down and left, and hold each.",
    "rim": "Roll it round the rim, twice each way.",
    "sweep": "Move it slowly across and back, three times each axis.",
    "trigger": "Pull it slowly and let go, three times.",
    "hat": "Roll it through its eight directions.",
    "rumble": "Does it rumble left and right?",
    "charge": "Charge light on, and the meter's reading.",
}


def plover(name: str = "Plover T2", drawn_up: bool = False) -> Sheet:
    """The invented pad of the demo scenario."""
    at = Place(usage=0x00090001)
    controls = [
        Control("left_stick", "stick", "Left stick", "left hand", "right_stick", x=at, y=at),
        Control("right_stick", "stick", "Right stick", "right hand", "left_stick", x=at, y=at),
        Control("left_trigger", "trigger", "Left trigger", "top", "right_trigger", at=at),
        Control("right_trigger", "trigger", "Right trigger", "top", "left_trigger", at=at),
        *(Control(i, "button", n, z, t, at=at) for i, n, z, t in _BUTTONS),  # type: ignore[arg-type]
        Control("direction_pad", "hat", "Direction pad", "left hand", at=at),
    ]
    return Sheet(
        name,
        match=((0x1209, 1),),
        controls=tuple(controls),
        asks=(Ask("rumble", DO["rumble"]), Ask("charge", DO["charge"], ("V", "A"))),
        parts=(Part("left_stick_x", "Left stick sensor, horizontal", ("left_stick.x",)),),
        drawn_up=drawn_up,
    )


def steps_for(sheet: Sheet) -> tuple[Step, ...]:
    """The checklist that the fake bench makes."""
    checks = {
        "button": ("contact", "light", "hold"),
        "stick": ("rest", "letgo", "travel", "rim", "sweep"),
        "trigger": ("trigger",),
        "hat": ("hat",),
    }
    steps = [
        Step(check, c.id, TITLES[check], c.name, c.zone) for c in sheet.controls for check in checks.get(c.kind, ())
    ]
    steps += [Step(a.id, "", TITLES[a.id], TITLES[a.id], "whole unit", True, a.meter) for a in sheet.asks]
    return tuple(steps)


PORTS = {
    "live": {"take_events": "take_events", "now": "live", "status": "source_status"},
    "sheets": {"sheet": "sheet", "limits": "limits", "save_sheet": "save_sheet"},
    "devices": {
        "devices": "devices", "samples": "simulated_units", "plug_in_sample": "open_simulated",
        "list_silent": "list_silent", "open_silent": "open_silent",
    },
    "visit": {"session": "session", "do": "do", "start": "start_visit", "unfinished": "unfinished_visit"},
    "teaching": {
        "lesson": "teaching", "kept_walk": "kept_walk", "begin": "begin_teaching", "press": "teach",
        "answer": "answer_teaching", "proposed_name": "taught_name", "save_taught": "save_taught",
    },
    "units": {
        "find": "units", "history": "history", "due": "due", "today": "today", "add": "add_unit",
        "change": "change_unit", "treat": "add_treatment", "note": "add_note", "photos": "photos",
    },
    "advice": {"suspects": "suspects", "proposal": "proposal"},
    "stock": {
        "lots": "lots", "lot_states": "lot_states", "units_of_lot": "units_of_lot", "lot_answer": "lot_answer",
        "add_lot": "add_lot", "change_lot": "change_lot", "shelf": "shelf", "add_part": "add_shelf_part",
        "give_up": "give_up",
    },
    "certificates": {"last_certificate": "certificate", "write_certificate": "write_certificate"},
    "upkeep": {"backups": "backups", "restore": "restore"},
    "settings": {"get": "setting", "put": "set_setting"},
}  # fmt: skip


class Port:
    """The methods of one port."""

    def __init__(self, desk: FakeDesk, methods: dict[str, str]) -> None:
        for name, theirs in methods.items():
            setattr(self, name, getattr(type(desk), theirs).__get__(desk))


class FakeDesk:
    """The whole `Desk` port. `now_ns` moves with `advance`; `feed` gives the next live signals."""

    def __init__(self, clock: Callable[[], int] | None = None) -> None:
        self.commands: list[Command] = []
        self.calls: list[tuple[object, ...]] = []
        self.written: dict[str, CertificateReady] = {}
        self.events: list[DeskEvent] = []
        self.kept: dict[str, str] = {}
        self.the_session: SessionView | None = None
        self.the_sheet: Sheet | None = None
        self.now_ns = 0
        self.pending: dict[str, Signal] = {}
        self.reports = 0
        self.status: SourceStatus | None = None
        self.known_devices: list[DeviceInfo] = []
        self.unit_rows: list[Unit] = []
        self.lot_rows: list[Lot] = []
        self.shelf_rows: list[ShelfPart] = []
        self.due_rows: list[DueRow] = []
        self.visits: list[Visit] = []
        self.results: list[Result] = []
        self.treatments: list[Treatment] = []
        self.notes: list[Note] = []
        self.suspect_rows: tuple[SuspectView, ...] = ()
        self.the_proposal: ProposalView | None = None
        self.lot_answers: dict[str, LotAnswer] = {}
        self.pictures: tuple[str, ...] = ()
        self.photo = ""
        self.silent: tuple[DeviceInfo, ...] = ()
        self.samples: tuple[str, ...] = ("sound", "off-centre", "noisy track", "weak shoulder")
        self.the_lesson: TeachView | None = None
        self.closed = False
        self.the_limits: Limits = load_limits()
        self._clock = clock
        self._ids = 0
        for port, methods in PORTS.items():
            setattr(self, port, Port(self, methods))

    # --- for tests -------------------------------------------------------------------------------------------

    def new_id(self) -> str:
        self._ids += 1
        return f"00000000-0000-7000-8000-{self._ids:012d}"

    def advance(self, ms: float) -> None:
        self.now_ns += round(ms * 1e6)

    def feed(self, **signals: Signal) -> None:
        """These controls report; taken by the next tick."""
        self.pending.update(signals)
        self.reports += max((len(s.t_ns) for s in signals.values()), default=0)

    def press(self, control: str, closed: bool) -> None:
        self.feed(**{control: button(self.now_ns, closed)})

    def update(self, **changes: object) -> None:
        """A new picture of the visit."""
        assert self.the_session is not None
        self.the_session = replace(self.the_session, **changes)  # type: ignore[arg-type]

    def set_step(self, index: int, **changes: object) -> None:
        assert self.the_session is not None
        steps = list(self.the_session.steps)
        steps[index] = replace(steps[index], **changes)  # type: ignore[arg-type]
        self.update(steps=tuple(steps))

    def index_of(self, check: str, control: str = "") -> int:
        assert self.the_session is not None
        return next(
            k for k, v in enumerate(self.the_session.steps) if (v.step.check, v.step.control) == (check, control)
        )

    def beat(self, state: str = "waiting") -> None:
        """The bench calls for a press now."""
        assert self.the_session is not None
        self.events.append(Beat(self.now_ns))
        self.update(beats=(*self.the_session.beats, BeatView(self.now_ns, state)))

    def plug_in(self, unit: Unit | None = None, device: DeviceInfo = DEVICE, sheet: str = "Plover T2") -> None:
        self.known_devices.append(device)
        self.events.append(DeviceAppeared(device, unit, sheet))

    # --- live --------------------------------------------------------------------------------------------------

    def take_events(self) -> Sequence[DeskEvent]:
        events, self.events = self.events, []
        return events

    def session(self) -> SessionView | None:
        return self.the_session

    def sheet(self) -> Sheet | None:
        return self.the_sheet

    def live(self) -> LiveView:
        if self._clock is not None:
            self.now_ns = self._clock()
        view = LiveView(self.now_ns, self.pending, self.reports)
        self.pending, self.reports = {}, 0
        return view

    def limits(self) -> Limits:
        return self.the_limits

    def source_status(self) -> SourceStatus | None:
        return self.status

    def devices(self) -> Sequence[DeviceInfo]:
        return self.known_devices

    # --- a visit -----------------------------------------------------------------------------------------------

    def start_visit(self, unit_id: str, device: DeviceInfo, kind: str) -> None:
        self.calls.append(("start_visit", unit_id, device.key, kind))
        unit = next(u for u in self.unit_rows if u.id == unit_id)
        open_one = self.unfinished_visit(unit_id)
        number = sum(v.unit_id == unit_id for v in self.visits) + 1
        visit = open_one or Visit(self.new_id(), unit_id, kind, number, "2026-11-25T09:00:00+00:00")
        if open_one is None:
            self.visits.append(visit)
        self.the_sheet = self.the_sheet or plover()
        steps = tuple(StepView(s, "waiting", Outcome.NOT_DONE) for s in steps_for(self.the_sheet))
        self.the_session = SessionView(unit, visit, steps, 0, False, self._prompt(steps[0].step), None)
        self.status = SourceStatus("live", 0, "process", 60.0)
        self.events.append(VisitStarted(visit))

    def open_simulated(self, unit_name: str) -> None:
        self.calls.append(("open_simulated", unit_name))
        self.plug_in(device=replace(DEVICE, key=f"simulated:{unit_name}", bus="simulated", serial=f"SIM-{unit_name}"))

    def list_silent(self) -> int:
        self._ids += 1
        self.events.append(SilentListed(self.silent, self._ids))
        return self._ids

    def open_silent(self, device: DeviceInfo) -> None:
        self.plug_in(device=replace(device, problem=""))

    def simulated_units(self) -> Sequence[str]:
        return self.samples

    def do(self, command: Command) -> None:
        self.commands.append(command)
        session = self.the_session
        assert session is not None
        match command:
            case Choose(index=index):
                self._go_to(index)
            case Go() if not session.running:
                self._start(session.current)
            case Go():
                self.finish_step(Outcome.PASS)
            case Again():
                self._start(session.current)
            case TakeBack():
                self.update(beats=session.beats[:-1])
            case Answer(word=word):
                self.finish_step(Outcome.PASS if word == "pass" else Outcome.FAIL)
            case MarkByHand(outcome=outcome, reason=reason):
                self.finish_step(outcome, reason=reason, by_hand=True)
            case Skip(reason=reason):
                self.set_step(session.current, state="done", reason=reason)
                self._go_to(session.current + 1)
            case Finish():
                self._finish()

    def _start(self, index: int) -> None:
        assert self.the_session is not None
        step = self.the_session.steps[index].step
        self.set_step(index, state="running")
        self.update(running=True, progress=Progress(False, "hold on", 0.1), again="", beats=())
        self.events.append(StepStarted(index, step, self.now_ns))

    def again_please(self, text: str) -> None:
        assert self.the_session is not None
        index = self.the_session.current
        self.set_step(index, state="waiting", attempts=self.the_session.steps[index].attempts + 1)
        self.update(running=False, progress=None, again=text)
        self.events.append(AgainPlease(index, text))

    def finish_step(
        self,
        outcome: Outcome,
        readings: tuple[Reading, ...] = (),
        reason: str = "",
        by_hand: bool = False,
    ) -> None:
        """Commit a result for the current step and go to the next one."""
        session = self.the_session
        assert session is not None
        index = session.current
        view = session.steps[index]
        assessment = Assessment(outcome, readings)
        self.set_step(
            index,
            state="done",
            outcome=outcome,
            attempts=view.attempts + 1,
            assessment=assessment,
            reason=reason,
            by_hand=by_hand,
        )
        result = Result(
            self.new_id(),
            session.visit.id,
            view.step.check,
            view.step.control,
            view.attempts + 1,
            "2026-11-25T09:05:00+00:00",
            assessment,
            by_hand=by_hand,
            reason=reason,
        )
        self.results.append(result)
        self.events.append(ResultCommitted(index, result))
        self._go_to(index + 1)

    def _go_to(self, index: int) -> None:
        assert self.the_session is not None
        if index >= len(self.the_session.steps):
            self._finish()
            return
        step = self.the_session.steps[index].step
        asked = step.person_answers
        self.update(current=index, running=asked, progress=None, prompt=self._prompt(step), beats=(), again="")

    def _prompt(self, step: Step) -> Prompt:
        hint = "Right shoulder with it, as the witness." if step.check == "light" else ""
        return Prompt(step.title, DO[step.check], hint, 120 if step.check == "light" else 0)

    def _finish(self) -> None:
        assert self.the_session is not None
        visit = replace(self.the_session.visit, finished_at="2026-11-25T09:40:00+00:00")
        for k, view in enumerate(self.the_session.steps):
            if view.state == "running":
                self.set_step(k, state="waiting")
        self.visits = [visit if v.id == visit.id else v for v in self.visits]
        self.update(visit=visit, current=-1, running=False, finished=True, prompt=None, progress=None)
        self.events.append(VisitFinished(visit))

    # --- teaching ----------------------------------------------------------------------------------------------

    def kept_walk(self, device: DeviceInfo) -> KeptWalk | None:
        return None

    def begin_teaching(self, device: DeviceInfo, counts: Mapping[str, int], *, go_on: bool) -> None:
        self.calls.append(("begin_teaching", device.key, dict(counts), go_on))

    def teaching(self) -> TeachView | None:
        return self.the_lesson

    def teach(self, key: str) -> None:
        self.calls.append(("teach", key))

    def answer_teaching(self, control: str, answer: str) -> None:
        self.calls.append(("answer_teaching", control, answer))

    def taught_name(self) -> str:
        return "Plover T2"

    def save_taught(self, name: str) -> None:
        self.calls.append(("save_taught", name))

    # --- records -----------------------------------------------------------------------------------------------

    def units(self, search: str = "") -> Sequence[Unit]:
        text = search.casefold()
        return [u for u in self.unit_rows if text in f"{u.tag} {u.model} {u.serial}".casefold()]

    def lots(self) -> Sequence[Lot]:
        return self.lot_rows

    def shelf(self) -> Sequence[ShelfPart]:
        return self.shelf_rows

    def due(self) -> Sequence[DueRow]:
        return self.due_rows

    def history(self, unit_id: str) -> UnitHistory:
        unit = next(u for u in self.unit_rows if u.id == unit_id)
        mine = {v.id for v in self.visits if v.unit_id == unit_id}
        return UnitHistory(
            unit,
            next((x for x in self.lot_rows if x.id == unit.lot_id), None),
            tuple(v for v in self.visits if v.unit_id == unit_id),
            tuple(r for r in self.results if r.visit_id in mine),
            tuple(t for t in self.treatments if t.unit_id == unit_id),
            tuple(n for n in self.notes if n.unit_id == unit_id),
        )

    def unfinished_visit(self, unit_id: str) -> Visit | None:
        return next((v for v in self.visits if v.unit_id == unit_id and not v.finished_at), None)

    def add_unit(self, unit: Unit) -> int:
        unit = replace(unit, id=unit.id or self.new_id())
        self.unit_rows.append(unit)
        self.calls.append(("add_unit", unit))
        self._ids += 1
        self.events.append(RecordChanged(unit.id, self._ids))
        return self._ids

    def today(self) -> date:
        return date.today()

    def backups(self) -> Sequence[str]:
        return ("restpoint-daily-2026-03-05.db",)

    def restore(self, name: str) -> None:
        self._changed("restore", name, "")

    def change_unit(self, unit: Unit, reason: str = "") -> None:
        self.unit_rows = [unit if u.id == unit.id else u for u in self.unit_rows]
        self._changed("change_unit", unit, unit.id)

    def add_lot(self, lot: Lot) -> None:
        self.lot_rows.append(replace(lot, id=self.new_id()))
        self._changed("add_lot", lot, "")

    def change_lot(self, lot: Lot) -> None:
        self.lot_rows = [lot if x.id == lot.id else x for x in self.lot_rows]
        self._changed("change_lot", lot, "")

    def lot_states(self) -> dict[str, dict[str, int]]:
        found: dict[str, dict[str, int]] = {}
        for unit in self.unit_rows:
            if unit.lot_id:
                mine = found.setdefault(unit.lot_id, {})
                mine[unit.becomes] = mine.get(unit.becomes, 0) + 1
        return found

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]:
        return [u for u in self.unit_rows if u.lot_id == lot_id]

    def lot_answer(self, lot_id: str) -> LotAnswer:
        return self.lot_answers.get(lot_id, LotAnswer())

    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], reason: str) -> None:
        self.unit_rows = [replace(u, becomes="donor") if u.id == unit.id else u for u in self.unit_rows]
        self.shelf_rows += [replace(p, id=self.new_id()) for p in parts]
        self._changed("give_up", (unit.tag, [p.name for p in parts], reason), unit.id)

    def add_treatment(self, treatment: Treatment, shelf_part_id: str = "") -> None:
        if shelf_part_id:
            self.shelf_rows = [replace(p, count=p.count - (p.id == shelf_part_id)) for p in self.shelf_rows]
        self.treatments.append(replace(treatment, id=self.new_id()))
        self._changed("add_treatment", treatment, treatment.unit_id)

    def photos(self) -> Sequence[str]:
        return self.pictures

    def add_note(self, note: Note, photo: str = "") -> None:
        self.notes.append(replace(note, id=self.new_id()))
        self.photo = photo
        self._changed("add_note", note, note.unit_id)

    def add_shelf_part(self, part: ShelfPart) -> None:
        self.shelf_rows.append(replace(part, id=self.new_id()))
        self._changed("add_shelf_part", part, "")

    def _changed(self, call: str, row: object, unit_id: str) -> None:
        self.calls.append((call, row))
        self.events.append(RecordChanged(unit_id))

    def suspects(self, unit_id: str) -> Sequence[SuspectView]:
        return self.suspect_rows

    def proposal(self, unit_id: str) -> ProposalView | None:
        return self.the_proposal

    def save_sheet(self, sheet: Sheet) -> None:
        self.calls.append(("save_sheet", sheet))
        self.events.append(Said(f"Sheet “{sheet.name}” saved."))

    def write_certificate(self, unit_id: str) -> None:
        self.calls.append(("write_certificate", unit_id))
        self.written[unit_id] = CertificateReady(unit_id, "/tmp/SM-07-04.pdf", "3f2a 91bc 0d47 e1f0")
        self.events.append(self.written[unit_id])

    def certificate(self, unit_id: str) -> CertificateReady | None:
        return self.written.get(unit_id)

    # --- settings ----------------------------------------------------------------------------------------------

    def setting(self, key: str, default: str = "") -> str:
        return self.kept.get(key, default)

    def set_setting(self, key: str, value: str) -> None:
        self.kept[key] = value

    def close(self) -> None:
        self.closed = True


def button(t_ns: int, closed: bool) -> ButtonSignal:
    return ButtonSignal(np.array([t_ns]), np.array([closed]))


def stick(t_ns: object, x: object, y: object) -> StickSignal:
    """A stick at those places; arrays or single values."""
    t, a, b = (np.atleast_1d(v) for v in (t_ns, x, y))
    code = np.zeros(len(t), np.int64)
    return StickSignal(t.astype(np.int64), a.astype(float), b.astype(float), code, code, 0.4, 0.4)


def trigger(t_ns: object, pct: object) -> TriggerSignal:
    t, a = np.atleast_1d(t_ns), np.atleast_1d(pct)
    return TriggerSignal(t.astype(np.int64), a.astype(float), np.zeros(len(t), np.int64), 0.4)


def hat(t_ns: int, direction: int) -> HatSignal:
    return HatSignal(np.array([t_ns]), np.array([direction], np.int8))
