"""The large card of the current step: what to do now, how far along, what would end it. Readable from arm's length."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from station.bench.counted import counts_of, was_skipped
from station.bench.types import PlannedVisit, SessionView, StepView
from station.checks.ask import LOOK, STOP
from station.checks.looks import LOOKS
from station.checks.registry import describe
from station.checks.said import cannot_be_seen, reading_name, remarks, value_text
from station.checks.types import Outcome, Prompt, Reading
from station.diagnosis.hazards import STEPS
from station.errors import InputError
from station.judgement.tries import Key
from station.records.types import FIRST_LOOK
from station.ui.checklist.last_results import LastResults
from station.ui.checklist.reading_rows import BeatDots, ReadingLines
from station.ui.checklist.rows import failing_first, shape_of
from station.ui.painting.hazards import Cautions, HazardBox
from station.ui.painting.hints import KeyHints
from station.ui.painting.look import Look, color
from station.ui.painting.opens import Opens
from station.ui.painting.shapes import CAUTION, RUNNING, Shape, draw_shape
from station.ui.painting.widgets import plain_label, set_role
from station.words import checklist as words
from station.words import checks, claims, common, told, unseen
from station.words.figures import no_break
from station.words.grammar import count_of, listed, sentence_start, spoken_name

_METER_KEYS = (
    Qt.Key.Key_Backspace,
    Qt.Key.Key_Delete,
    Qt.Key.Key_Left,
    Qt.Key.Key_Right,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
    Qt.Key.Key_Tab,
    Qt.Key.Key_Backtab,
)


MOST_SHOWN = 20
NAMED = 2
"""so many controls are named on the card, more are counted"""


class MeterEdit(QLineEdit):
    """A field for a meter's figure. Every key that is no part of a figure goes on to the window."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if (event.text() and event.text() in "0123456789.,-") or (event.key() in _METER_KEYS and self.text()):
            super().keyPressEvent(event)
        else:
            event.ignore()

    def value(self) -> float | None:
        """The figure typed in; None where nothing is. InputError when it is no figure."""
        if not self.text():
            return None
        try:
            value = float(self.text().replace(",", "."))
        except ValueError:
            value = math.inf
        if not math.isfinite(value):
            raise InputError(words.NO_FIGURE.format(text=_shortened(self.text())))
        return value


def _shortened(text: str) -> str:
    return text if len(text) <= MOST_SHOWN else words.CUT.format(text=text[:MOST_SHOWN])


