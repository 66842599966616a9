"""All that a shop can set, in the window: shown, changed in its place, put back, taken back; by keys and by mouse."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QDesktopServices
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot
from scanner import Keyboard
from workbench import Workbench

from station.app.options import options
from station.app.prices import grade_names
from station.app.shop_files import FILES
from station.checks.house import load_house
from station.diagnosis.guide import load_guide
from station.errors import RecordFull, StationError
from station.judgement.limits import standard
from station.records.types import Treatment, Unit
from station.ui.own_keys import read_own_keys
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.settings import SettingRow, SettingsPanel
from station.ui.panels.shop import ShopPanel
from station.ui.window import MainWindow
from station.words import options as words

Press = Callable[..., None]
K = Qt.Key


@pytest.fixture
def panel(window: MainWindow, press: Press) -> Callable[[], SettingsPanel]:
    """The panel that is open now; it is opened by its key."""
    press(window, K.Key_F11)

    def now() -> SettingsPanel:
        assert isinstance(window.panel, SettingsPanel)
        return window.panel

    return now


@pytest.fixture
def go(window: MainWindow, panel: Callable[[], SettingsPanel], press: Press) -> Callable[[str], SettingRow]:
    """Put the cursor on a row by the arrows."""

    def to(name: str) -> SettingRow:
        press(window, K.Key_Home)
        for _ in panel().rows:
            if panel().current().view.name == name:
                return panel().current()
            press(window, K.Key_Down)
        raise AssertionError(name)

    return to


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that were handed to the system's programs."""
    seen: list[str] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: seen.append(url.toLocalFile()) or True)
    return seen


def said(window: MainWindow) -> str:
    assert window.panel is not None
    return " ".join(window.panel.labels())


def test_every_option_and_every_file_has_its_row_in_its_group(
    panel: Callable[[], SettingsPanel], desk: Workbench
) -> None:
    there = options(load_guide(), desk.store.get_setting, grade_names(standard()))
    rows = panel().rows
    assert set(rows) == {option.name for option in there} | {file.name for file in FILES}
    groups = list(dict.fromkeys(row.view.group for row in rows.values()))
    assert groups == list(words.GROUPS)
    assert {"Shop", "Money", "Rest", "Keys"} <= set(panel().labels())


def test_a_row_says_its_name_its_value_and_whether_that_ships(
    panel: Callable[[], SettingsPanel], desk: Workbench, window: MainWindow
) -> None:
    hour = panel().rows["hour"]
    assert (hour.title.text(), hour.state.text()) == ("What an hour at the bench costs", "as it ships")
    assert hour.value.text().replace("\N{NO-BREAK SPACE}", " ") == "18.00 EUR"
    desk.store.set_setting("hour_minor", "2150")
    panel().refresh()
    assert hour.state.text().replace("\N{NO-BREAK SPACE}", " ") == "yours; ships as 18.00 EUR"
    told = QAccessible.queryAccessibleInterface(hour)
    assert told.role() == QAccessible.Role.Button
    assert told.text(QAccessible.Text.Name).startswith("What an hour at the bench costs: 21.50")


@pytest.mark.parametrize("typed", ["21,50", "21.50", " 21.5 "])
def test_a_price_is_typed_with_either_sign_and_counts_at_once(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, write: Press, typed: str
) -> None:
    go("hour")
    press(window, K.Key_Return)
    write(window, typed)
    press(window, K.Key_Return)
    assert desk.store.get_setting("hour_minor") == "2150"
    assert desk.desk.advice.guide().hour_minor == 2150
    assert "Saved: what an hour at the bench costs, now 21.50" in said(window)


