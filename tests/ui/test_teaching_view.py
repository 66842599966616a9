"""The prompt and the list of a lesson: nothing cut, the next key always in sight, words and not numbers of bits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from fake_desk import DEVICE, FakeDesk
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from scenes import ANSWERING, LEARNED, SCRIPT, walking

from station.bench.teaching_types import Doubt, TeachView
from station.sheets.learn import Question
from station.ui.ports import SheetLearned
from station.ui.teaching.panels import CountPanel, TaughtPanel
from station.ui.teaching.taught import DoubtBox
from station.ui.teaching.words import left_out, sign, sure_words
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
SIZES = ((1280, 720, 1.0), (1920, 1080, 1.0), (1280, 720, 2.0), (1280, 720, 1.5), (700, 480, 1.0))


def show(window: MainWindow, desk: FakeDesk, view: TeachView | None) -> None:
    desk.the_lesson = view
    window.tick()
    QApplication.processEvents()  # layouts are made between frames
    window.tick()
    QApplication.processEvents()


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


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_no_prompt_is_cut_at_any_size(window: MainWindow, desk: FakeDesk, wide: int, tall: int, scale: float) -> None:
    at_size(window, wide, tall, scale)
    for step in SCRIPT:
        show(window, desk, walking(step, moved=step.control is not None, reports=40))
        assert cut(window.lesson.prompt) == [], step.text
        assert window.lesson.prompt.keys.isVisible()


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
@pytest.mark.parametrize("state", ["paused", "away", "learning"])
def test_a_lesson_that_waits_says_what_to_do(
    window: MainWindow, desk: FakeDesk, wide: int, tall: int, scale: float, state: str
) -> None:
    at_size(window, wide, tall, scale)
    show(window, desk, walking(SCRIPT[4], state=state, seen=4, message="The step that was interrupted is asked again."))
    assert cut(window.lesson.prompt) == []
    assert "Esc" in window.lesson.prompt.keys.text()


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_the_next_key_stays_in_sight_below_the_list(
    window: MainWindow, desk: FakeDesk, wide: int, tall: int, scale: float
) -> None:
    at_size(window, wide, tall, scale)
    show(window, desk, ANSWERING)
    lesson = window.lesson.taught
    assert lesson.next.text() == "Enter: do the 2 in doubt again"
    for label in (lesson.next, lesson.keys):
        assert label.isVisible()
        assert lesson.rect().contains(label.mapTo(lesson, label.rect().bottomRight()))
        assert label.height() >= label.heightForWidth(label.width())


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_the_panel_of_numbers_is_not_cut(
    window: MainWindow, desk: FakeDesk, press: Press, wide: int, tall: int, scale: float
) -> None:
    at_size(window, wide, tall, scale)
    desk.plug_in(sheet="")
    window.tick()
    press(window, K.Key_F5)
    assert isinstance(window.panel, CountPanel)
    assert cut(window.panel) == []


@pytest.mark.parametrize(("wide", "tall", "scale"), SIZES)
def test_the_marked_question_is_in_sight(
    window: MainWindow, desk: FakeDesk, press: Press, wide: int, tall: int, scale: float
) -> None:
    at_size(window, wide, tall, scale)
    questions = [Question(f"button_{k}", f"Button {k}: nothing in the reports answered to it.") for k in range(9)]
    many = replace(ANSWERING, doubts=tuple(Doubt(q, ("again", "leave"), "again") for q in questions))
    show(window, desk, many)
    lesson = window.lesson.taught
    for k in range(10):
        assert lesson.current == k % 9
        marked = next(box for box in lesson.findChildren(DoubtBox) if box.property("now") and box.isVisible())
        at = marked.mapTo(lesson._area.viewport(), marked.rect().topLeft()).y()
        assert at >= -2
        assert at + marked.height() <= lesson._area.viewport().height() + 2
        press(window, K.Key_Down)
        show(window, desk, many)


def test_enter_accepts_the_usual_numbers(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.plug_in()
    window.tick()
    press(window, K.Key_F5)
    press(window, K.Key_Return)
    usual = {"sticks": 2, "triggers": 2, "pads": 1, "shoulders": 2, "face": 4, "centre": 3, "stick_presses": 2}
    assert desk.calls[-1] == ("begin_teaching", "fake:1", {**usual, "paddles": 0}, False)


def test_numbers_are_set_by_digits_and_arrows_and_kept_in_range(
    window: MainWindow, desk: FakeDesk, press: Press
) -> None:
    desk.plug_in()
    window.tick()
    press(window, K.Key_F5)
    for key in (K.Key_9, K.Key_Down, K.Key_Left, K.Key_Down, K.Key_0, K.Key_Left):
        press(window, key)
    counts = window.panel.counts.counts
    assert (counts["sticks"], counts["triggers"], counts["pads"]) == (2, 1, 0)


def test_keys_of_the_bench_do_nothing_in_a_lesson_and_its_own_do(
    visit: MainWindow, desk: FakeDesk, press: Press
) -> None:
    show(visit, desk, walking(SCRIPT[2]))
    calls = list(desk.calls)
    for key in (K.Key_V, K.Key_T, K.Key_M, K.Key_D):
        press(visit, key)
    assert visit.panel is None
    assert (desk.calls, desk.commands) == (calls, [])
    for key in (K.Key_Space, K.Key_R, K.Key_Backspace, K.Key_P, K.Key_Escape):
        press(visit, key)
    assert desk.calls[len(calls) :] == [("teach", k) for k in ("next", "again", "back", "pause", "stop")]


def test_teaching_waits_for_the_end_of_a_check(visit: MainWindow, desk: FakeDesk, press: Press) -> None:
    press(visit, K.Key_Space)
    press(visit, K.Key_F5)
    assert visit.panel is None
    assert "A check is running" in visit.foot.message.text()
    press(visit, K.Key_Space)
    press(visit, K.Key_F5)
    assert isinstance(visit.panel, CountPanel)


def test_a_simulated_unit_is_not_taught(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    desk.plug_in(device=replace(DEVICE, bus="simulated"))
    window.tick()
    press(window, K.Key_F5)
    assert window.panel is None
    assert "simulated" in window.foot.message.text()


def test_questions_are_answered_by_digits_one_after_the_other(window: MainWindow, desk: FakeDesk, press: Press) -> None:
    show(window, desk, ANSWERING)
    press(window, K.Key_2)
    press(window, K.Key_Down)
    press(window, K.Key_2)
    press(window, K.Key_3)
    given = [c for c in desk.calls if c[0] == "answer_teaching"]
    assert given == [("answer_teaching", "left_stick", "write"), ("answer_teaching", "left_shoulder", "leave")]


def test_when_nothing_is_to_be_done_again_enter_names_the_sheet(
    window: MainWindow, desk: FakeDesk, press: Press
) -> None:
    settled = replace(ANSWERING, doubts=tuple(replace(d, answer="leave") for d in ANSWERING.doubts))
    show(window, desk, settled)
    press(window, K.Key_Return)
    assert isinstance(window.panel, TaughtPanel)
    press(window, K.Key_Return)
    assert desk.calls[-1] == ("save_taught", "Plover T2")
    desk.events.append(SheetLearned("Plover T2", "/somewhere/plover.toml"))
    show(window, desk, None)
    assert "is in force" in window.foot.message.text()
    assert window.checklist.card.isVisible()


def test_the_lesson_gives_the_bench_back_as_it_was(visit: MainWindow, desk: FakeDesk) -> None:
    before = [pane.isVisible() for pane in (visit.live, visit.checklist, visit.record)]
    show(visit, desk, walking(SCRIPT[2]))
    assert visit.lesson.prompt.isVisible()
    assert not visit.record.isVisible()
    show(visit, desk, None)
    assert [pane.isVisible() for pane in (visit.live, visit.checklist, visit.record)] == before
    assert visit.checklist.list.isVisible()
    assert UNIT.tag in visit.header.tag.text()


def test_what_is_left_out_is_said_in_words() -> None:
    assert left_out(LEARNED.ignored) == "a counter, a checksum"
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
