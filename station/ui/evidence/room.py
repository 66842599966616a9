"""The keys of the evidence room, and how one comes into it and back."""

from __future__ import annotations

from station.errors import StationError
from station.evidence.laid_over import tries_beside
from station.judgement.tries import Key
from station.ui.evidence.lay_over import LayOverPanel, offered
from station.ui.evidence.rows import Asked, first_to_look_at
from station.ui.evidence.view import EvidenceView
from station.ui.frame import Frame, Shown
from station.ui.ports import AdvicePort, EvidencePort, SheetPort, UnitPort
from station.words import evidence_room as words
from station.words import window

PAN_SHARE, ZOOM = 0.25, 0.5


class EvidenceRoom:
    """Opens what lies behind a result of the unit that is shown."""

    def __init__(
        self,
        looks: EvidencePort,
        units: UnitPort,
        advice: AdvicePort,
        sheets: SheetPort,
        frame: Frame,
        shown: Shown,
        view: EvidenceView,
    ) -> None:
        self._looks = looks
        self._units, self._advice, self._sheets = units, advice, sheets
        self._frame, self._shown, self._view = frame, shown, view

    def open(self) -> None:
        """Of the step that is chosen in the checklist; else of what is worst."""
        session = self._shown.session
        key: Key | None = None
        if session is not None and 0 <= session.current < len(session.steps):
            step = session.steps[session.current].step
            key = (step.check, step.control)
        self.open_at(key)

    def open_at(self, key: Key | None, finding: str = "", result_id: str = "") -> None:
        """The last result at a check of a control, or the one of that id; `finding`: its code, to begin at its
        place."""
        unit = self._shown.unit
        if unit is None:
            self._frame.say(window.NO_UNIT_CHOSEN)
            return
        try:
            history = self._units.history(unit.id)
            sheet = self._sheets.sheet()
            sheet = sheet if sheet is not None and sheet.controls else self._advice.sheet(unit.id)
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return
        names = {c.id: c.name for c in sheet.controls} if sheet is not None else {}
        result = next((r for r in history.results if r.id == result_id), None) or first_to_look_at(history, key)
        if result is None:
            self._frame.say(words.NOTHING_MEASURED)
            return
        codes = [f.code for f in result.assessment.findings]
        asked = Asked(result, finding=codes.index(finding) if finding in codes else -1)
        self._view.open(history, names, asked)
        self._frame.show_view("evidence")

    def freeze(self) -> None:
        """The last seconds of the check that runs, while it goes on."""
        session = self._shown.session
        frozen = self._looks.freeze() if session is not None else None
        if session is None or frozen is None:
            self._frame.say(words.NOTHING_RUNS)
            return
        try:
            history, sheet = self._units.history(session.unit.id), self._sheets.sheet()
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return
        names = {c.id: c.name for c in sheet.controls} if sheet is not None else {}
        self._view.open_frozen(history, names, frozen)
        self._frame.show_view("evidence")

    def _is_frozen(self) -> bool:
        """Says so where what is shown is in no records."""
        if self._view.frozen:
            self._frame.say(words.FROZEN_ALONE)
        return self._view.frozen

    # --- places and pictures -----------------------------------------------------------------------------

    def next_place(self) -> None:
        self._place(1)

    def place_before(self) -> None:
        self._place(-1)

    def _place(self, step: int) -> None:
        evidence = self._view.evidence
        if evidence is None:
            return
        if not evidence.stops:
            self._frame.say(words.NO_PLACES)
            return
        at = self._view.stop + step
        if not -1 <= at < len(evidence.stops):
            self._frame.say(words.LAST_PLACE if step > 0 else words.FIRST_PLACE)
            return
        self._view.go_to(at)

    def next_picture(self) -> None:
        view = self._view
        if view.evidence is None or view.plots is None or view.plots.picture is None:
            return
        pictures = view.evidence.pictures
        view.plots.show_picture(pictures[(pictures.index(view.plots.picture) + 1) % len(pictures)])
        view.tell()

    # --- time --------------------------------------------------------------------------------------------

    def zoom_in(self) -> None:
        self._zoom(ZOOM)

    def zoom_out(self) -> None:
        self._zoom(1.0 / ZOOM)

    def _zoom(self, factor: float) -> None:
        view = self._view
        if view.plots is not None:
            at = view.cursors.both()[view.cursors.active] if view.cursors is not None else None
            view.plots.zoom(factor, at)

    def whole(self) -> None:
        self._view.go_to(-1)

    def earlier(self) -> None:
        if not self._view.course.isHidden():
            self._view.course.move_on(-1)
        elif self._view.plots is not None:
            self._view.plots.pan(-PAN_SHARE)

    def later(self) -> None:
        if not self._view.course.isHidden():
            self._view.course.move_on(1)
        elif self._view.plots is not None:
            self._view.plots.pan(PAN_SHARE)

    # --- cursors -----------------------------------------------------------------------------------------

    def first_cursor(self) -> None:
        self._cursor(0)

    def second_cursor(self) -> None:
        self._cursor(1)

    def _cursor(self, which: int) -> None:
        view = self._view
        if view.plots is None or view.plots.over_time() is None:
            self._frame.say(words.NO_CURSORS_HERE)
            return
        begin, end = view.plots.shown_s()
        view.set_cursor(which, (begin + end) / 2.0)

    def cursor_back(self) -> None:
        self._move(-1)

    def cursor_on(self) -> None:
        self._move(1)

    def _move(self, step: int) -> None:
        """The cursor that was set last, to the report before or after it."""
        view = self._view
        if view.cursors is None or view.evidence is None:
            self._frame.say(words.SET_A_CURSOR)
            return
        active = view.cursors.active
        at = view.cursors.both()[active]
        found = view.evidence.report_beside(0.0 if at is None else at, step)
        view.set_cursor(active, found)

    def no_cursors(self) -> None:
        self._view.cursors = None
        self._view.tell()

    # --- other tries and measures ------------------------------------------------------------------------

    def lay_over(self) -> None:
        """Choose another try at the same check to lay over it; what lies over is taken away. The try under the cursor
        of the list is proposed, else the one before."""
        view = self._view
        if view.result is None or view.history is None or view.evidence is None or self._is_frozen():
            return
        if view.other is not None:
            view.lay_over(None)
            return
        unit = view.history.unit
        try:
            good = self._looks.good_tries(unit.id, view.result.id)
        except StationError as error:
            self._frame.say(str(error), bad=True)
            return
        pointed = view.under_cursor()
        others = offered(tries_beside(view.history, view.result), good, pointed.id if pointed is not None else "")
        if not others:
            self._frame.say(words.NOTHING_TO_LAY_OVER.format(model=unit.model))
            return
        self._frame.open_panel(lambda look, over: LayOverPanel(others, unit, view.lay_over, look, over))

    def course(self) -> None:
        """Readings over the visits of the unit, or back to the evidence."""
        if not self._view.leave_course() and not self._view.show_course():
            self._frame.say(words.NO_COURSE)

    def measure_again(self) -> None:
        if not self._is_frozen():
            self._view.measure_again()

    def keep_picture(self) -> None:
        self._view.keep_picture()
