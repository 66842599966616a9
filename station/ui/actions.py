"""One method for each key of the table in `keys.py`. They forward to the desk or open a panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from station.bench.types import Again, Answer, Choose, Command, Go, StepView, TakeBack
from station.errors import StationError
from station.records.types import Unit
from station.ui.panels.bench import (
    BackupPanel,
    FindPanel,
    FinishPanel,
    MarkPanel,
    SamplePanel,
    SkipPanel,
    StrengthPanel,
    VisitPanel,
)
from station.ui.panels.donor import DonorPanel
from station.ui.panels.keys import KeysPanel
from station.ui.panels.record import NotePanel, TreatmentPanel, UnitPanel
from station.ui.panels.stock import LotPanel, NewUnitPanel, PartPanel, SheetPanel
from station.ui.tags import by_age, next_tag
from station.ui.visit_kind import proposed_kind
from station.words.figures import money

if TYPE_CHECKING:
    from station.ui.window import MainWindow


class Actions:
    """What the keys and buttons do."""

    def __init__(self, window: MainWindow) -> None:
        self._w = window

    # --- the running visit -----------------------------------------------------------------------------------

    def _do(self, command: Command) -> None:
        if self._w.session is None:
            return
        try:
            self._w.desk.do(command)
        except StationError as error:
            self._w.say(str(error), bad=True)

    def go(self) -> None:
        session, arrival = self._w.session, self._w.arrival
        if arrival.device is not None and (session is None or session.finished):
            if arrival.device.unit is not None:
                arrival.accept()
            else:
                arrival.attend()
        elif self._w.asked() is not None:
            self._w.say("Answer with Y for good or N for not good.")
        else:
            self._do(Go())

    def take_back(self) -> None:
        self._do(TakeBack())

    def again(self) -> None:
        self._do(Again())

    def choose(self, index: int) -> None:
        session = self._w.session
        if session is not None and 0 <= index < len(session.steps) and not session.finished:
            self._do(Choose(index))

    def previous(self) -> None:
        if self._w.session is not None:
            self.choose(self._w.session.current - 1)

    def following(self) -> None:
        if self._w.session is not None:
            self.choose(self._w.session.current + 1)

    def answer_yes(self) -> None:
        self._answer(good=True)

    def no_or_note(self) -> None:
        if self._w.asked() is None:
            self.note()
        else:
            self._answer(good=False)

    def _answer(self, good: bool) -> None:
        if self._w.asked() is None:
            self._w.say("Nothing is asked here: Space starts the check.")
            return
        self._do(Answer("pass" if good else "fail", self._w.checklist.card.figures()))
        self._w.take_focus()

    def mark(self) -> None:
        view = self._step()
        if view is not None:
            self._w.open_panel(MarkPanel(self._w.desk, view, self._w.look, self._w))

    def skip(self) -> None:
        view = self._step()
        if view is not None:
            self._w.open_panel(SkipPanel(self._w.desk, view, self._w.look, self._w))

    def _step(self) -> StepView | None:
        session = self._w.session
        if session is None or session.finished or not 0 <= session.current < len(session.steps):
            return None
        return session.steps[session.current]

    def strength(self) -> None:
        session = self._w.session
        if session is not None and self._step() is not None:
            self._w.open_panel(StrengthPanel(self._w.desk, session, self._w.look, self._w))

    def finish(self) -> None:
        session = self._w.session
        if session is not None and not session.finished:
            self._w.open_panel(FinishPanel(self._w.desk, session, self._w.look, self._w))

    def visit(self) -> None:
        """Start a visit for the unit that is shown, on the device that is there."""
        w = self._w
        event = w.arrival.device
        unit = event.unit if event is not None and event.unit is not None else w.unit
        device = event.device if event is not None else w.events_.device
        if unit is None or device is None:
            w.say("Plug the unit in first; then V starts a visit.")
            return
        if w.session is not None and not w.session.finished:
            w.say("A visit is under way: F ends it.")
            return
        kind = proposed_kind(w.desk.history(unit.id), w.desk.today())

        def start(chosen: str) -> None:
            if event is not None:
                w.arrival.dismiss()
            w.events_.begin(unit, device, chosen)

        w.open_panel(VisitPanel(unit, kind, start, w.look, w))

    # --- the unit's record -----------------------------------------------------------------------------------

    def _unit(self) -> Unit | None:
        if self._w.unit is None:
            self._w.say("No unit is chosen: plug one in, or press U.")
        return self._w.unit

    def treatment(self) -> None:
        w, unit = self._w, self._unit()
        if unit is not None:
            sheet = w.desk.sheet()
            parts = sheet.parts if sheet is not None else ()
            w.open_panel(TreatmentPanel(w.desk, unit, parts, w.desk.proposal(unit.id), w.look, w))

    def note(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._w.open_panel(NotePanel(self._w.desk, unit, self._w.look, self._w))

    def certificate(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._w.say("Writing the certificate …")
            try:
                self._w.desk.write_certificate(unit.id)
            except StationError as error:
                self._w.say(str(error), bad=True)

    def edit(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._w.open_panel(UnitPanel(self._w.desk, unit, self._w.look, self._w))

    def becomes(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._w.open_panel(UnitPanel(self._w.desk, unit, self._w.look, self._w, first="becomes"))

    def all_rows(self) -> None:
        self._w.record.toggle_rows()

    def record_up(self) -> None:
        self._w.record.scroll_pages(-0.6)

    def record_down(self) -> None:
        self._w.record.scroll_pages(0.6)

    def open_unit(self, unit: Unit) -> None:
        """Show a unit's record on the bench view."""
        self._w.events_.choose_unit(unit)
        self._w.show_page(0)

    def find(self) -> None:
        self._w.open_panel(FindPanel(self._w.desk, self.open_unit, self._w.look, self._w))

    def sample(self) -> None:
        w = self._w
        w.open_panel(SamplePanel(w.desk, w.desk.simulated_units(), w.look, w))

    def other(self) -> None:
        self._w.desk.list_silent()

    def backups(self) -> None:
        self._w.open_panel(BackupPanel(self._w.desk, self._w.look, self._w))

    def attend(self) -> None:
        self._w.arrival.attend()

    def save_sheet(self) -> None:
        if self._w.desk.sheet() is None:
            self._w.say("No unit is plugged in: plug one in, then save its sheet.")
        else:
            self._w.open_panel(SheetPanel(self._w.desk, self._w.look, self._w))

    # --- teaching a device -----------------------------------------------------------------------------------

    def teach(self) -> None:
        self._w.teach.begin()

    def teach_next(self) -> None:
        self._w.teach.next()

    def teach_again(self) -> None:
        self._w.teach.press("again")

    def teach_back(self) -> None:
        self._w.teach.press("back")

    def teach_pause(self) -> None:
        self._w.teach.press("pause")

    def teach_stop(self) -> None:
        self._w.teach.press("stop")

    def teach_first(self) -> None:
        self._w.teach.answer(1)

    def teach_second(self) -> None:
        self._w.teach.answer(2)

    def teach_third(self) -> None:
        self._w.teach.answer(3)

    def teach_up(self) -> None:
        self._w.checklist.lesson.choose(-1)

    def teach_down(self) -> None:
        self._w.checklist.lesson.choose(1)

    def teach_page_up(self) -> None:
        self._w.checklist.lesson.scroll_pages(-0.8)

    def teach_page_down(self) -> None:
        self._w.checklist.lesson.scroll_pages(0.8)

    # --- the other views -------------------------------------------------------------------------------------

    def new_lot(self) -> None:
        self._w.open_panel(LotPanel(self._w.desk, self._w.look, self._w))

    def new_unit(self) -> None:
        w = self._w
        lot = w.lots.lot()
        mine = w.desk.units_of_lot(lot.id) if lot is not None else w.desk.units()
        tag = next_tag([u.tag for u in by_age(mine)]) or (f"{lot.name}-01" if lot is not None else "")
        w.open_panel(NewUnitPanel(w.desk, tag, w.desk.lots(), lot, w.look, w))

    def edit_lot(self) -> None:
        lot = self._w.lots.lot()
        if lot is not None:
            self._w.open_panel(LotPanel(self._w.desk, self._w.look, self._w, lot))

    def lot_becomes(self) -> None:
        unit = self._w.lots.unit()
        if unit is None:
            self._w.say("Put the cursor on a unit first: Tab goes through the tables.")
        else:
            self._w.open_panel(UnitPanel(self._w.desk, unit, self._w.look, self._w, first="becomes"))

    def give_up(self) -> None:
        """Offer to make the unit under the cursor a donor, where that is proposed."""
        lots, lot = self._w.lots, self._w.lots.lot()
        proposal = lots.page.donor()
        if proposal is None or lot is None:
            self._w.say("Put the cursor on a unit that is better given up; of any other one B says what it becomes.")
        else:
            gain = money(proposal.gain_minor, lots.page.gain_currency)
            self._w.open_panel(DonorPanel(self._w.desk, proposal, gain, lot.currency, self._w.look, self._w))

    def part_came(self) -> None:
        row, lot = self._w.lots.page.waited(), self._w.lots.lot()
        if row is None or lot is None:
            self._w.say("Put the cursor on a part that a unit waits for.")
        else:
            panel = PartPanel(self._w.desk, self._w.look, self._w, row.part, row.unit.model, lot.currency)
            self._w.open_panel(panel)

    def next_lot_pane(self) -> None:
        self._w.lots.next_pane()

    def search(self) -> None:
        self._w.lots.begin_search()

    def new_part(self) -> None:
        self._w.open_panel(PartPanel(self._w.desk, self._w.look, self._w))

    def show_bench(self) -> None:
        self._w.show_page(0)

    def show_lots(self) -> None:
        self._w.show_page(2)

    def show_shelf(self) -> None:
        self._w.show_page(3)

    def show_due(self) -> None:
        self._w.show_page(4)

    def next_pane(self) -> None:
        self._w.next_pane()

    # --- the window ------------------------------------------------------------------------------------------

    def sound(self) -> None:
        sound = self._w.sound
        sound.on = not sound.on
        self._w.desk.set_setting("sound", "on" if sound.on else "off")
        there = "" if sound.available or not sound.on else "; no output was found"
        self._w.say(f"Sound {'on' if sound.on else 'off'}{there}.")

    def theme(self) -> None:
        following = {"auto": "light", "light": "dark", "dark": "auto"}[self._w.theme]
        self._w.set_theme(following)
        self._w.say({"auto": "As the desktop.", "light": "Light.", "dark": "Dark."}[following])

    def larger(self) -> None:
        self._w.set_scale(1)

    def smaller(self) -> None:
        self._w.set_scale(-1)

    def keys(self) -> None:
        self._w.open_panel(KeysPanel(self._w.look, self._w))

    def escape(self) -> None:
        w = self._w
        if w.foot.message.text():
            w.say("")
        elif w.arrival.device is not None:
            w.arrival.dismiss()
        elif w.view_name() == "lots" and w.lots.search.text():
            w.lots.search.clear()
        elif w.view_name() != "bench":
            w.show_page(0)
        else:
            w.events_.back_to_visit()
        w.take_focus()
