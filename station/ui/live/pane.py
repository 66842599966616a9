"""The Live pane: bearing dials, trigger columns, the time plot of a running stick check, contact strips."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QWidget

from station.bench.types import SessionView, StepView
from station.checks.registry import describe, drawn_on_dial, limits_of_pull
from station.checks.said import limit_text, marked, reading_name, value_text
from station.checks.types import Limits, Plot, Progress, Reading, Shows
from station.judgement.limits import limit
from station.measure.sectors import SECTORS
from station.records.types import UnitHistory
from station.sheets.model import ZONES, Control, Sheet
from station.ui.live.columns import TriggerColumns
from station.ui.live.dial import TRAIL_NS, BearingDial
from station.ui.live.dial_layer import DialLimits, RimView
from station.ui.live.last import LastMeasured
from station.ui.live.strips import ContactStrips, StripRow
from station.ui.live.trace import TracePlot
from station.ui.live.tracks import StateTrack, Tracks
from station.ui.painting.look import Look, color
from station.ui.ports import LiveView
from station.words import live as words
from station.words import readings

LEAST_DIAL_PX = 124
"""least height of the dials with their captions, at 100 %"""


class LivePane(QFrame):
    """Draws what the unit reports now. `set_sheet` when the unit changes, `tick` every frame, `set_session` on news."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("pane")
        self._look = look
        self.tracks = Tracks()
        self._limits: Limits = {}
        self.origin: Callable[[str, Reading], str | None] = lambda check, reading: None
        """where the limit of a reading comes from"""
        self._sheet: Sheet | None = None
        self._step: StepView | None = None
        self._session: SessionView | None = None
        self.dials: dict[str, BearingDial] = {}
        self.columns: TriggerColumns | None = None
        self.strips: ContactStrips | None = None
        self.trace = TracePlot(look, self.tracks.window_ns, self)
        self.trace.hide()
        self.last = LastMeasured(look, self)
        self.last.hide()
        self._record: tuple[UnitHistory | None, Sheet | None] = (None, None)
        self._here = True

    def set_look(self, look: Look) -> None:
        self._look = look
        for part in (*self.dials.values(), self.columns, self.strips, self.trace, self.last):
            if part is not None:
                part.set_look(look)
        self._lay_out()
        self.update()

    def set_sheet(self, sheet: Sheet | None, limits: Limits) -> None:
        """Build the pane for a model; the parts of the one before go."""
        self._sheet, self._limits, self._step = sheet, limits, None
        self.tracks.clear()
        for part in (*self.dials.values(), self.columns, self.strips):
            if part is not None:
                part.hide()
                part.deleteLater()
        self.dials, self.columns, self.strips = {}, None, None
        if sheet is not None:
            self._build(sheet)
        self._cover()

    def set_last(self, history: UnitHistory | None, sheet: Sheet | None) -> None:
        """The record of the unit that is shown; what was measured last stands here while the unit is not."""
        self._record = history, sheet
        self._cover()

    def set_here(self, here: bool) -> None:
        """Whether what is plugged in may be the unit that is shown."""
        if here != self._here:
            self._here = here
            self._cover()

    def _cover(self) -> None:
        """Show what was measured last in the place of what the unit reports, or the other way round."""
        history, sheet = self._record
        covered = history is not None and (self._sheet is None or not self._here)
        if covered and history is not None:
            self.last.show_unit(history, {c.id: c.name for c in sheet.controls} if sheet is not None else {})
        for part in (*self.dials.values(), self.columns, self.strips):
            if part is not None:
                part.setVisible(not covered)
        if covered:
            self.trace.hide()
        self.last.setVisible(covered)
        self._lay_out()

    def _build(self, sheet: Sheet) -> None:
        ordered = [c for zone in ZONES for c in sheet.controls if c.zone == zone]
        sticks = [c for c in sheet.controls if c.kind == "stick"]
        sticks.sort(key=lambda c: {"left hand": 0, "right hand": 2}.get(c.zone, 1))
        triggers = [c for c in sheet.controls if c.kind == "trigger"]
        rows = [StripRow(c.id, c.name, c.kind == "hat") for c in ordered if c.kind in ("button", "hat")]
        for stick in sticks:
            dial = BearingDial(stick.name, stick.gate, self._dial_limits(), self._look, self)
            dial.show()
            self.dials[stick.id] = dial
        if triggers:
            self.columns = TriggerColumns([(c.id, c.name) for c in triggers], self._pull_limits(), self._look, self)
            self.columns.show()
        if rows:
            self.strips = ContactStrips(rows, self._look, self.tracks.window_ns, self)
            self.strips.show()

    def _dial_limits(self) -> DialLimits:
        """The rings of a dial: those of the checks that draw on it."""
        return DialLimits(rest=self._ring("rest"), reach=self._ring("sectors"))

    def _ring(self, shows: Shows) -> tuple[float, float]:
        check, dial = drawn_on_dial(shows)
        return limit(check, dial.ring, self._limits)

    def _pull_limits(self) -> tuple[float, float]:
        """Most that a trigger may stand at when released, and least of a full pull, %."""
        check, (released, full) = limits_of_pull()
        return limit(check, released, self._limits)[0], limit(check, full, self._limits)[0]

    # --- news ----------------------------------------------------------------------------------------

    def set_session(self, session: SessionView | None) -> None:
        """Take over what the running check has to show."""
        if self._session is not None and session is not None and session.unit.id != self._session.unit.id:
            self._forget_checks()
        self._session = session
        step = None
        if session is not None and 0 <= session.current < len(session.steps):
            step = session.steps[session.current]
        changed = (step.step if step else None) != (self._step.step if self._step else None)
        self._step = step
        control = step.step.control if step else ""
        if self.strips is not None:
            beats = bool(session and session.prompt and session.prompt.beats_per_minute)
            together = session.together if session is not None else ()
            also = frozenset(session.steps[i].step.control for i in together) if session is not None else frozenset()
            self.strips.set_current(control, self._witness(control) if beats else "", beats, also)
        if self.columns is not None:
            self.columns.set_current(control)
        for stick, dial in self.dials.items():
            dial.set_caption(self._caption(stick), stick == control)
        for stick, progress in session.along.items() if session is not None else ():
            if stick in self.dials:
                self._show_marks(self.dials[stick], progress)
        if changed:
            self._choose_trace()

    def _forget_checks(self) -> None:
        for dial in self.dials.values():
            dial.set_rim(None)
            dial.set_settled(())

    def _witness(self, control: str) -> str:
        try:
            return (self._sheet.control(control).twin or "") if self._sheet else ""
        except KeyError:
            return ""

    def _show_marks(self, dial: BearingDial, progress: Progress) -> None:
        seen, reach = progress.marks.get("sectors"), progress.marks.get("sector_reach")
        if seen is not None and reach is not None:
            seen_a, reach_a = np.asarray(seen, np.bool_), np.asarray(reach, np.float64)
            if seen_a.shape == reach_a.shape == (SECTORS,):
                dial.set_rim(RimView(seen_a, reach_a))
        settled = progress.marks.get("settle_points")
        if settled is not None:
            points = np.asarray(settled, np.float64).reshape(-1, 2)
            dial.set_settled([(float(x), float(y)) for x, y in points])

    def _caption(self, stick: str) -> str:
        """The last measured offset of a stick against its limit; what it does now if it was not measured."""
        check, dial = drawn_on_dial("rest")
        for view in self._session.steps if self._session else ():
            if view.step.control == stick and view.step.check == check and view.assessment is not None:
                for reading in view.assessment.readings:
                    if reading.name == dial.reading and reading.value is not None:
                        return _measured(check, reading, self.origin(check, reading))
        return words.NOT_MEASURED_YET

    # --- every frame -----------------------------------------------------------------------------------

    def tick(self, live: LiveView) -> None:
        """Take one tick's reports; draw only what is visible."""
        self.tracks.take(live.now_ns, live.signals, live.reports)
        if not self.isVisible():
            return
        for control, dial in self.dials.items():
            track = self.tracks.value(control)
            if track is not None and dial.isVisible():
                dial.show_point(track.now, track.since(live.now_ns - TRAIL_NS))
        if self.columns is not None:
            self.columns.set_values({c: self._pull(c) for c, _ in self.columns.names})
        if self.strips is not None and self.strips.isVisible():
            shown: dict[str, StateTrack] = {}
            for row in self.strips.rows:
                state = self.tracks.state(row.control)
                if state is not None:
                    shown[row.control] = state
            self.strips.show_now(live.now_ns, shown, self._session.beats if self._session else ())
        if self.trace.isVisible():
            self._tick_trace(live.now_ns)

    def _pull(self, control: str) -> float | None:
        track = self.tracks.value(control)
        return track.now[0] if track is not None and track.now is not None else None

    def _tick_trace(self, now_ns: int) -> None:
        if self._step is None:
            return
        track = self.tracks.value(self._step.step.control)
        if track is not None:
            stick = self._step.step.control in self.dials
            self.trace.show_now(now_ns, track.since(now_ns - self.tracks.window_ns), stick)

    def _choose_trace(self) -> None:
        """Show the time plot while a check of an axis is current."""
        step = self._step.step if self._step else None
        control = self._control(step.control) if step else None
        shown = step is not None and control is not None and describe(step.check).plot is not None
        if shown and step is not None:
            self.trace.set_subject(step.control_name, *self._trace_scale(step.check))
        if shown != self.trace.isVisibleTo(self):
            self.trace.setVisible(shown)
            self._lay_out()

    def _trace_scale(self, check: str) -> tuple[tuple[float, ...], tuple[float, float]]:
        """(limit lines, range of the value axis) in %."""
        about = describe(check)
        plot, limits = about.plot or Plot(), {name: limit(check, name, self._limits) for name in about.limits}
        return plot.lines(limits), plot.span(limits)

    def _control(self, control: str) -> Control | None:
        return next((c for c in self._sheet.controls if c.id == control), None) if self._sheet else None

    # --- geometry ------------------------------------------------------------------------------------

    def resizeEvent(self, event: object) -> None:
        self._lay_out()

    def _lay_out(self) -> None:
        pad = self._look.px(14)
        left, top, wide, tall = pad, pad // 2, self.width() - 2 * pad, self.height() - pad - pad // 2
        self.last.setGeometry(left, top + pad // 2, wide, max(tall - pad // 2, 0))
        trace = self.trace.isVisibleTo(self)
        trace_tall = min(self._look.px(150), tall // 4) if trace else 0
        upper = self._dials_height(wide, tall - trace_tall)
        self._lay_out_dials(left, top, wide, upper)
        y = top + upper
        if trace:
            self.trace.setGeometry(left, y, wide, trace_tall)
            y += trace_tall
        if self.strips is not None:
            self.strips.setGeometry(left, y + pad // 2, wide, max(top + tall - y - pad // 2, 0))
            self.trace.set_gutter(self.strips.gutter())

    def _dials_height(self, wide: int, tall: int) -> int:
        """Height for dials and columns: what the strips can spare, at most what the width can use."""
        if not self.dials and self.columns is None:
            return 0
        caption = self._look.px(46)
        beside = self.columns.sizeHint().width() if self.columns is not None else 0
        widest = (wide - beside) // max(len(self.dials), 1) + caption if self.dials else self._look.px(220)
        spare = tall
        if self.strips is not None:
            wished = min(self.strips.wished_height(), int(tall * 0.62))
            spare = tall - max(min(self.strips.least_height(), tall // 2), min(wished, tall - widest))
        return max(min(widest, spare), self._look.px(LEAST_DIAL_PX))

    def _lay_out_dials(self, left: int, top: int, wide: int, tall: int) -> None:
        """Dials in a row, the trigger columns after the first."""
        beside = self.columns.sizeHint().width() if self.columns is not None else 0
        each = (wide - beside) // max(len(self.dials), 1)
        x = left
        for k, dial in enumerate(self.dials.values()):
            dial.setGeometry(x, top, each, tall)
            x += each
            if k == 0 and self.columns is not None:
                self.columns.setGeometry(x, top, beside, tall)
                x += beside
        if not self.dials and self.columns is not None:
            self.columns.setGeometry(left, top, wide, tall)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.last.isVisibleTo(self) and (self._sheet is None or not self._sheet.controls):
            painter = QPainter(self)
            painter.setFont(self._look.font(17))
            painter.setPen(color(self._look.dim))
            text = words.NOT_PLUGGED_IN if self._sheet is None else words.NOT_TAUGHT
            room = self.rect().adjusted(*(k * self._look.px(24) for k in (1, 1, -1, -1)))
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, text)
            painter.end()


def _measured(check: str, reading: Reading, origin: str | None) -> str:
    """A reading below its dial, with its limit if it has one, and where that comes from."""
    name, value = reading_name(check, reading.name), value_text(check, reading)
    if reading.limit is None:
        return readings.REPORTED.format(name=name, value=value)
    return words.MEASURED_WITH_LIMIT.format(name=name, value=value, limit=marked(limit_text(reading), origin))
