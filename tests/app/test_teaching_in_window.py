"""An unknown pad taught in the window by keyboard alone: real desk and window, a made-up pad, time that is moved."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from station.app import paths
from station.app.desk import StationDesk
from station.app.walks import kept_steps
from station.bench.teaching_types import TeachView
from station.sheets.learn import walk
from station.sheets.load import load_sheet
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.teaching.panels import CountPanel, TaughtPanel
from station.ui.window import MainWindow
from tests.app.taught_pad import PadSource, steady_pad
from tests.records.records_kit import open_store
from tests.sheets.learn_pads import Pad
from tests.sheets.learn_truth import judged

K = Qt.Key
TICK_S = 0.05
PAD = steady_pad(9001, descriptor="right")
NAMELESS = steady_pad(9002, odd_range=True, descriptor="none", copying="none")
KINDS = ("sticks", "triggers", "pads", "shoulders", "face", "centre", "stick_presses", "paddles")


class Heard(Sound):
    """Notes what is played."""

    def __init__(self) -> None:
        super().__init__({})
        self.names: list[str] = []

    def play(self, name: str) -> None:
        self.names.append(name)


class Bench:
    """The window on a desk with one pad, the hands on the pad, and a finger on the keyboard."""

    def __init__(self, qtbot: QtBot, pad: Pad) -> None:
        make_app()
        self.qtbot, self.pad = qtbot, pad
        self.source = PadSource(pad)
        self.desk = StationDesk(open_store(paths.records_folder()), watch=False, plug_in_sample=lambda _: self.source)
        self.sound = Heard()
        self.window = MainWindow(self.desk, theme="light", sound=self.sound)
        self.window.stop_clock()
        qtbot.addWidget(self.window)
        self.window.resize(1280, 720)
        self.window.show()
        self.window.activateWindow()

    def plug_in(self) -> None:
        self.desk.devices.plug_in_sample("")
        self.settle()

    def settle(self) -> None:
        for _ in range(3):
            self.desk.settle()
            self.frame()

    def frame(self) -> None:
        self.source.follow(self.desk.teaching.lesson())
        self.desk.advance(TICK_S)
        self.window.tick()

    def press(self, *keys: Qt.Key) -> None:
        for key in keys:
            self.qtbot.keyClick(self.window.focusWidget() or self.window, key)
            self.settle()

    def lesson(self) -> TeachView:
        view = self.desk.teaching.lesson()
        assert view is not None
        return view

    def until(self, done: Callable[[TeachView], bool], longest_s: float = 300.0) -> TeachView:
        for _ in range(round(longest_s / TICK_S)):
            view = self.lesson()
            if done(view):
                self.window.tick()
                return self.lesson()
            if view.state == "learning":
                self.desk.settle()
            self.frame()
        raise AssertionError(f"never: {self.lesson()}")

    def say_counts(self) -> None:
        """Set the numbers in the panel to those of the pad."""
        assert isinstance(self.window.panel, CountPanel)
        for kind in KINDS:
            self.press(K(K.Key_0 + count_of(self.pad, kind)), K.Key_Down)

    def texts(self) -> list[str]:
        return [w.text() for w in self.window.findChildren(QLabel) if w.isVisible() and w.text()]


def count_of(pad: Pad, kind: str) -> int:
    ids = [c.id for c in pad.controls]
    tails = {
        "sticks": "_stick", "triggers": "_trigger", "pads": "direction_pad", "shoulders": "_shoulder",
        "centre": "centre_", "stick_presses": "_stick_press", "paddles": "paddle", "face": "_face",
    }  # fmt: skip
    if kind == "centre":
        return sum(i.startswith("centre_") for i in ids)
    if kind in ("face", "paddles"):
        return sum(tails[kind] in i for i in ids)
    return sum(i.endswith(tails[kind]) for i in ids)


@pytest.fixture
def bench(qtbot: QtBot) -> Iterator[Callable[[Pad], Bench]]:
    made: list[Bench] = []

    def make(pad: Pad) -> Bench:
        made.append(Bench(qtbot, pad))
        return made[-1]

    yield make
    for one in made:
        one.desk.close()


def test_from_the_plug_to_a_visit_with_the_learned_sheet(bench: Callable[[Pad], Bench]) -> None:
    b = bench(PAD)
    b.plug_in()
    assert "No sheet fits it" in b.window.arrival.said.text()
    assert "F5: teach it" in b.window.arrival.keys.text()
    b.press(K.Key_F5)
    b.say_counts()
    b.press(K.Key_Return)
    view = b.lesson()
    script = walk(PAD.controls)
    assert (view.state, view.number, view.count) == ("walking", 1, len(script))
    assert not b.window.arrival.isVisible()
    assert b.window.lesson.prompt.headline.text() == "Hands off"

    b.until(lambda v: v.number == 3)
    card = b.window.lesson.prompt
    assert card.headline.text() == script[2].control.name
    assert card.do.text().startswith("Push it up and let go")
    assert card.sign.text() in ("Nothing has come yet", "Reports arrive; nothing has moved yet")
    b.until(lambda v: v.moved)
    assert card.sign.text() == "Something moved"
    assert f"step 3 of {len(script)}" in card.title.text()
    assert "Space:\u00a0done, next" in card.keys.text()

    b.until(lambda v: v.state == "answering")
    assert b.sound.names.count("prompt") == len(script), "each prompt can be heard"
    listed = b.window.lesson.taught
    assert listed.isVisible()
    assert listed.headline.text() == f"{len(PAD.truth.controls)} controls learned"
    assert "sure" in listed.labels()
    b.press(K.Key_Return)
    assert isinstance(b.window.panel, TaughtPanel)
    assert b.window.panel.name.text() == "Made-up pad"
    b.press(K.Key_Return)
    b.settle()
    assert b.desk.teaching.lesson() is None
    saved = load_sheet(paths.sheets_folder() / "made_up_pad.toml")
    assert {c.id for c in saved.controls} == {c.id for c in PAD.truth.controls}
    assert b.desk.sheets.sheet().controls == saved.controls, "it is in force"
    assert "left_stick" in b.window.live.dials

    assert b.window.arrival.isVisible()
    b.press(*[K(ord(c)) for c in "T1"], K.Key_Return)
    b.settle()
    session = b.desk.visit.session()
    assert session is not None, "a visit starts without plugging in again"
    assert {s.step.control for s in session.steps} >= {"left_stick", "right_trigger"}
    assert b.desk.units.find("T1")[0].sheet == "Made-up pad"


def test_a_device_that_says_nothing_can_only_be_taught_and_each_answer_works(bench: Callable[[Pad], Bench]) -> None:
    b = bench(NAMELESS)
    b.plug_in()
    assert "does not say which controls it has" in b.window.arrival.said.text()
    b.press(K.Key_Return)
    b.say_counts()
    buttons = [c.id for c in NAMELESS.controls if c.kind == "button"]
    b.source.clumsy.extend([f"{buttons[0]}.press", f"{buttons[1]}.press"])
    b.press(K.Key_Return)
    view = b.until(lambda v: v.state == "answering")
    asked = [d.question.control for d in view.doubts]
    assert set(asked) >= {"left_stick", "right_stick", *buttons[:2]}
    last = {d.question.control: K(K.Key_0 + len(d.options)) for d in view.doubts}
    answers = {"left_stick": K.Key_2, "right_stick": K.Key_3, buttons[0]: K.Key_1, buttons[1]: last[buttons[1]]}
    for control in asked:
        assert b.window.lesson.taught.doubt().question.control == control
        b.press(answers.get(control, K.Key_1), K.Key_Down)
    given = {d.question.control: d.answer for d in b.lesson().doubts}
    wanted = {"left_stick": "write", "right_stick": "leave", buttons[0]: "again", buttons[1]: "leave"}
    assert wanted.items() <= given.items()
    assert "again" in b.window.lesson.taught.next.text()
    b.press(K.Key_Return)
    assert (b.lesson().state, b.lesson().round, b.lesson().number) == ("walking", 2, 1)
    assert "once more" in b.window.lesson.prompt.title.text()
    b.until(lambda v: v.state == "answering")
    b.press(K.Key_Return, K.Key_Return)
    b.settle()
    assert b.window.foot.message.text().startswith("Sheet “Made-up pad” is in force")
    controls = {c.id for c in b.desk.sheets.sheet().controls}
    assert {"left_stick", buttons[0]} <= controls
    assert not {"right_stick", buttons[1]} & controls
    assert set(judged_here(b).values()) <= {"right", "wrong"}
    assert judged_here(b)[buttons[0]] == "right"


def judged_here(b: Bench) -> dict[str, str]:
    from station.sheets.learn import Learned

    return judged(b.pad, Learned(b.desk.sheets.sheet(), {}))


def test_an_unplug_and_a_stop_in_mid_walk_lose_nothing(bench: Callable[[Pad], Bench]) -> None:
    b = bench(PAD)
    b.plug_in()
    b.press(K.Key_F5)
    b.say_counts()
    b.press(K.Key_Return)
    b.until(lambda v: v.number == 4)
    b.source.plugged = False
    b.until(lambda v: v.state == "away")
    assert b.window.lesson.prompt.headline.text() == "It is unplugged"
    assert "3 steps are kept" in b.window.lesson.prompt.do.text()
    b.desk.settle()
    (path,) = paths.walks_folder().glob("*.npz")
    assert [o.step.id for o in kept_steps(path)] == [s.id for s in walk(PAD.controls)[:3]]
    b.source.plugged = True
    b.until(lambda v: v.state == "paused")
    assert "Space:\u00a0go on" in b.window.lesson.prompt.keys.text()
    b.press(K.Key_Space)
    b.until(lambda v: v.number == 6)
    b.press(K.Key_Escape)
    assert b.desk.teaching.lesson() is None
    assert b.window.checklist.card.isVisible()
    assert len(kept_steps(path)) == 5
    assert b.window.arrival.isVisible(), "it asks again what to do with the device"

    b.press(K.Key_F5)
    panel = b.window.panel
    assert isinstance(panel, CountPanel)
    assert [panel.counts.counts[k] for k in KINDS] == [count_of(PAD, k) for k in KINDS], "as it was said before"
    assert panel.go_on.options[0].startswith("go on with the walk of")
    b.press(K.Key_Return)
    assert (b.lesson().number, b.lesson().count) == (1, len(walk(PAD.controls)) - 5)
    b.until(lambda v: v.state == "answering")
    b.press(K.Key_Return, K.Key_Return)
    b.settle()
    assert {c.id for c in b.desk.sheets.sheet().controls} == {c.id for c in PAD.truth.controls}
    assert b.desk.teaching.kept_walk(b.source.info) is None, "it led to a sheet"


def test_closing_the_window_in_mid_walk_keeps_it(bench: Callable[[Pad], Bench]) -> None:
    b = bench(PAD)
    b.plug_in()
    b.press(K.Key_F5)
    b.press(K.Key_Return)
    b.until(lambda v: v.number == 3)
    b.window.close()
    (path,) = paths.walks_folder().glob("*.npz")
    assert len(kept_steps(path)) == 2


def test_a_prompt_that_cannot_be_seen_is_not_asked(bench: Callable[[Pad], Bench]) -> None:
    b = bench(PAD)
    b.plug_in()
    b.press(K.Key_F5)
    b.press(K.Key_Return)
    b.until(lambda v: v.number == 3)
    b.press(K.Key_F3)
    b.frame()
    assert b.lesson().state == "paused"
    b.press(K.Key_F1, K.Key_Space)
    assert (b.lesson().state, b.lesson().number) == ("walking", 3)
    b.press(K.Key_R)
    assert b.lesson().left_s > b.lesson().step.seconds - 0.5
    b.press(K.Key_Backspace)
    assert b.lesson().number == 2
    b.press(K.Key_P)
    assert b.lesson().state == "paused"


def test_a_sheet_of_the_same_name_is_put_aside(bench: Callable[[Pad], Bench]) -> None:
    folder: Path = paths.sheets_folder()
    folder.mkdir(parents=True)
    (folder / "made_up_pad.toml").write_text("# mine\n")
    b = bench(PAD)
    b.plug_in()
    b.press(K.Key_F5)
    b.say_counts()
    b.press(K.Key_Return)
    b.until(lambda v: v.state == "answering")
    b.press(K.Key_Return, K.Key_Return)
    b.settle()
    (old,) = folder.glob("*.old")
    assert old.read_text() == "# mine\n"
    assert load_sheet(folder / "made_up_pad.toml").name == "Made-up pad"


def test_between_two_checks_of_a_visit_it_can_be_taught_and_the_visit_goes_on(bench: Callable[[Pad], Bench]) -> None:
    b = bench(PAD)
    b.plug_in()
    b.press(*[K(ord(c)) for c in "T2"], K.Key_Return)
    b.settle()
    before = b.desk.visit.session()
    assert before is not None
    assert "button_1" in {s.step.control for s in before.steps}
    b.press(K.Key_F5)
    b.say_counts()
    b.press(K.Key_Return)
    b.until(lambda v: v.state == "answering")
    b.press(K.Key_Return, K.Key_Return)
    b.settle()
    assert "is not finished" in b.window.arrival.keys.text()
    b.press(K.Key_Return)
    b.settle()
    after = b.desk.visit.session()
    assert after is not None
    assert after.visit.id == before.visit.id
    assert "left_shoulder" in {s.step.control for s in after.steps}
    assert "button_1" not in {s.step.control for s in after.steps}