class StepCard(QFrame):
    """Card of the current step. `set_session` on news, `flash` every frame while there are beats.

    Signals: `look_wanted(tuple)`: readings, or what ended before, were opened: the check and its control.
    """

    look_wanted = Signal(tuple)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self._look = look
        self._share = 0.0
        self._shape: Shape | None = None
        self.title = plain_label("", "accent", wrap=True)
        self.control = plain_label("", "control", wrap=True)
        self.do = plain_label("", "do", wrap=True)
        self.hint = plain_label("", "dim", wrap=True)
        self.beats = BeatDots(look)
        self.readings = ReadingLines(look)
        self.counts = plain_label("", "dim", wrap=True)
        self.remarks = plain_label("", "dim", wrap=True)
        self.missing = plain_label("", "bold", wrap=True)
        self.before = LastResults(look)
        self.before.look_wanted.connect(self.look_wanted)
        Opens(self.readings, self._look_behind)
        self._set_done(None)
        self.keys = KeyHints("", look, where="bench")
        self.hazards = HazardBox(look)
        self._cautions = Cautions(lambda what: ())
        self._cautioned: tuple[str, str] | None = None
        """the visit and the step whose hazards stand there"""
        self.meters: dict[str, MeterEdit] = {}
        self._meter_row = QWidget()
        self._meter_box = QHBoxLayout(self._meter_row)
        self._meter_box.setContentsMargins(0, 0, 0, 0)
        self._meter_step: StepView | None = None
        self._box = QVBoxLayout(self)
        for label in (self.title, self.control, self.do, self.hint):
            self._box.addWidget(label)
        for part in (self._meter_row, self.beats, self.readings):
            self._box.addWidget(part)
        for part in (self.counts, self.remarks, self.missing):
            self._box.addWidget(part)
        self._box.addWidget(self.before)
        self._box.addWidget(self.keys)
        self._box.addWidget(self.hazards)  # last: its whole text must not push away what is to be filled in
        self._space()

    def set_cautions(self, cautions: Cautions) -> None:
        """Where to look up what can hurt in a step."""
        self._cautions = cautions

    def toggle_hazards(self) -> bool:
        """Read out what can hurt, or less of it; False where nothing does, or where the card has no room for it."""
        if self.hazards.isHidden() or self.hazards.is_cut:
            return False
        self.hazards.toggle()
        return True

    def shorten_hazards(self, width: int, most: int) -> None:
        """Leave as much of the text of what can hurt as a card of this width needs to be no taller than `most`, px."""
        margins = self._box.contentsMargins()
        inner = width - margins.left() - margins.right() - 2 * self.frameWidth()
        parts = (item.widget() for k in range(self._box.count()) if (item := self._box.itemAt(k)) is not None)
        shown = (part for part in parts if part is not None and part is not self.hazards and not part.isHidden())
        tall = [_tall(part, inner) for part in shown]
        others = sum(tall) + len(tall) * self._box.spacing() + margins.top() + margins.bottom()
        self.hazards.shorten(inner, most - others)

    @property
    def cautioned(self) -> str:
        """The step of the bench whose hazards stand there, "" for none."""
        return self._cautioned[1] if self._cautioned is not None and not self.hazards.isHidden() else ""

    def _caution(self, visit: str, step: str) -> None:
        """What can hurt in a step of the bench ("": nothing), in full the first time of a visit."""
        if (visit, step) != self._cautioned:
            self._cautioned = visit, step
            hazards = tuple(self._cautions.of(step)) if step in STEPS else ()
            self.hazards.set_hazards(hazards, in_full=bool(hazards) and self._cautions.are_new(hazards))

    def set_look(self, look: Look) -> None:
        self._look = look
        self.hazards.set_look(look)
        self.beats.set_look(look)
        self.readings.set_look(look)
        self.keys.set_look(look)
        self.before.set_look(look)
        self._space()

    def _space(self) -> None:
        pad = self._look.px(16)
        self._box.setContentsMargins(pad, self._look.px(10), pad, self._look.px(12))
        self._box.setSpacing(self._look.px(4))

    def set_tight(self, tight: bool) -> None:
        """In a low window the large words are smaller."""
        set_role(self.control, "title" if tight else "control")
        set_role(self.do, "" if tight else "do")

    # --- what is shown -----------------------------------------------------------------------------

    def set_session(self, session: SessionView | None, idle: tuple[str, str, str, str]) -> None:
        """Show the current step; without a visit the four lines of `idle`: title, headline, what to do, keys."""
        if session is None:
            self._say(*idle)
        elif session.finished or not 0 <= session.current < len(session.steps):
            self._show_end(session)
        else:
            self._show_step(session, session.steps[session.current])
        self.beats.setVisible(self._wants_beats(session))
        name = told.STEP.format(control=self.control.text(), check=self.title.text())
        if name != self.accessibleName():
            self.setAccessibleName(name)
            self.setAccessibleDescription(self.do.text())

    def say_plan(self, plan: PlannedVisit) -> None:
        """How much the next visit asks, below what is said without one."""
        counts = counts_of(plan.steps)
        kind, checks = common.VISIT_KINDS[plan.kind], count_of(counts.asked, words.CHECKS)
        open_ = words.PLAN_LEFT.format(kind=kind, checks=checks, left=counts.left)
        self._put(self.counts, open_ if counts.left < counts.asked else words.PLAN.format(kind=kind, checks=checks))

    def say_ended(self, session: SessionView, ended: Sequence[int]) -> None:
        """What the steps that ended last came to; one that the card itself shows is left out."""
        own = session.current if not session.running else -1
        self.before.show_steps([session.steps[k] for k in ended if k != own])

    def _set_done(self, key: Key | None) -> None:
        """Whose reports the readings open; those of a check that runs open nothing yet."""
        self._done = key
        self.readings.setFocusPolicy(Qt.FocusPolicy.NoFocus if key is None else Qt.FocusPolicy.TabFocus)
        self.readings.setCursor(Qt.CursorShape.ArrowCursor if key is None else Qt.CursorShape.PointingHandCursor)

    def _look_behind(self) -> None:
        if self._done is not None:
            self.look_wanted.emit(self._done)

    def flash(self, session: SessionView | None, share: float) -> None:
        """Beats and the flash of the one called for now (1 at the beat, falling to 0)."""
        if self._wants_beats(session) and session is not None:
            self.beats.set_beats(session.beats, share)

    def figures(self) -> dict[str, float]:
        """What was typed into the meter fields."""
        return {name: value for name, field in self.meters.items() if (value := field.value()) is not None}

    def _wants_beats(self, session: SessionView | None) -> bool:
        return bool(session and session.prompt and session.prompt.beats_per_minute and not session.finished)

    def _say(self, title: str, headline: str, do: str, keys: str) -> None:
        self._set_meters(None)
        self._set_done(None)
        self.title.setText(title)
        self.control.setText(headline)
        self._put(self.do, do)
        for part in (self.hint, self.counts, self.remarks, self.missing):
            self._put(part, "")
        self.before.show_steps(())
        self.readings.set_readings("", ())
        self._put(self.keys, _together(keys))
        self._caution("", "")
        self._set_share(0.0, None)
        self._set_away(False)

    def _show_end(self, session: SessionView) -> None:
        self._say(
            _kind(session),
            words.VISIT_FINISHED,
            _counts(session) or words.NO_CHECK_MADE,
            words.KEYS_FINISHED,
        )
        self._put(self.hint, _saw_not(session))
        self._put(self.missing, _of_claim(session))
        set_role(self.missing, "bold")

    def _show_all_done(self, session: SessionView, prompt: Prompt) -> None:
        """Nothing is left to do: one key ends the visit."""
        ends = session.begins
        self._say(
            _kind(session),
            prompt.title,
            words.ENDS_BY_ITSELF if ends else prompt.do,
            words.KEYS_ENDS if ends else words.KEYS_ALL_DONE,
        )
        self._put(self.hint, _saw_not(session))
        self._put(self.missing, "\n".join(filter(None, (_of_claim(session), _counts(session)))))
        set_role(self.missing, "bold")

    def _show_step(self, session: SessionView, view: StepView) -> None:
        prompt, progress = session.prompt, session.progress
        if prompt is not None and prompt.title != view.step.title and all(v.state == "done" for v in session.steps):
            return self._show_all_done(session, prompt)
        away = session.device != "live"
        self.title.setText(prompt.title if prompt else view.step.title)
        self.control.setText(_whose(session, view))
        stands = away and _stands(session, view)
        told = session.message or words.UNIT_AWAY
        self._put(self.do, told if away and not stands else _stopped(view) or _do(session, view))
        hint = "" if away or prompt is None else _hint(session, view, prompt)
        self._put(self.hint, words.ASKED_WHILE_AWAY.format(away=told) if stands else hint)
        self._caution(session.visit.id, view.step.check)
        self._set_meters(view)
        done = view.assessment if view.assessment is not None and not session.running else None
        self._set_done((view.step.check, view.step.control) if done is not None else None)
        if session.running and progress is not None:
            self.readings.set_readings(view.step.check, failing_first(progress.readings), running=True)
            self._put(self.counts, _reported(view.step.check, progress.readings))
        else:
            self.readings.set_readings(view.step.check, failing_first(done.readings) if done is not None else ())
            self._put(self.counts, "")
        said = remarks(view.step.check, done) if done is not None else ()
        self._put(self.remarks, no_break("\n".join(map(sentence_start, said))))
        self._show_missing(session, view)
        self._put(self.keys, _together(_keys(session, view)))
        shape: Shape | None = RUNNING if session.running else (shape_of(view) if view.state == "done" else None)
        self._set_share(progress.share if session.running and progress else 0.0, CAUTION if away else shape)
        self._set_away(away)
        return None

    def _show_missing(self, session: SessionView, view: StepView) -> None:
        text, role = "", "bold"
        if session.again:
            text, role = sentence_start(session.again), "borderline"
        elif session.running and session.progress is not None:
            text = sentence_start(session.progress.missing)
            role = "good" if session.progress.complete else "bold"
            text = text or (words.COMPLETE if session.progress.complete else "")
            if session.beats and session.beats[-1].state == "count-in":
                text, role = words.COUNTING_IN, "bold"
        elif view.state == "done":
            text = _came_to(view)
            role = {Outcome.PASS: "good", Outcome.FAIL: "bad"}.get(view.outcome, "borderline")
        set_role(self.missing, role)
        self._put(self.missing, text)

    def _put(self, label: QLabel, text: str) -> None:
        if label.text() != text:
            label.setText(text)
        label.setVisible(bool(text))

    def _set_share(self, share: float, shape: Shape | None) -> None:
        if (share, shape) != (self._share, self._shape):
            self._share, self._shape = share, shape
            self.update()

    def _set_away(self, away: bool) -> None:
        """The frame tells that the device is away."""
        if bool(self.property("away")) != away:
            self.setProperty("away", away)
            self.style().unpolish(self)
            self.style().polish(self)

    def _set_meters(self, view: StepView | None) -> None:
        """Fields for the meter's figures while an ask that wants them is current."""
        step = view.step if view is not None else None
        if step == (self._meter_step.step if self._meter_step else None):
            return
        self._meter_step = view
        for part in self._meter_row.findChildren(QWidget):
            self._meter_box.removeWidget(part)
            part.hide()
            part.deleteLater()
        self.meters = {}
        for unit in step.meter if step is not None else ():
            field = MeterEdit()
            field.setAccessibleName(words.METER.format(unit=unit))
            field.setMaximumWidth(self._look.px(96))
            self.meters[unit] = field
            self._meter_box.addWidget(field)
            self._meter_box.addWidget(plain_label(unit, "bold"))
        self._meter_row.setVisible(bool(self.meters))
        if self.meters:
            self._meter_box.addStretch(1)
            next(iter(self.meters.values())).setFocus()

    # --- painting --------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        if self._share > 0:
            tall = self._look.px(5)
            line = QRectF(3, self.height() - tall - 2, (self.width() - 6) * min(self._share, 1.0), tall)
            painter.fillRect(line, color(self._look.accent))
        if self._shape is not None:
            side = self._look.px(20)
            box = QRectF(self.width() - side - self._look.px(16), self._look.px(13), side, side)
            draw_shape(painter, box, self._shape, self._look, self._look.ground)
        painter.end()


