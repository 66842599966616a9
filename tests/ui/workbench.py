"""The real desk, on records in a folder of its own, over a made-up pad; time is moved by hand, and what is asked of it
is noted. Made up is only the edge: what is plugged in, what it reports, the clocks.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from pad import DEVICE, Pad, button, plover, stick

from station.app import paths
from station.app.desk import StationDesk
from station.app.shelf_of_sheets import SheetShelf
from station.bench.types import Choose, Command, Go, MarkByHand, SessionView
from station.checks.types import Assessment, Outcome
from station.records.types import Result, Unit, UnitHistory, Visit
from station.sheets.model import Sheet
from station.sheets.signals import Signal
from station.sources.devices import Appeared, Gone
from station.sources.port import DeviceInfo, Source
from station.ui.window import MainWindow
from tests.records.records_kit import HandClock, open_store

BEGIN = "2026-11-25T09:00:00+00:00"
STEP_S = 0.05


class Sockets:
    """Where devices are plugged in. `sources` are what they open as; another device opens as a pad of its own."""

    def __init__(self) -> None:
        self.seen: list[Appeared | Gone] = []
        self.sources: dict[str, Source] = {}
        self.others: tuple[DeviceInfo, ...] = ()
        self._named: set[tuple[int, int]] = set()

    def take_events(self) -> list[Appeared | Gone]:
        seen, self.seen = self.seen, []
        return seen

    def name_also(self, also: Collection[tuple[int, int]]) -> None:
        """What the person chose shows, and without its problem."""
        for info in self.others:
            if (info.vendor_id, info.product_id) in set(also) - self._named:
                self.seen.append(Appeared(replace(info, problem="")))
        self._named |= set(also)

    def list_others(self, also: Collection[tuple[int, int]]) -> tuple[DeviceInfo, ...]:
        return self.others

    def open(self, info: DeviceInfo, sheet: Sheet) -> Source:
        pad = self.sources.setdefault(info.key, Pad(info))
        if pad.status().state == "ended":
            pad.reopen(info)  # type: ignore[attr-defined]
        return pad

    def follow(self, info: DeviceInfo, sheet: Sheet) -> Source:
        return self.open(info, sheet)

    def close(self) -> None:
        """Nothing to let go of."""


def prepare(folder: Path) -> None:
    """Records without a row and the pad's sheet, to be copied for each test: migrating takes longer than copying."""
    open_store(folder, clock=HandClock(BEGIN)).close()
    SheetShelf(folder / "sheets").save(plover())


