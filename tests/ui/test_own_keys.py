"""Keys that a shop adds in a file of its own."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from workbench import Workbench

from station.app.keys_file import MOST_BYTES, NAME
from station.bench.types import Again, Go
from station.ui.own_keys import read_own_keys
from station.ui.panels.bench import MarkPanel, SkipPanel
from station.ui.panels.keys import KeysPanel
from station.ui.sound import Sound
from station.ui.window import MainWindow

K = Qt.Key
Press = Callable[..., None]
GOOD = '[bench]\nK = "M"\nInsert = "Space"\n[everywhere]\nF7 = "F2"\n'


@pytest.fixture
def own(visit: MainWindow, desk: Workbench, press: Press) -> MainWindow:
    (desk.store.folder / NAME).write_text(GOOD, encoding="utf-8")
    press(visit, K.Key_F12)
    press(visit, K.Key_Escape)
    return visit


def test_an_added_key_does_what_the_other_does_which_stays(own: MainWindow, desk: Workbench, press: Press) -> None:
    for key in (K.Key_K, K.Key_M):
        press(own, key)
        assert isinstance(own.panel, MarkPanel)
        press(own, K.Key_Escape)
    press(own, K.Key_Insert)
    assert desk.commands == [Go()]
    press(own, K.Key_F7)
    assert own.view_name() == "lots"


def test_the_page_of_all_keys_shows_them(own: MainWindow, press: Press) -> None:
    press(own, K.Key_F12)
    assert isinstance(own.panel, KeysPanel)
    assert {"M, K", "Space, Insert", "F2, F7"} <= set(own.panel.labels())


def test_the_file_is_read_when_the_window_opens(desk: Workbench, qtbot: object) -> None:
    (desk.store.folder / NAME).write_text(GOOD, encoding="utf-8")
    made = MainWindow(desk.desk, "dark", Sound({}))
    made.stop_clock()
    qtbot.addWidget(made)  # type: ignore[attr-defined]
    assert [line.key for line in made._own.lines] == ["K", "Insert", "F7"]


def test_the_window_opens_over_a_file_with_a_number_of_too_many_digits(desk: Workbench, qtbot: object) -> None:
    (desk.store.folder / NAME).write_text(f"[bench]\nK = {'7' * 5000}\n", encoding="utf-8")
    made = MainWindow(desk.desk, "dark", Sound({}))
    made.stop_clock()
    qtbot.addWidget(made)  # type: ignore[attr-defined]
    assert made._own.lines == ()
    assert "only the keys that ship count" in made.foot.message.text()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[bench\n", "it is not valid TOML"),
        (f"[bench]\nK = {'7' * 5000}\n", "it is not valid TOML"),
        (f"[bench]\nK = 0x{'f' * 5000}\n", "“K = …”"),
        (f"[bench]\nK = {'[' * 3000}{']' * 3000}\n", "brackets stand in brackets"),
        (f"[bench]\nK{'.a' * 3000} = 7\n", "line 2 has more than 200 dots"),
        ('K = "M"\n', "“K” stands outside of a section"),
        ('[bnch]\nK = "M"\n', "“[bnch]” is no section"),
        ('[bench]\nKK = "M"\n', "“KK” is no key that can be told"),
        ('[bench]\n"Alt+K" = "M"\n', "“Alt+K” is no key"),
        ('[bench]\nK = "J"\n', "“K = J”: J does nothing there"),
        ("[bench]\nK = 7\n", "“K = 7”: 7 does nothing there"),
        ("[bench]\nK = [1]\n", "does nothing there"),
        ('[bench]\nR = "M"\n', "R has a meaning already (do this check again)"),
        ('[bench]\nF2 = "M"\n', "F2 has a meaning already"),
        ('[everywhere]\nR = "F2"\n', "R has a meaning already"),
        ('[everywhere]\nK = "F2"\n[bench]\nK = "M"\n', "K has a meaning already"),
        (f'[bench]\n"{"x" * 400}" = "M"\n', "…” is no key"),
    ],
)
def test_a_mistake_is_said_in_one_sentence_and_no_key_is_added(text: str, said: str) -> None:
    found = read_own_keys(text)
    assert found.lines == ()
    assert said in found.problem
    assert found.problem.startswith("keys.toml: ")
    assert found.problem.endswith("only the keys that ship count.")
    assert len(found.problem) < 250


def test_no_file_is_no_mistake() -> None:
    found = read_own_keys("")
    assert (found.lines, found.problem) == ((), "")


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"#" * (MOST_BYTES + 1)], ids=["no text", "too long"])
def test_a_file_that_cannot_be_read_is_said(visit: MainWindow, desk: Workbench, press: Press, data: bytes) -> None:
    (desk.store.folder / NAME).write_bytes(data)
    press(visit, K.Key_F12)
    assert visit.panel is not None
    assert any(text.startswith("keys.toml: it ") for text in visit.panel.labels())


def test_a_folder_in_its_place_is_said(visit: MainWindow, desk: Workbench, press: Press) -> None:
    (desk.store.folder / NAME).mkdir()
    press(visit, K.Key_F12)
    assert "keys.toml: it cannot be read" in visit.foot.message.text()


MOVED = '[bench]\nK = "M"\nM = "S"\nS = "R"\nR = ""\nJ = "N"\nN = ""\n'


@pytest.fixture
def moved(visit: MainWindow, desk: Workbench, press: Press) -> MainWindow:
    (desk.store.folder / NAME).write_text(MOVED, encoding="utf-8")
    press(visit, K.Key_F12)
    press(visit, K.Key_Escape)
    return visit


def test_keys_that_ship_can_be_moved(moved: MainWindow, desk: Workbench, press: Press) -> None:
    press(moved, K.Key_K)
    assert isinstance(moved.panel, MarkPanel)
    press(moved, K.Key_Escape)
    press(moved, K.Key_M)
    assert isinstance(moved.panel, SkipPanel)
    press(moved, K.Key_Escape)
    desk.commands.clear()
    press(moved, K.Key_R)
    assert desk.commands == [], "it was taken from its place"
    press(moved, K.Key_S)
    assert desk.commands == [Again()]


def test_what_the_screen_says_of_moved_keys_is_true_and_can_be_clicked(
    moved: MainWindow, desk: Workbench, press: Press
) -> None:
    keys = moved.checklist.card.keys
    shown = keys.text().replace("\N{NO-BREAK SPACE}", " ")
    assert "K: mark by hand" in shown
    assert "M: skip" in shown
    assert moved.record.note.text() == "J note"
    keys.click("M")  # as it ships: what is clicked is what is written
    assert isinstance(moved.panel, MarkPanel)
    press(moved, K.Key_Escape)
    press(moved, K.Key_F12)
    assert isinstance(moved.panel, KeysPanel)
    labels = moved.panel.labels()
    assert {"K", "M", "S"} <= set(labels)
    assert "R" in labels, "in a lesson it is what it was"


def test_the_screen_follows_when_the_file_is_gone(moved: MainWindow, desk: Workbench, press: Press) -> None:
    (desk.store.folder / NAME).unlink()
    press(moved, K.Key_F12)
    press(moved, K.Key_Escape)
    assert "M: mark by hand" in moved.checklist.card.keys.text().replace("\N{NO-BREAK SPACE}", " ")
    press(moved, K.Key_M)
    assert isinstance(moved.panel, MarkPanel)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param('[bench]\nR = ""\n', "R has a meaning already (do this check again)", id="a meaning is lost"),
        pytest.param('[bench]\nK = "M"\nR = "M"\n', "R has a meaning already", id="one key too few"),
        pytest.param('[bench]\nK = ""\n', "“K = ”:  does nothing there", id="nothing to take away"),
        pytest.param('[bench]\nJ = "Esc"\nEsc = "M"\n', "Esc has a meaning already", id="it counts everywhere"),
        pytest.param('[teaching]\nJ = "R"\nR = "P"\n', "R has a meaning already", id="of a lesson"),
        pytest.param('[bench]\nK = "M"\n[everywhere]\nK = "F2"\n', "by another line of the file", id="given twice"),
    ],
)
def test_no_meaning_is_lost(text: str, said: str) -> None:
    found = read_own_keys(text)
    assert (found.lines, found.gone) == ((), ())
    assert said in found.problem