def _tall(part: QWidget, width: int) -> int:
    """What a part of the card needs, px."""
    return part.heightForWidth(width) if part.hasHeightForWidth() else part.sizeHint().height()


def _hint(session: SessionView, view: StepView, prompt: Prompt) -> str:
    """How to do it; of one that is done, what it cannot see."""
    if session.running or view.state != "done" or view.assessment is None:
        return prompt.hint
    what = cannot_be_seen(view.step.check, view.assessment.readings)
    return unseen.CARD.format(what=what) if what else prompt.hint


def _stands(session: SessionView, view: StepView) -> bool:
    """Whether a question is asked that can be answered of a unit that is not plugged in."""
    return session.running and view.step.person_answers and not describe(view.step.check).motors


def _stopped(view: StepView) -> str:
    """What the look over the unit saw that keeps it from being worked at; "" for nothing."""
    found = view.assessment.findings if view.assessment is not None and view.step.check == LOOK.name else ()
    sign = next((str((f.params or {}).get("sign", "")) for f in found if f.code == STOP), "")
    return words.STOPPED.format(sign=checks.LOOK_SIGNS.get(sign, sign)) if sign else ""


def _do(session: SessionView, view: StepView) -> str:
    return session.prompt.do if session.prompt is not None else ""


def _whose(session: SessionView, view: StepView) -> str:
    """The control, or all that are worked at the same time, or how many; what goes on from them is not named."""
    together = (session.steps[i].step for i in session.together)
    names = list(dict.fromkeys(step.control_name for step in together if step.check == view.step.check))
    if len(names) > NAMED:
        return count_of(len(names), words.AT_THE_SAME_TIME)
    return (
        sentence_start(listed(list(map(spoken_name, names))))
        if names
        else view.step.control_name or sentence_start(common.WHOLE_UNIT)
    )


