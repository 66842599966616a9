"""What the window does while a device is taught: the keys of the lesson, its sounds, what stands where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from station.bench.teaching_types import TeachKey, TeachView
from station.errors import StationError
from station.sources.port import DeviceInfo
from station.ui.arrival import ArrivalStrip
from station.ui.frame import Frame, Shown
from station.ui.panes import BenchPanes, InPlace
from station.ui.ports import DevicePort, SettingsPort, TeachingPort
from station.ui.sound import Sound
from station.ui.teaching.pane import LessonPane
from station.ui.teaching.panels import CountPanel, TaughtPanel
from station.words import desk
from station.words import lessons as words


@dataclass(frozen=True, slots=True)
class TeachParts:
    """The parts of the window that a lesson moves. `middle` holds the checklist and the lesson."""

    lesson: LessonPane
    middle: InPlace
    panes: BenchPanes
    arrival: ArrivalStrip


class TeachRoom:
    """Follows the desk's lesson."""

    def __init__(
        self,
        teaching: TeachingPort,
        devices: DevicePort,
        settings: SettingsPort,
        frame: Frame,
        shown: Shown,
        sound: Sound,
        parts: TeachParts,
        device: Callable[[], DeviceInfo | None],
    ) -> None:
        """`device`: the one on the bench."""
        self._teaching, self._devices, self._settings = teaching, devices, settings
        self._frame, self._shown, self._sound = frame, shown, sound
        self._parts, self._device = parts, device
        self._heard: tuple[object, ...] = ()

    def tick(self) -> None:
        """Once a frame."""
        before = self._shown.lesson
        view = self._shown.lesson = self._teaching.lesson()
        if (before is None) != (view is None):
            self._come_or_go(view is not None)
        if view is None:
            return
        if view.state == "walking" and (self._frame.view_name() != "bench" or self._frame.panel_open()):
            self._teaching.press("pause")  # a prompt that cannot be seen is not asked
        self._parts.lesson.show_lesson(view)
        self._play(view)

    def _come_or_go(self, on: bool) -> None:
        """Room for the prompt while there is a lesson; everything as before when it is over."""
        self._heard = ()
        self._parts.arrival.set_held(on)
        self._parts.panes.set_teaching(on)
        self._parts.middle.show_other(on)
        if on:
            self._frame.say("")
            self._frame.show_view("bench")
        else:
            self._frame.fold()
            self._frame.take_focus()

    def _play(self, view: TeachView) -> None:
        """Each new prompt can be heard, so that the eyes may stay on the unit."""
        now = (view.state, view.round, view.number)
        if now == self._heard:
            return
        self._heard = now
        name = {"walking": "prompt", "away": "again", "answering": "done"}.get(view.state)
        if name:
            self._sound.play(name)

    # --- keys ------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Ask how many controls there are, then begin."""
        say = self._frame.say
        if self._shown.checking:
            say(words.END_CHECK_FIRST, bad=True)
            return
        event = self._parts.arrival.device
        device = event.device if event is not None else self._device()
        if device is None:
            several = len(self._devices.devices()) > 1
            say(words.SEVERAL_DEVICES if several else words.PLUG_IN_FIRST)
        elif device.problem:
            say(device.problem, bad=True)
        elif device.bus == "simulated":
            say(desk.SIMULATED_NOT_TAUGHT)
        else:
            self._frame.open_panel(lambda look, over: CountPanel(self._teaching, self._settings, device, look, over))

    def next(self) -> None:
        """Space and Enter: the one next thing."""
        view = self._shown.lesson
        if view is None:
            return
        if view.state != "answering" or any(d.answer == "again" for d in view.doubts):
            self._press("next")
        elif view.learned is not None and view.learned.sheet.controls:
            self._frame.open_panel(lambda look, over: TaughtPanel(self._teaching, look, over))
        else:
            self._frame.say(words.NOTHING_TO_SAVE, bad=True)

    def again(self) -> None:
        self._press("again")

    def back(self) -> None:
        self._press("back")

    def pause(self) -> None:
        self._press("pause")

    def stop(self) -> None:
        seen = self._shown.lesson.seen if self._shown.lesson is not None else 0
        self._press("stop")
        self._frame.say(words.STOPPED_KEPT if seen else words.STOPPED)

    def _press(self, key: TeachKey) -> None:
        try:
            self._teaching.press(key)
        except StationError as error:
            self._frame.say(str(error), bad=True)

    def first(self) -> None:
        self._answer(1)

    def second(self) -> None:
        self._answer(2)

    def third(self) -> None:
        self._answer(3)

    def _answer(self, number: int) -> None:
        """A digit: the answer of that number for the question that is marked."""
        doubt, view = self._parts.lesson.taught.doubt(), self._shown.lesson
        if view is None or view.state != "answering" or doubt is None or number > len(doubt.options):
            return
        self._teaching.answer(doubt.question.control, doubt.options[number - 1])

    def up(self) -> None:
        self._parts.lesson.taught.choose(-1)

    def down(self) -> None:
        self._parts.lesson.taught.choose(1)

    def page_up(self) -> None:
        self._parts.lesson.taught.scroll_pages(-0.8)

    def page_down(self) -> None:
        self._parts.lesson.taught.scroll_pages(0.8)
