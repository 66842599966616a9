"""The record of the unit that is shown: drawn anew when it changed, and the keys that write into it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QTimer

from station.bench.work import Work
from station.checks.said import title_on
from station.errors import StationError
from station.judgement.issued import holding
from station.judgement.standing import Standing
from station.judgement.tries import Key
from station.records.types import Unit, UnitHistory
from station.sheets.model import Sheet
from station.ui.frame import Frame, Shown
from station.ui.painting.hazards import Cautions
from station.ui.panels.open_points import CertificatePanel
from station.ui.panels.record import NotePanel, UnitPanel
from station.ui.panels.selling import ComebackPanel, FoundPanel
from station.ui.panels.shop import ShopPanel
from station.ui.panels.treatment import TreatmentPanel, WorkPanel
from station.ui.ports import (
    AdvicePort,
    CertificatePort,
    OptionsPort,
    SettingsPort,
    SheetPort,
    StockPort,
    UnitPort,
    WorkPort,
)
from station.ui.record.pane import RecordPane
from station.ui.record.rows import claim_words
from station.words import selling
from station.words import window as words
from station.words.grammar import sentence_start


class RecordRoom:
    """Reads the unit's record and puts it on the pane."""

    def __init__(
        self,
        units: UnitPort,
        stock: StockPort,
        advice: AdvicePort,
        certificates: CertificatePort,
        sheets: SheetPort,
        settings: SettingsPort,
        options: OptionsPort,
        work: WorkPort,
        cautions: Cautions,
        frame: Frame,
        shown: Shown,
        pane: RecordPane,
        show_last: Callable[[UnitHistory | None, Sheet | None], None],
    ) -> None:
        """`show_last`: show what was measured last of a unit that may not be plugged in."""
        self._show_last = show_last
        self._work, self._cautions = work, cautions
        self.work_begun: Callable[[Unit], None] = lambda unit: None
        self.work_done: Callable[[Unit], None] = lambda unit: None
        self.work_dropped: Callable[[Unit], None] = lambda unit: None
        """what the bench does when a treatment of this unit has begun, when it is done, and when it was dropped"""
        self._noted: tuple[int, str, tuple[str, str]] = (0, "", ("", ""))
        """the number of the answer to the last note, its unit, its words and photo"""
        self._not_kept: dict[str, tuple[str, str]] = {}
        """unit → a note that could not be kept: it stands there again when the next one is begun"""
        self.history: UnitHistory | None = None
        """of the unit that is shown, as it was read last"""
        self._units, self._stock, self._advice, self._certificates = units, stock, advice, certificates
        self._sheets, self._frame, self._shown, self._pane = sheets, frame, shown, pane
        self._settings, self._options = settings, options
        pane.treatment.clicked.connect(self.treatment)
        pane.note.clicked.connect(self.note)
        pane.certificate.clicked.connect(self.write_certificate)

    def draw(self) -> None:
        """Read the unit's record anew and draw it."""
        unit, session, sheet = self._shown.unit, self._shown.session, self._sheets.sheet()
        if unit is None:
            self._pane.show_unit(None, (), None, {}, "")
            self._show_last(None, None)
            return
        try:
            history = self._units.history(unit.id)
            suspects, proposal = self._advice.suspects(unit.id), self._advice.proposal(unit.id)
            grade = self._advice.grade(unit.id)
            sheet = sheet if sheet is not None and sheet.controls else self._advice.sheet(unit.id)
            older, certificate = self._advice.older(unit.id), self._certificates.last_certificate(unit.id)
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return
        on_bench = self._shown.visit_unit()
        running = session.visit.id if session is not None and on_bench is not None and on_bench.id == unit.id else ""
        controls = sheet.controls if sheet is not None else ()
        names, twins = {c.id: c.name for c in controls}, {c.id: c.twin for c in controls if c.twin}
        self._shown.unit, self.history = history.unit, history
        own = self._advice.sheet(unit.id) or sheet
        claim = claim_words(history, own) if own is not None else ""
        self._show_last(history, sheet)
        self._pane.show_unit(history, suspects, proposal, names, running, twins, certificate, older, grade, claim)

    # --- keys ------------------------------------------------------------------------------------------

    def _unit(self) -> Unit | None:
        if self._shown.unit is None:
            self._frame.say(words.NO_UNIT_CHOSEN)
        return self._shown.unit

    def treatment(self) -> None:
        """Begin a treatment, or come back to the one that is under way."""
        unit = self._unit()
        if unit is None:
            return
        work = self._work.of_unit(unit.id)
        if work is not None:
            self.show_work(unit, work)
            return
        self._frame.open_panel(
            lambda look, over: TreatmentPanel(
                self._units,
                self._work,
                self._stock,
                self._advice,
                unit,
                self._cautions,
                lambda: self.work_begun(unit),
                look,
                over,
            )
        )

    def show_work(self, unit: Unit, work: Work) -> None:
        """The clock of what is under way."""
        self._frame.open_panel(
            lambda look, over: WorkPanel(
                self._work,
                unit,
                work,
                self._cautions,
                lambda: self.work_done(unit),
                lambda: self.work_dropped(unit),
                look,
                over,
            )
        )

    def note(self) -> None:
        unit = self._unit()
        if unit is None:
            return
        begun = self._not_kept.pop(unit.id, ("", ""))

        def asked(answers: int, text: str, photo: str) -> None:
            self._noted = answers, unit.id, (text, photo)

        self._frame.open_panel(lambda look, over: NotePanel(self._units, unit, look, over, begun, asked))

    def refused(self, answers: int) -> None:
        """What was asked for with this number could not be kept."""
        asked, unit_id, note = self._noted
        if answers and asked == answers:
            self._not_kept[unit_id] = note

    def write_certificate(self) -> None:
        unit = self._unit()
        if unit is None:
            return
        if self._settings.get("bench").strip():
            self._certify(unit)
        else:
            self._ask_shop(lambda: QTimer.singleShot(0, self._pane, lambda: self._certify(unit)))

    def _certify(self, unit: Unit) -> None:
        """Write it; where it would say incomplete, or take the place of another, or a check runs, ask once."""
        standing, on_bench = self._advice.standing(unit.id), self._shown.visit_unit()
        checking = self._shown.checking and on_bench is not None and on_bench.id == unit.id
        replaces = holding(self._units.history(unit.id))
        if not checking and replaces is None and (standing is None or standing.kind != "incomplete"):
            self._write_certificate(unit)
            return
        sheet = self._advice.sheet(unit.id) or Sheet(unit.model)

        def name_of(key: Key) -> str:
            return sentence_start(title_on(*key, sheet))

        def look_at(key: Key) -> None:
            self._pane.look_wanted.emit(key, "", "")

        self._frame.open_panel(
            lambda look, over: CertificatePanel(
                unit.tag,
                standing,
                checking,
                replaces,
                lambda: self._write_certificate(unit),
                name_of,
                look_at,
                look,
                over,
            )
        )

    def _write_certificate(self, unit: Unit) -> None:
        self._frame.say(words.WRITING_CERTIFICATE)
        self._certificates.write_certificate(unit.id)

    def copy_offer(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._certificates.write_offer(unit.id)

    def _ask_shop(self, then: Callable[[], None]) -> None:
        self._frame.open_panel(lambda look, over: ShopPanel(self._options, then, look, over))

    def edit(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._frame.open_panel(lambda look, over: UnitPanel(self._units, unit, self._standing(unit), look, over))

    def becomes(self) -> None:
        unit = self._unit()
        if unit is not None:
            self._frame.open_panel(
                lambda look, over: UnitPanel(self._units, unit, self._standing(unit), look, over, first="becomes")
            )

    def came_back(self) -> None:
        """The unit came back from its buyer, or what was found of it is known now."""
        if (unit := self._unit()) is not None:
            self.came_back_of(unit)

    def came_back_of(self, unit: Unit) -> None:
        """The same of any unit."""
        history = self._units.history(unit.id)
        if history.unit.becomes == "sold":
            self._frame.open_panel(lambda look, over: ComebackPanel(self._units, history, look, over))
        elif history.comebacks:
            self._frame.open_panel(lambda look, over: FoundPanel(self._units, history, look, over))
        else:
            self._frame.say(selling.NOT_SOLD.format(tag=unit.tag))

    def _standing(self, unit: Unit) -> Callable[[], Standing | None]:
        return lambda: self._advice.standing(unit.id)

    def all_rows(self) -> None:
        self._pane.toggle_rows()
