"""What the window does when something happened: draw it, sound it, say it."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence

from PySide6.QtGui import QGuiApplication

from station.bench.types import (
    AgainPlease,
    Beat,
    Fault,
    Noticed,
    ResultCommitted,
    SourceBack,
    SourceLost,
    VisitFinished,
    VisitStarted,
)
from station.checks.types import Outcome
from station.records.types import Result
from station.ui.bench import BenchRoom
from station.ui.frame import Frame, Shown
from station.ui.keys import ViewName
from station.ui.lots.room import LotsRoom
from station.ui.ports import (
    AloneEnded,
    CertificateReady,
    DeskEvent,
    DeviceAppeared,
    DeviceGone,
    LabelsReady,
    OfferReady,
    PadMoved,
    PlanMade,
    RecordChanged,
    Said,
    SheetLearned,
    SilentListed,
    SpreadsheetRead,
    TroubleOver,
    Undoable,
)
from station.ui.settings import SettingsRoom
from station.ui.sound import Sound
from station.ui.undo import UndoRoom
from station.ui.views import View
from station.words import common, grammar, labels, listing, told
from station.words import window as words
from station.words.grammar import sentence_start, spoken_name


class Events:
    """Takes the desk's events in order."""

    def __init__(
        self,
        frame: Frame,
        shown: Shown,
        sound: Sound,
        bench: BenchRoom,
        views: Mapping[ViewName, View],
        undo: UndoRoom,
        lots: LotsRoom,
        settings: SettingsRoom,
    ) -> None:
        self._frame, self._shown, self._sound, self._bench, self._views = frame, shown, sound, bench, views
        self._undo, self._lots, self._settings = undo, lots, settings

    def take(self, events: Sequence[DeskEvent]) -> None:
        """A frame's events; the record is drawn once, after the last of them."""
        with self._bench.drawn_once():
            for event in events:
                self._take(event)
                self._settings.told(event)
                for view in self._views.values():
                    view.told(event)

    def _came_to(self, result: Result) -> str:
        """ "Left stick, at rest: fail. Left stick rests 10.2 % off centre." """
        steps = self._shown.session.steps if self._shown.session is not None else ()
        at = (result.check, result.control)
        step = next((v.step for v in steps if (v.step.check, v.step.control) == at), None)
        control = step.control_name if step is not None else result.control
        check = spoken_name(step.title) if step is not None else result.check
        outcome = common.OUTCOMES[result.assessment.outcome.value]
        found = " ".join(finding.text for finding in result.assessment.findings)
        said = told.CAME_TO_WITH_FINDINGS if found else told.CAME_TO
        control = control or sentence_start(common.WHOLE_UNIT)
        return said.format(control=control, check=check, outcome=outcome, findings=found)

    def _take(self, event: DeskEvent) -> None:
        frame, sound, bench = self._frame, self._sound, self._bench
        match event:
            case Beat(at_ns=at_ns):
                self._shown.beat_ns = at_ns
                sound.play("beat")
            case ResultCommitted(result=result):
                frame.answered("storing")
                frame.answered("key")
                self._shown.ended_s = time.monotonic()
                sound.play("fail" if result.assessment.outcome is Outcome.FAIL else "done")
                frame.announce(self._came_to(result), urgent=result.assessment.outcome is Outcome.FAIL)
                bench.draw_record()
            case AgainPlease(text=text):
                self._shown.ended_s = time.monotonic()
                sound.play("again")
                frame.announce(told.AGAIN.format(reason=text), urgent=True)
            case SourceLost(message=text):
                frame.say(text, bad=True, about="device")
                sound.play("again")
            case SourceBack():
                frame.say(words.UNIT_BACK)
            case VisitStarted() | VisitFinished():
                frame.answered("device")
                frame.answered("key")
                bench.draw_record()
            case TroubleOver():
                frame.answered("opening")
            case Fault(message=text):
                frame.say(text, bad=True, about="storing")
            case Noticed(message=text):
                frame.say(text)
            case Said(text=text, bad=bad, answers=answers, about=about):
                if bad:
                    bench.refused(answers)
                frame.say(text, bad, about or ("call" if answers else ""))
            case CertificateReady(path=path, problem="", key=key, note=note):
                written = words.CERTIFICATE_WRITTEN.format(path=path, key=key)
                frame.say(_noted(written, note), bad=bool(note))
                bench.draw_record()
            case CertificateReady(path=path, problem=problem, note=note):
                written = words.CERTIFICATE_NOT_SIGNED.format(problem=problem, path=path)
                frame.say(_noted(written, note), bad=True)
                bench.draw_record()
            case OfferReady(text=text, note=note):
                QGuiApplication.clipboard().setText(text)
                frame.say(_noted(listing.COPIED, note), bad=bool(note))
            case LabelsReady(path=path, count=count):
                frame.say(labels.READY.format(labels=grammar.count_of(count, labels.COUNT), path=path))
                frame.show_file(path)
            case SheetLearned(name=name, path=path):
                bench.taught()
                frame.say(words.SHEET_IN_FORCE.format(sheet=name, path=path))
            case SilentListed():
                bench.silent_listed(event)
            case PlanMade():
                self._lots.plan_made(event)
            case SpreadsheetRead():
                self._lots.spreadsheet_read(event)
            case RecordChanged(unit_id=unit_id, answers=answers):
                bench.record_changed(unit_id, answers)
            case Undoable():
                self._undo.told(event)
            case AloneEnded(text=text, bad=bad):
                frame.say(text, bad)
                sound.play("again" if bad else "done")
            case DeviceAppeared():
                frame.answered("key")
                self._settings.step_aside()
                bench.appeared(event)
            case DeviceGone(device=device):
                bench.gone(device)
            case PadMoved(device=device):
                bench.moved(device)
            case _:
                pass


def _noted(written: str, note: str) -> str:
    """What had to be left out of a certificate comes before where it is."""
    return words.CERTIFICATE_WITH_NOTE.format(note=note, written=written) if note else written
