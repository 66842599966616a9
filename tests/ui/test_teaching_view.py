"""The prompt and the list of a lesson: nothing cut, the next key always in sight, words and not numbers of bits."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import lesson
import pytest
from conftest import UNIT
from lesson import ALL_IN_DOUBT, TWO_IN_DOUBT
from pad import DEVICE, button
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot
from scenes import COUNTS, SCRIPT, walking
from workbench import Workbench

from station.sheets.learn import Ignored
from station.ui.sound import Sound
from station.ui.teaching.panels import CountPanel, TaughtPanel
from station.ui.teaching.said import left_out, sign, sure_words
from station.ui.teaching.taught import DoubtBox
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
Taught = Callable[..., tuple[MainWindow, Workbench]]
SIZES = ((1280, 720, 1.0), (1920, 1080, 1.0), (1280, 720, 2.0), (1280, 720, 1.5), (700, 480, 1.0))


def draw(window: MainWindow) -> None:
    for _ in range(2):
        window.tick()
        QApplication.processEvents()  # layouts are made between frames


def cut(widget: QWidget) -> list[str]:
    """Texts that stand on a widget and have less height than they need, or lie outside of it."""
    found = []
    for label in widget.findChildren(QLabel):
        if label.isVisible() and label.text():
            needed = label.heightForWidth(label.width()) if label.wordWrap() else label.sizeHint().height()
            inside = widget.rect().contains(label.mapTo(widget, label.rect().bottomRight()))
            if label.height() < needed or not inside:
                found.append(label.text())
    return found


def at_size(window: MainWindow, wide: int, tall: int, scale: float) -> None:
    window.scale = scale
    window.resize(wide, tall)
    window.apply_look()


@pytest.fixture
def taught(qtbot: QtBot, prepared: Path) -> Iterator[Taught]:
    """The window on a made-up pad in a hand that leaves steps undone, its lesson over and waiting for answers."""
    made: list[Workbench] = []

    def teach(*clumsy: str, size: tuple[int, int, float] = SIZES[0]) -> tuple[MainWindow, Workbench]:
        desk = Workbench(prepared, lesson.made_up_pad(*clumsy))
        made.append(desk)
        window = MainWindow(desk.desk, "dark", Sound({}))
        window.stop_clock()
        qtbot.addWidget(window)
        at_size(window, *size)
        window.show()
        window.activateWindow()
        lesson.answering(desk, window)
        draw(window)
        return window, desk

    yield teach
    for one in made:
        one.close()


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_no_prompt_is_cut_at_any_size(window: MainWindow, desk: Workbench, wide: int, tall: int, scale: float) -> None:
    at_size(window, wide, tall, scale)
    lesson.begin(desk, window, COUNTS)
    steps = []
    while (view := lesson.now(desk)).state == "walking":
        assert view.step is not None
        steps.append(view.step)
        for closed in (True, False):
            desk.feed(south=button(desk.now_ns, closed))
            desk.desk.advance(0.02)
        draw(window)
        assert cut(window.lesson.prompt) == [], view.step.text
        assert window.lesson.prompt.keys.isVisible()
        lesson.next_step(desk)
    assert tuple(steps) == SCRIPT


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
@pytest.mark.parametrize("state", ["paused", "away", "learning"])
def test_a_lesson_that_waits_says_what_to_do(
    window: MainWindow, desk: Workbench, wide: int, tall: int, scale: float, state: str
) -> None:
    at_size(window, wide, tall, scale)
    lesson.begin(desk, window, COUNTS)
    lesson.until(desk, lambda view: view.number == 5)
    hold = threading.Event()
    if state == "paused":
        desk.desk.teaching.press("pause")
    elif state == "away":
        desk.unplug()
    else:
        desk.desk._worker.submit(lambda: hold.wait(20.0) and None)
        while lesson.now(desk).state == "walking":
            lesson.next_step(desk)
    draw(window)
    assert lesson.now(desk).state == state
    assert cut(window.lesson.prompt) == []
    assert "Esc" in window.lesson.prompt.keys.text()
    hold.set()


@pytest.mark.parametrize("size", SIZES)
def test_the_next_key_stays_in_sight_below_the_list(taught: Taught, size: tuple[int, int, float]) -> None:
    window, _ = taught(*TWO_IN_DOUBT, size=size)
    listed = window.lesson.taught
    assert listed.next.text() == "Enter: do the 2 in doubt again"
    for label in (listed.next, listed.keys):
        assert label.isVisible()
        assert listed.rect().contains(label.mapTo(listed, label.rect().bottomRight()))
        assert label.height() >= label.heightForWidth(label.width())


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_the_panel_of_numbers_is_not_cut(
    window: MainWindow, desk: Workbench, press: Press, wide: int, tall: int, scale: float
) -> None:
    at_size(window, wide, tall, scale)
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_F5)
    assert isinstance(window.panel, CountPanel)
    assert cut(window.panel) == []


@pytest.mark.parametrize("size", SIZES)
def test_the_marked_question_is_in_sight(qtbot: QtBot, taught: Taught, size: tuple[int, int, float]) -> None:
    window, desk = taught(*ALL_IN_DOUBT, size=size)
    listed, count = window.lesson.taught, len(lesson.now(desk).doubts)
    assert count > 9
    for k in range(count + 1):
        assert listed.current == k % count
        marked = next(box for box in listed.findChildren(DoubtBox) if box.property("now") and box.isVisible())
        at = marked.mapTo(listed._area.viewport(), marked.rect().topLeft()).y()
        assert at >= -2
        assert at + marked.height() <= listed._area.viewport().height() + 2
        qtbot.keyClick(window, K.Key_Down)
        draw(window)


def test_enter_accepts_the_usual_numbers(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_F5)
    press(window, K.Key_Return)
    usual = {"sticks": 2, "triggers": 2, "pads": 1, "shoulders": 2, "face": 4, "centre": 3, "stick_presses": 2}
    assert desk.calls[-1] == ("begin", DEVICE, {**usual, "paddles": 0}, False)


def test_numbers_are_set_by_digits_and_arrows_and_kept_in_range(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    desk.plug_in()
    desk.settle(window)
    press(window, K.Key_F5)
    for key in (K.Key_9, K.Key_Down, K.Key_Left, K.Key_Down, K.Key_0, K.Key_Left):
        press(window, key)
    counts = window.panel.counts.counts
    assert (counts["sticks"], counts["triggers"], counts["pads"]) == (2, 1, 0)


def test_keys_of_the_bench_do_nothing_in_a_lesson_and_its_own_do(
    window: MainWindow, desk: Workbench, press: Press
) -> None:
    lesson.begin(desk, window, COUNTS)
    lesson.until(desk, lambda view: view.number == 3)
    desk.calls.clear()
    for key in (K.Key_V, K.Key_T, K.Key_M, K.Key_D):
        press(window, key)
    assert window.panel is None
    assert (desk.calls, desk.commands) == ([], [])
    for key in (K.Key_Space, K.Key_R, K.Key_Backspace, K.Key_P, K.Key_Escape):
        press(window, key)
    assert desk.calls == [("press", k) for k in ("next", "again", "back", "pause", "stop")]
    assert desk.desk.teaching.lesson() is None


def test_teaching_waits_for_the_end_of_a_check(visit: MainWindow, desk: Workbench, press: Press) -> None:
    press(visit, K.Key_Space)
    press(visit, K.Key_F5)
    assert visit.panel is None
    assert "A check is running" in visit.foot.message.text()
    desk.go_to("letgo", "left_stick")
    desk.settle(visit)
    press(visit, K.Key_F5)
    assert isinstance(visit.panel, CountPanel)


def test_a_simulated_unit_is_not_taught(window: MainWindow, desk: Workbench, press: Press) -> None:
    desk.desk.devices.plug_in_sample("SM-07-01")
    desk.settle(window)
    press(window, K.Key_F5)
    assert window.panel is None
    assert "simulated" in window.foot.message.text()


def test_questions_are_answered_by_digits_one_after_the_other(qtbot: QtBot, taught: Taught) -> None:
    window, desk = taught(*ALL_IN_DOUBT)
    desk.calls.clear()
    for key in (K.Key_2, K.Key_Up, K.Key_2, K.Key_3):
        qtbot.keyClick(window, key)
        draw(window)
    first, last = "left_stick", "right_lower_paddle"
    assert desk.calls == [("answer", first, "write"), ("answer", last, "leave")], "the last has no third answer"
    given = {d.question.control: d.answer for d in lesson.now(desk).doubts}
    assert (given[first], given[last]) == ("write", "leave")


def test_when_nothing_is_to_be_done_again_enter_names_the_sheet(qtbot: QtBot, taught: Taught) -> None:
    window, desk = taught()
    assert lesson.now(desk).doubts == ()
    qtbot.keyClick(window, K.Key_Return)
    assert isinstance(window.panel, TaughtPanel)
    qtbot.keyClick(window.panel.name, K.Key_Return)
    desk.settle(window)
    assert desk.calls[-1] == ("save_taught", "Two-stick test pad")
    assert "is in force" in window.foot.message.text()
    assert (desk.store.folder / "sheets" / "two_stick_test_pad.toml").exists()
    assert window.checklist.card.isVisible()


def test_the_lesson_gives_the_bench_back_as_it_was(visit: MainWindow, desk: Workbench, press: Press) -> None:
    before = [pane.isVisible() for pane in (visit.live, visit.checklist, visit.record)]
    desk.desk.teaching.begin(desk.pad.info, COUNTS, go_on=False)
    desk.settle(visit)
    assert visit.lesson.prompt.isVisible()
    assert not visit.record.isVisible()
    press(visit, K.Key_Escape)
    assert [pane.isVisible() for pane in (visit.live, visit.checklist, visit.record)] == before
    assert visit.checklist.list.isVisible()
    assert UNIT.tag in visit.header.tag.text()


def test_what_is_left_out_is_said_in_words() -> None:
    found = (Ignored("counter", 1, 8, 8), Ignored("checksum", 1, 80, 8), Ignored("checksum", 1, 88, 8))
    assert left_out(found) == "a counter, a checksum"
    assert left_out(()) == ""


@pytest.mark.parametrize(("confidence", "words"), [(0.99, "sure"), (0.92, "fairly sure"), (0.5, "in doubt")])
def test_how_sure_is_said_in_words(confidence: float, words: str) -> None:
    assert sure_words(confidence) == words


@pytest.mark.parametrize(
    ("index", "reports", "moved", "said"),
    [
        (0, 0, False, ("It is quiet, as many are at rest", None)),
        (0, 9, False, ("Its reports arrive", None)),
        (2, 0, False, ("Nothing has come yet", False)),
        (2, 9, False, ("Reports arrive; nothing has moved yet", False)),
        (2, 9, True, ("Something moved", True)),
    ],
    ids=["quiet at rest", "reports at rest", "nothing", "reports only", "moved"],
)
def test_the_sign_says_whether_the_device_answers(index: int, reports: int, moved: bool, said: object) -> None:
    assert sign(walking(SCRIPT[index], reports=reports, moved=moved)) == said