def _kind(session: SessionView) -> str:
    return sentence_start(common.VISIT_KINDS[session.visit.kind])


def _of_claim(session: SessionView) -> str:
    """What a first look says of the seller's claim."""
    return claims.AT_FIRST_LOOK[session.claim].format(claim=session.unit.claim) if session.claim else ""


def _saw_not(session: SessionView) -> str:
    """What a first look did not look for; "" for every other visit."""
    return words.FIRST_LOOK_SAW_NOT if session.visit.kind == FIRST_LOOK else ""


def _came_to(view: StepView) -> str:
    """ "fail: never closes · 2 tries"."""
    outcome = words.SKIPPED if was_skipped(view) else common.OUTCOMES[view.outcome.value]
    done = words.OUTCOME_AND_REASON.format(outcome=outcome, reason=view.reason) if view.reason else outcome
    return words.DONE_AFTER.format(done=done, tries=count_of(view.attempts, words.TRIES)) if view.attempts > 1 else done


def _reported(check: str, readings: Sequence[Reading]) -> str:
    """Counts without a limit of their own on one line: "16 beats · 0 missed · 0 split"."""
    counts = [r for r in readings if r.limit is None and r.value is not None and not r.unit]
    said = (words.COUNTED.format(count=value_text(check, r), what=reading_name(check, r.name)) for r in counts)
    return common.DOT.join(said)


