"""What the window does while a device is taught: the keys of the lesson, its sounds, what stands where."""

from __future__ import annotations

from typing import TYPE_CHECKING

from station.bench.teaching_types import TeachKey, TeachView
from station.errors import StationError
from station.ui.teaching.panels import CountPanel, TaughtPanel

if TYPE_CHECKING:
    from station.ui.window import MainWindow


class TeachRoom:
    """Follows the desk's lesson."""

    def __init__(self, window: MainWindow) -> None:
        self._w = window
        self.view: TeachView | None = None
        self._heard: tuple[object, ...] = ()

    @property
    def busy(self) -> bool:
        """A lesson is under way."""
        return self.view is not None

    def tick(self) -> None:
        """Once a frame."""
        w, before = self._w, self.view
        self.view = w.desk.teaching()
        if (before is None) != (self.view is None):
            self._come_or_go()
        if self.view is None:
            return
        if self.view.state == "walking" and (w.view_name() != "bench" or w.panel is not None):
            w.desk.teach("pause")  # a prompt that cannot be seen is not asked
        w.checklist.show_lesson(self.view)
        self._sound(self.view)

    def _come_or_go(self) -> None:
        """Room for the prompt while there is a lesson; everything as before when it is over."""
        w, on = self._w, self.view is not None
        self._heard = ()
        w.arrival.set_held(on)
        w.panes.set_teaching(on)
        if on:
            w.say("")
            w.show_page(0)
        else:
            w.checklist.show_lesson(None)
            w.fold()
            w.take_focus()

    def _sound(self, view: TeachView) -> None:
        """Each new prompt can be heard, so that the eyes may stay on the unit."""
        now = (view.state, view.round, view.number)
        if now == self._heard:
            return
        self._heard = now
        name = {"walking": "prompt", "away": "again", "answering": "done"}.get(view.state)
        if name:
            self._w.sound.play(name)

    # --- keys ------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Ask how many controls there are, then begin."""
        w = self._w
        if w.session is not None and w.session.running:
            w.say("A check is running: end it, then F5 teaches the device.", bad=True)
            return
        event = w.arrival.device
        device = event.device if event is not None else w.events_.active_device()
        if device is None:
            several = len(w.desk.devices()) > 1
            w.say("Several devices are plugged in: leave one." if several else "Plug in the device to be taught first.")
        elif device.problem:
            w.say(device.problem, bad=True)
        elif device.bus == "simulated":
            w.say("A simulated unit does only what a check asks; plug in a device to teach it.")
        else:
            w.open_panel(CountPanel(w.desk, device, w.look, w))

    def press(self, key: TeachKey) -> None:
        seen = self.view.seen if self.view is not None else 0
        self._guarded(key)
        if key == "stop":
            self._w.say("Stopped; what was seen is kept. F5 goes on with it." if seen else "Stopped. F5 begins again.")

    def next(self) -> None:
        """Space and Enter: the one next thing."""
        view = self.view
        if view is None:
            return
        if view.state != "answering" or any(d.answer == "again" for d in view.doubts):
            self._guarded("next")
        elif view.learned is not None and view.learned.sheet.controls:
            self._w.open_panel(TaughtPanel(self._w.desk, self._w.look, self._w))
        else:
            self._w.say("Nothing was learned that could be saved: Esc, then F5 walks again.", bad=True)

    def answer(self, number: int) -> None:
        """A digit: the answer of that number for the question that is marked."""
        lesson = self._w.checklist.lesson
        doubt = lesson.doubt()
        if self.view is None or self.view.state != "answering" or doubt is None or number > len(doubt.options):
            return
        self._w.desk.answer_teaching(doubt.question.control, doubt.options[number - 1])

    def _guarded(self, key: TeachKey) -> None:
        try:
            self._w.desk.teach(key)
        except StationError as error:
            self._w.say(str(error), bad=True)