WRONG = {
    "hour": ("1,2,3", "is no amount of EUR"),
    "currency": ("euro", "type its three letters"),
    "rest.open-and-clean": ("1.5", "a whole number from 0 to 365"),
    "shop": ("x" * 65, "longer than 64 letters"),
    "contact": ("y" * 5000, "longer than 200 letters"),
    "mark": ("/gone/mark.png", "is no picture"),
    "price.ready": ("9" * 30, "is no amount"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_it_may_not_be_is_said_in_one_sentence_and_stays_to_be_mended(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, name: str
) -> None:
    typed, problem = WRONG[name]
    go(name)
    press(window, K.Key_Return)
    field = window.focusWidget()
    assert isinstance(field, QLineEdit)
    field.setText(typed)
    press(window, K.Key_Return)
    assert problem in said(window)
    assert window.panel is not None
    assert len(window.panel._problem.text()) < 200, "a long value is shortened where it is quoted"
    assert window.focusWidget() is field
    assert field.text() == typed[:4096]
    press(window, K.Key_Escape)
    assert isinstance(window.panel, SettingsPanel)
    assert window.panel.current().view.name == name
    assert not window.panel.current().view.own


def test_a_choice_is_a_list_and_the_look_follows_at_once(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press
) -> None:
    go("theme")
    press(window, K.Key_Return)
    assert isinstance(window.focusWidget(), ChoiceList)
    press(window, K.Key_2)
    press(window, K.Key_Return)
    assert (window.theme, window.look.dark) == ("light", False)
    assert isinstance(window.panel, SettingsPanel)
    assert window.panel.look == window.look, "the panel too"
    assert window.panel.current().view.name == "theme"
    press(window, K.Key_Down)
    press(window, K.Key_Return)
    press(window, K.Key_4)
    press(window, K.Key_Return)
    assert window.scale == 1.3 or desk.store.get_setting("scale") == "1.3"


def test_sound_follows_at_once(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press
) -> None:
    assert window.sound.on
    go("sound")
    for key in (K.Key_Return, K.Key_Down, K.Key_Return):
        press(window, key)
    assert not window.sound.on
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.sound.on
    assert desk.store.get_setting("sound") == "on"
    assert "Taken back." in said(window)
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert "Nothing was changed in the last seconds" in said(window)


def test_delete_puts_back_what_ships_and_that_is_taken_back_too(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press
) -> None:
    desk.store.set_setting("rest_days.open and clean", "9")
    go("rest.open-and-clean")
    assert window.panel is not None
    press(window, K.Key_Delete)
    assert desk.store.get_setting("rest_days.open and clean") == "3"
    assert window.panel.current().state.text().startswith("as it ships")  # type: ignore[attr-defined]
    press(window, K.Key_Delete)
    assert "This is as it ships." in said(window)
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.store.get_setting("rest_days.open and clean") == "9"


def test_taking_back_does_not_undo_what_another_window_set_since(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press
) -> None:
    go("sound")
    for key in (K.Key_Return, K.Key_2, K.Key_Return):
        press(window, key)
    desk.store.set_setting("sound", "on")
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert "changed again since" in said(window)
    assert desk.store.get_setting("sound") == "on"


def test_what_another_window_set_meanwhile_is_told_before_it_is_replaced(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, write: Press
) -> None:
    go("contact")
    press(window, K.Key_Return)
    write(window, "bench by the river")
    desk.store.set_setting("contact", "the other window's")
    press(window, K.Key_Return)
    assert "changed elsewhere meanwhile, to the other window's" in said(window)
    assert desk.store.get_setting("contact") == "the other window's"
    field = window.focusWidget()
    assert isinstance(field, QLineEdit)
    assert field.text() == "bench by the river"
    press(window, K.Key_Return)
    assert desk.store.get_setting("contact") == "bench by the river"


def test_where_it_cannot_be_stored_that_is_said_and_what_was_typed_stays(
    window: MainWindow,
    desk: Workbench,
    go: Callable[[str], SettingRow],
    press: Press,
    write: Press,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def full(key: str, value: str) -> None:
        raise RecordFull("The records cannot be written; make room and try again.")

    go("person")
    press(window, K.Key_Return)
    write(window, "Ines")
    monkeypatch.setattr(desk.store, "set_setting", full)
    press(window, K.Key_Return)
    assert "make room and try again" in said(window)
    field = window.focusWidget()
    assert isinstance(field, QLineEdit)
    assert field.text() == "Ines"
    monkeypatch.undo()
    press(window, K.Key_Return)
    assert desk.store.get_setting("person") == "Ines"


@contextmanager
def unwritable(desk: Workbench, how: str) -> Iterator[None]:
    """The records as they are on a disk that is read-only, or full, to SQLite itself."""
    with desk.store._connections.outside() as db:
        if how == "read-only":
            db.execute("PRAGMA query_only = ON")
        else:
            db.execute(f"PRAGMA max_page_count = {db.execute('PRAGMA page_count').fetchone()[0]}")
    try:
        yield
    finally:
        with desk.store._connections.outside() as db:
            db.execute("PRAGMA query_only = OFF")
            db.execute("PRAGMA max_page_count = 1000000")


def fill_up(desk: Workbench) -> None:
    """Until no row of that length has room."""
    for k in range(1000):
        desk.store.set_setting(f"pad{k}", LONG)


LONG = "x" * 190
"""a row that is longer than what is left once no other like it has room"""


@pytest.mark.parametrize("how", ["read-only", "full"])
def test_on_a_disk_that_takes_nothing_all_that_was_set_stays_and_what_is_typed_too(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, write: Press, how: str
) -> None:
    desk.store.set_setting("person", "Ines")
    before, refused = window.theme, 0
    with unwritable(desk, how):
        with pytest.raises(StationError):
            fill_up(desk)
        for name, keys in (("contact", LONG), ("hour", "27"), ("theme", None), ("person", None)):
            go(name)
            if name == "person":
                press(window, K.Key_Delete)
            else:
                press(window, K.Key_Return)
                write(window, keys) if keys else press(window, K.Key_Down)
                press(window, K.Key_Return)
            refused += bool(re.search("make room|cannot be opened for writing", said(window)))
            if window.panel.editing:  # type: ignore[union-attr]
                field = window.focusWidget()
                assert not isinstance(field, QLineEdit) or field.text() == keys
                press(window, K.Key_Escape)
    assert refused == 4 if how == "read-only" else refused >= 1
    if how == "read-only":
        assert window.theme == before
        assert desk.store.get_setting("person") == "Ines"
        assert desk.store.get_setting("theme") == ""
    go("contact")
    press(window, K.Key_Return)
    write(window, "by the river")
    press(window, K.Key_Return)
    assert desk.store.get_setting("contact") == "by the river"


@pytest.mark.parametrize(
    ("key", "held"), [(K.Key_F8, None), (K.Key_F9, None), (K.Key_Plus, Qt.KeyboardModifier.ControlModifier)]
)
def test_a_key_that_sets_something_says_that_it_could_not_be_kept(
    window: MainWindow, desk: Workbench, press: Press, key: Qt.Key, held: Qt.KeyboardModifier | None
) -> None:
    with unwritable(desk, "read-only"):
        press(window, key, held or Qt.KeyboardModifier.NoModifier)
        assert re.search("cannot be opened for writing", window.foot.text())


ODD = {
    "theme": ("theme", "blue", "none of auto, light, dark"),
    "text-size": ("scale", "1.25", "is none of 100"),
    "hour": ("hour_minor", "much", "no value that this version can use"),
    "price.parts": ("parts_minor", "9" * 6000, "no value that this version can use"),
    "shop": ("bench", "z" * 100, "longer than 64 letters"),
    "sound": ("sound", "\u202eon", "is none of on, off"),
}


@pytest.mark.parametrize("name", ODD)
def test_a_value_of_another_version_is_shown_and_can_be_put_right(
    window: MainWindow, desk: Workbench, press: Press, name: str
) -> None:
    key, stored, problem = ODD[name]
    desk.store.set_setting(key, stored)
    press(window, K.Key_F11)
    assert isinstance(window.panel, SettingsPanel)
    row = window.panel.rows[name]
    assert problem in row.state.text()
    assert len(row.value.text()) <= 201
    row.setFocus()
    press(window, K.Key_Delete)
    assert isinstance(window.panel, SettingsPanel)
    assert window.panel.rows[name].state.text().startswith("as it ships")


def as_another_version(desk: Workbench, key: str, value: str) -> None:
    """Stored without the check that this version makes."""
    with closing(sqlite3.connect(desk.store.path)) as db, db:
        db.execute("INSERT OR REPLACE INTO settings VALUES (?, ?, '')", (key, value))


@pytest.mark.parametrize("value", ["three", "3.5", "9" * 5000])
def test_days_of_rest_of_another_version_are_put_right_and_taken_back(
    window: MainWindow, desk: Workbench, press: Press, go: Callable[[str], SettingRow], value: str
) -> None:
    as_another_version(desk, "rest_days.adjust", value)
    row = go("rest.adjust")
    window.panel.refresh()  # type: ignore[union-attr]
    assert "is no number of days" in row.state.text()
    press(window, K.Key_Return)
    as_another_version(desk, "rest_days.adjust", "four")
    press(window, K.Key_5)
    press(window, K.Key_Return)
    assert "was changed elsewhere meanwhile, to four" in said(window)
    press(window, K.Key_Return)
    assert desk.store.get_setting("rest_days.adjust") == "5"


def test_rest_that_cannot_be_used_is_told_once_a_treatment_asks_for_it(desk: Workbench, window: MainWindow) -> None:
    as_another_version(desk, "rest_days.clean the sensor", "3.5")
    unit = desk.store.add_unit(Unit("", "SM-07-04", "Plover T2"))
    desk.desk.units.treat(Treatment("", unit.id, "clean the sensor", ""))
    desk.settle(window)
    assert desk.store.unit(unit.id).rest_until == "2026-11-28"
    assert window.foot.text().startswith("“3.5” is set as the rest after “clean the sensor” and is no whole number")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_a_file_of_the_shop_is_made_opened_set_aside_and_taken_back(
    window: MainWindow,
    desk: Workbench,
    go: Callable[[str], SettingRow],
    press: Press,
    opened: list[str],
    file: object,
) -> None:
    name = file.name  # type: ignore[attr-defined]
    path = desk.store.folder / name
    assert go(name).value.text() == f"{name}, none yet"
    press(window, K.Key_Return)
    assert path.exists()
    assert opened == [str(path)]
    row = window.panel.current()  # type: ignore[union-attr]
    assert (row.value.text(), row.view.problem) == (str(path), "")
    made = path.read_bytes()
    path.write_bytes(made + b"# mine\n")
    press(window, K.Key_Return)
    assert opened == [str(path)] * 2
    assert path.read_bytes() == made + b"# mine\n", "what is there is opened as it is"
    press(window, K.Key_Delete)
    assert not path.exists()
    press(window, K.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert path.read_bytes() == made + b"# mine\n"


def test_a_file_that_was_just_made_changes_nothing(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, opened: list[str]
) -> None:
    for file in FILES:
        go(file.name)
        press(window, K.Key_Return)
    house = load_house(desk.store.folder / "limits.toml", standard())
    assert (house.limits, house.grades, dict(house.own), house.own_grades) == (
        standard().limits, standard().grades, {}, False,
    )  # fmt: skip
    assert read_own_keys((desk.store.folder / "keys.toml").read_text("utf-8")).lines == ()
    assert load_guide(desk.store.folder / "fault_guide.toml") == load_guide()
    assert [size.name for size in desk.desk.labels.sizes()] == _labels_that_ship(desk)


def _labels_that_ship(desk: Workbench) -> list[str]:
    (desk.store.folder / "labels.toml").unlink()
    return [size.name for size in desk.desk.labels.sizes()]


def test_the_examples_in_a_new_file_of_keys_count_once_they_are_switched_on() -> None:
    lines = [line.removeprefix("# ") for line in words.FILE_KEYS.splitlines() if "=" in line or "[" in line]
    own = read_own_keys("\n".join(lines))
    assert (own.problem, [line.key for line in own.lines]) == ("", ["Insert", "K"])


@pytest.mark.parametrize("name", ["limits.toml", "fault_guide.toml", "keys.toml", "labels.toml"])
def test_a_broken_file_is_told_at_its_row_and_hinders_no_other(
    window: MainWindow, desk: Workbench, press: Press, write: Press, name: str
) -> None:
    (desk.store.folder / name).write_text("[[[ broken", "utf-8")
    press(window, K.Key_F11)
    assert isinstance(window.panel, SettingsPanel)
    assert name in window.panel.rows[name].state.text()
    window.panel.rows["hour"].setFocus()
    press(window, K.Key_Return)
    write(window, "20")
    press(window, K.Key_Return)
    assert desk.store.get_setting("hour_minor") == "2000"


def test_a_file_that_cannot_be_written_is_said(
    window: MainWindow, desk: Workbench, go: Callable[[str], SettingRow], press: Press, monkeypatch: pytest.MonkeyPatch
) -> None:
    from station.app import shop_files

    def refuse(path: Path, data: bytes) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(shop_files, "write_whole", refuse)
    go("keys.toml")
    press(window, K.Key_Return)
    assert "keys.toml could not be written (Permission denied)" in said(window)
    press(window, K.Key_Delete)
    assert "There is no file of your own" in said(window)


def test_the_mouse_does_it_all(
    window: MainWindow, desk: Workbench, panel: Callable[[], SettingsPanel], qtbot: QtBot
) -> None:
    row = panel().rows["costs"]
    left = Qt.MouseButton.LeftButton
    qtbot.mouseClick(row, left)
    assert panel().current() is row
    assert not panel().editing, "the first click puts the cursor there"
    qtbot.mouseClick(row, left)
    assert panel().editing
    choices = panel().findChild(ChoiceList)
    qtbot.mouseClick(choices, left, pos=choices._box(0).center().toPoint())
    qtbot.mouseClick(panel()._keys.buttons["Enter"], left)
    desk.settle(window)
    assert desk.store.get_setting("costs") == "on"
    panel()._keys.hints.click("Delete")
    desk.settle(window)
    assert desk.store.get_setting("costs") == "off"
    qtbot.mouseClick(panel()._keys.buttons["Esc"], left)
    assert window.panel is None


def test_tab_goes_from_group_to_group_and_round(
    window: MainWindow, panel: Callable[[], SettingsPanel], press: Press
) -> None:
    seen = []
    for _ in words.GROUPS:
        seen.append(panel().current().view.group)
        press(window, K.Key_Tab)
    assert seen == list(words.GROUPS)
    assert panel().current().view.group == "shop"
    press(window, K.Key_End)
    press(window, K.Key_PageUp)
    assert panel().current().view.group == "window"


@pytest.fixture
def welcome(window: MainWindow, desk: Workbench) -> ShopPanel:
    """What a window asks a while after it was opened on records in which there is nothing."""
    window.welcome()
    assert isinstance(window.panel, ShopPanel)
    return window.panel


def test_empty_records_ask_for_shop_and_person_no_more(
    window: MainWindow, desk: Workbench, press: Press, write: Press, welcome: ShopPanel
) -> None:
    assert len(welcome.findChildren(QLineEdit)) == 2
    write(window, "Mill Lane Repairs")
    press(window, K.Key_Tab)
    welcome.fields["person"].selectAll()
    write(window, "Ines")
    press(window, K.Key_Return)
    assert window.panel is None
    assert (desk.store.get_setting("bench"), desk.store.get_setting("person")) == ("Mill Lane Repairs", "Ines")
    window.welcome()
    assert window.panel is None, "once is enough"


def test_it_can_be_put_off(window: MainWindow, desk: Workbench, press: Press, welcome: ShopPanel) -> None:
    press(window, K.Key_Escape)
    assert window.panel is None
    window.welcome()
    assert isinstance(window.panel, ShopPanel)
    press(window, K.Key_Return)
    assert window.panel is None, "nothing has to be said"
    assert desk.store.get_setting("bench") == ""


def test_it_gives_way_to_a_plug_and_to_a_scan(
    window: MainWindow, desk: Workbench, press: Press, welcome: ShopPanel
) -> None:
    desk.plug_in()
    desk.settle(window)
    assert window.panel is None
    assert window.arrival.isVisible()
    assert window.arrival.device is not None
    press(window, K.Key_Escape)
    window.welcome()
    Keyboard(window).scan("SM-07-13")
    desk.settle(window)
    assert not isinstance(window.panel, ShopPanel)


def test_what_is_being_typed_stays_when_a_unit_is_plugged_in(
    window: MainWindow, desk: Workbench, press: Press, write: Press, welcome: ShopPanel
) -> None:
    write(window, "Mill L")
    desk.plug_in()
    desk.settle(window)
    assert window.panel is welcome
    write(window, "ane")
    press(window, K.Key_Return)
    assert desk.store.get_setting("bench") == "Mill Lane"
    assert window.arrival.isVisible(), "it has waited"


@pytest.mark.parametrize(
    "before",
    [
        pytest.param(lambda w, d: d.store.add_unit(Unit("", "A-1", "P")), id="units are there"),
        pytest.param(lambda w, d: d.store.set_setting("bench", "Mill Lane"), id="the shop is known"),
        pytest.param(lambda w, d: w.act("view.lots"), id="another view is in front"),
        pytest.param(lambda w, d: w.act("window.keys"), id="another panel is open"),
        pytest.param(lambda w, d: (d.plug_in(), d.settle(w)), id="a unit is plugged in"),
    ],
)
def test_it_is_not_asked_where_something_was_begun(
    window: MainWindow, desk: Workbench, before: Callable[[MainWindow, Workbench], object]
) -> None:
    before(window, desk)
    window.welcome()
    assert not isinstance(window.panel, ShopPanel)


def test_the_first_certificate_asks_for_shop_and_person(visit: MainWindow, desk: Workbench, press: Press) -> None:
    assert visit.panel is None
    desk.rest_at("left_stick", 0.4)
    press(visit, K.Key_C)
    asked = visit.panel
    assert isinstance(asked, ShopPanel)
    assert len(asked.findChildren(QLineEdit)) == 2
    assert not asked.findChildren(ChoiceList)
    asked.fields["shop"].setText("\u2800\u3164")
    press(visit, K.Key_Return)
    assert visit.panel is asked, "a name of which nothing is to be seen is none"
    asked.fields["shop"].setText("Mill Lane Repairs")
    asked.fields["person"].setText("Ines")
    press(visit, K.Key_Return)
    assert (desk.store.get_setting("bench"), desk.store.get_setting("person")) == ("Mill Lane Repairs", "Ines")


def test_the_table_of_keys_has_it_everywhere(window: MainWindow, press: Press) -> None:
    for view in (K.Key_F2, K.Key_F3, K.Key_F4, K.Key_F10, K.Key_F1):
        press(window, view)
        press(window, K.Key_F11)
        assert isinstance(window.panel, SettingsPanel)
        press(window, K.Key_Escape)
        assert window.panel is None