class Workbench:
    """See above. `commands` and `calls`: what the window asked for, in order."""

    def __init__(self, prepared: Path | None = None, pad: Source | None = None) -> None:
        """`prepared`: records to begin with a copy of, or the records themselves."""
        folder = paths.records_folder()
        if prepared is None:
            prepare(folder)
        elif prepared != folder:
            shutil.copytree(prepared, folder, dirs_exist_ok=True)
        self.clock = HandClock(BEGIN)
        self.store = open_store(folder, clock=self.clock)
        self.pad = Pad() if pad is None else pad
        self.sockets = Sockets()
        self.sockets.sources[self.pad.info.key] = self.pad
        self.desk = StationDesk(self.store, now=self.clock, plug_in_sample=self._sample, hardware=self.sockets)
        self.commands: list[Command] = []
        self.calls: list[tuple[Any, ...]] = []
        desk = self.desk
        for port, names in (
            (desk.visit, ("start",)),
            (desk.devices, ("plug_in_sample",)),
            (desk.teaching, ("begin", "press", "answer", "save_taught")),
            (desk.units, ("add", "change", "treat", "note")),
            (desk.stock, ("add_lot", "change_lot", "add_part", "give_up")),
            (desk.certificates, ("write_certificate",)),
            (desk.sheets, ("save_sheet",)),
            (desk.upkeep, ("restore",)),
        ):
            for name in names:
                _overhear(port, name, lambda *call: self.calls.append(call))
        _overhear(desk.visit, "do", lambda _, command: self.commands.append(command))

    def _sample(self, tag: str) -> Pad:
        return Pad(replace(DEVICE, key=f"simulated:{tag}", serial=f"SIM-{tag}", bus="simulated"))

    def close(self) -> None:
        self.desk.close()

    # --- time and reports --------------------------------------------------------------------------------

    def advance(self, ms: float) -> None:
        """Time goes on, in steps as short as the bench's own."""
        while ms > 0:
            step = min(ms, 1e3 * STEP_S)
            self.desk.advance(step * 1e-3)
            self.desk.live.follow()
            ms -= step

    @property
    def now_ns(self) -> int:
        return self.pad.now_ns()

    def feed(self, **signals: Signal) -> None:
        """These controls report; taken by the next tick."""
        self.pad.feed(**signals)  # type: ignore[attr-defined]

    def settle(self, window: MainWindow) -> None:
        """Let all that was asked for be done and drawn."""
        quiet = 0
        while quiet < 2:
            self.desk.settle()
            self.desk.advance(0.0)
            window.tick()
            self.desk.settle()
            quiet = 0 if self.desk._told or self.sockets.seen else quiet + 1

    @contextmanager
    def held(self) -> Iterator[None]:
        """The desk's worker is busy with something else meanwhile."""
        go_on = threading.Event()
        self.desk._worker.submit(lambda: go_on.wait(20.0) and None)
        yield
        go_on.set()

    def idle(self) -> None:
        """Let all that was asked for be done, with nobody at the window."""
        for _ in range(3):
            self.desk.settle()
            self.desk.advance(0.0)
            self.desk.live.take_events()

    # --- plugging in -------------------------------------------------------------------------------------

    def plug_in(self, info: DeviceInfo | None = None) -> None:
        """The pad, or another device, is plugged in."""
        self.sockets.seen.append(Appeared(info or self.pad.info))

    def unplug(self) -> None:
        self.pad.unplug()  # type: ignore[attr-defined]
        self.sockets.seen.append(Gone(self.pad.info))

    # --- a visit -----------------------------------------------------------------------------------------

    def session(self) -> SessionView:
        view = self.desk.visit.session()
        assert view is not None
        return view

    def begin(self, window: MainWindow, unit: Unit, kind: str = "intake", check: str = "rest") -> None:
        """The pad is plugged in as that unit, a visit of it begins, with that check of the left stick current."""
        self.plug_in()
        self.settle(window)
        self.desk.visit.start(unit.id, self.pad.info, kind)
        self.settle(window)
        window.arrival.dismiss()
        self.go_to(check, "left_stick")
        self.settle(window)
        self.commands.clear()
        self.calls.clear()

    def index_of(self, check: str, control: str = "") -> int:
        steps = [(v.step.check, v.step.control) for v in self.session().steps]
        return steps.index((check, control))

    def go_to(self, check: str, control: str = "") -> None:
        """Make that step the current one."""
        self._do(Choose(self.index_of(check, control)))

    def run(self, check: str, control: str = "") -> None:
        """Make that step the current one and start it."""
        self.go_to(check, control)
        self._do(Go())

    def mark(self, outcome: Outcome) -> None:
        """The current step is set by hand; the next one is current."""
        self._do(MarkByHand(outcome, "seen"))

    def _do(self, command: Command) -> None:
        """As the person would, but not noted."""
        noted = len(self.commands)
        self.desk.visit.do(command)
        del self.commands[noted:]
        self.advance(1)

    def press(self, control: str, times: int) -> None:
        """A button is pressed and let go, each for an eighth of a second."""
        for closed in (*(True, False) * times,):
            self.feed(**{control: button(self.now_ns + 1, closed)})
            self.advance(125)

    def flick(self, control: str, *places: tuple[float, float]) -> None:
        """A stick is pushed to each place and let go."""
        for x, y in places:
            for at in ((x, y), (0.0, 0.0)):
                t = self.now_ns + np.arange(1, 401) * 1_000_000
                self.feed(**{control: stick(t, np.full(400, at[0]), np.full(400, at[1]))})
                self.advance(400)

    def rest_at(self, control: str, x_pct: float) -> None:
        """The rest check of a stick that is flicked to both sides and lies there."""
        self.run("rest", control)
        index = self.index_of("rest", control)
        for at, ticks in ((-100.0, 150), (x_pct, 600), (100.0, 150)):
            t = self.now_ns + np.arange(1, ticks + 1) * 1_000_000
            self.feed(**{control: stick(t, np.full(ticks, at), np.zeros(ticks))})
            self.advance(ticks)
        for _ in range(200):
            t = self.now_ns + np.arange(1, 51) * 1_000_000
            self.feed(**{control: stick(t, np.full(50, x_pct), np.zeros(50))})
            self.advance(50)
            view = self.session()
            if view.current != index or not view.running:
                return
        raise AssertionError(f"the rest check never ended: {self.session().progress}")

    def history(self) -> UnitHistory:
        """The record of the unit that was written up first."""
        return self.store.history(self.store.units()[-1].id)

    # --- records -----------------------------------------------------------------------------------------

    def past_visit(
        self, unit: Unit, kind: str, results: Mapping[tuple[str, str], Assessment], treatment_id: str | None = None
    ) -> Visit:
        """A visit that was made before, with these results."""
        visit = self.store.start_visit(unit.id, kind, treatment_id=treatment_id)
        for (check, control), assessment in results.items():
            self.result(visit, check, control, assessment)
        return self.store.finish_visit(visit.id)

    def result(self, visit: Visit, check: str, control: str, assessment: Assessment) -> None:
        """A result of a visit, as the records keep it."""
        self.store.add_result(Result("", visit.id, check, control, 0, "", assessment))


def _overhear(port: object, name: str, note: Callable[..., object]) -> None:
    real = getattr(port, name)

    def heard(*args: Any, **named: Any) -> Any:
        note(name, *args, *named.values())
        return real(*args, **named)

    setattr(port, name, heard)