def _counts(session: SessionView) -> str:
    """ "32 pass · 1 borderline · 3 fail · 12 not done"."""
    counts = counts_of(session.steps)
    named = (
        (counts.passed, common.OUTCOMES["pass"]),
        (counts.borderline, common.OUTCOMES["borderline"]),
        (counts.failed, common.OUTCOMES["fail"]),
        (counts.skipped, words.SKIPPED),
        (counts.left, common.OUTCOMES["not done"]),
    )
    return common.DOT.join(words.COUNTED.format(count=count, what=what) for count, what in named if count)


def _together(keys: str) -> str:
    """A key and its first word stay on one line."""
    return keys.replace(": ", ":\N{NO-BREAK SPACE}")


def _keys(session: SessionView, view: StepView) -> str:
    """The keys that matter now."""
    if session.waits:
        return words.KEYS_WAITS
    if session.device != "live" and not _stands(session, view):
        return words.KEYS_AWAY
    if session.begins:
        return words.KEYS_BEGINS
    if not session.running and view.step.strength is not None:
        return words.KEYS_DONE_PRESS if view.state == "done" else words.KEYS_TO_DO_PRESS
    if not session.running:
        return words.KEYS_DONE if view.state == "done" else words.KEYS_TO_DO
    if _stopped(view):
        return words.STOPPED_KEYS
    if view.step.person_answers:
        return words.KEYS_ASKED_FIGURES if view.step.meter else words.KEYS_ASKED
    if view.step.check in LOOKS:
        return words.KEYS_RUNNING_LOOK
    beats = session.prompt is not None and session.prompt.beats_per_minute
    return words.KEYS_RUNNING_BEATS if beats else words.KEYS_RUNNING
