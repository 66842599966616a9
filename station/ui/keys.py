"""The views and every key of the window, in two tables: the overlay draws them, the window acts on them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent

from station.ui.physical import digit_of, letter_of
from station.words import alone, window
from station.words import shortcuts as words

ViewName = Literal["bench", "lots", "shelf", "due", "figures", "evidence"]
Where = Literal["everywhere", "bench", "teaching", "lots", "shelf", "due", "figures", "evidence"]


@dataclass(frozen=True, slots=True)
class ViewLine:
    """One view of the window: the key that shows it, its name, its word."""

    key: str
    name: ViewName
    words: str


VIEWS = (
    ViewLine("F1", "bench", window.VIEWS["bench"]),
    ViewLine("F2", "lots", window.VIEWS["lots"]),
    ViewLine("F3", "shelf", window.VIEWS["shelf"]),
    ViewLine("F4", "due", window.VIEWS["due"]),
    ViewLine("F10", "figures", window.VIEWS["figures"]),
)


@dataclass(frozen=True, slots=True)
class KeyLine:
    """`action` is "room.method", or "view.name" to show a view; `where`: in which view or room the key counts.

    `repeats`: holding the key down repeats it.
    """

    key: str
    action: str
    words: str
    where: Where = "bench"
    repeats: bool = False


KEYS = (
    KeyLine("Space", "visit.go", words.GO),
    KeyLine("Enter", "visit.go", words.GO_OR_ANSWER),
    KeyLine("Backspace", "visit.take_back", words.TAKE_BACK),
    KeyLine("R", "visit.again", words.AGAIN),
    KeyLine("Y", "visit.answer_yes", words.ANSWER_GOOD),
    KeyLine("X", "visit.answer_no", words.ANSWER_BAD),
    KeyLine("Up", "visit.previous", words.PREVIOUS, repeats=True),
    KeyLine("Down", "visit.following", words.FOLLOWING, repeats=True),
    KeyLine("M", "visit.mark", words.MARK),
    KeyLine("S", "visit.skip", words.SKIP),
    KeyLine("H", "visit.strength", words.STRENGTH),
    KeyLine("L", "visit.long_form", words.LONG_FORM),
    KeyLine("F", "visit.finish", words.FINISH),
    KeyLine("G", "visit.by_itself", words.BY_ITSELF),
    KeyLine("V", "bench.visit", words.VISIT),
    KeyLine("T", "record.treatment", words.TREATMENT),
    KeyLine("N", "record.note", words.NOTE),
    KeyLine("Q", "cautions.read", words.CAUTIONS),
    KeyLine("C", "record.write_certificate", words.CERTIFICATE),
    KeyLine("Shift+C", "record.copy_offer", words.OFFER),
    KeyLine("Ctrl+P", "labels.of_unit", words.LABELS),
    KeyLine("Ctrl+I", "settings.shop", words.SHOP),
    KeyLine("E", "record.edit", words.EDIT),
    KeyLine("B", "record.becomes", words.BECOMES),
    KeyLine("Shift+B", "record.came_back", words.CAME_BACK),
    KeyLine("Z", "undo.withdraw", words.WITHDRAW),
    KeyLine("Shift+E", "undo.correct", words.CORRECT),
    KeyLine("A", "record.all_rows", words.ALL_ROWS),
    KeyLine("I", "evidence.open", words.EVIDENCE),
    KeyLine("Shift+I", "evidence.freeze", words.FREEZE),
    KeyLine("PgUp", "window.page_up", words.RECORD_UP, repeats=True),
    KeyLine("PgDn", "window.page_down", words.RECORD_DOWN, repeats=True),
    KeyLine("W", "alone.leave", alone.SHORTCUT_LEAVE),
    KeyLine("U", "bench.find", words.FIND),
    KeyLine("D", "bench.sample", words.SAMPLE),
    KeyLine("O", "bench.silent", words.SILENT),
    KeyLine("Ctrl+B", "window.backups", words.BACK_UPS),
    KeyLine("Ctrl+S", "bench.save_sheet", words.SAVE_SHEET),
    KeyLine("F5", "teaching.begin", words.TEACH),
    KeyLine("F6", "window.next_pane", words.NEXT_PANE),
    KeyLine("Space", "teaching.next", words.LESSON_NEXT, "teaching"),
    KeyLine("Enter", "teaching.next", words.LESSON_NEXT_TOO, "teaching"),
    KeyLine("R", "teaching.again", words.LESSON_AGAIN, "teaching"),
    KeyLine("Backspace", "teaching.back", words.LESSON_BACK, "teaching"),
    KeyLine("P", "teaching.pause", words.LESSON_PAUSE, "teaching"),
    KeyLine("1", "teaching.first", words.LESSON_FIRST, "teaching"),
    KeyLine("2", "teaching.second", words.LESSON_SECOND, "teaching"),
    KeyLine("3", "teaching.third", words.LESSON_THIRD, "teaching"),
    KeyLine("Up", "teaching.up", words.LESSON_UP, "teaching", repeats=True),
    KeyLine("Down", "teaching.down", words.LESSON_DOWN, "teaching", repeats=True),
    KeyLine("PgUp", "teaching.page_up", words.LESSON_PAGE_UP, "teaching", repeats=True),
    KeyLine("PgDn", "teaching.page_down", words.LESSON_PAGE_DOWN, "teaching", repeats=True),
    KeyLine("Esc", "teaching.stop", words.LESSON_STOP, "teaching"),
    KeyLine("L", "lots.new_lot", words.NEW_LOT, "lots"),
    KeyLine("E", "lots.edit_lot", words.EDIT_LOT, "lots"),
    KeyLine("I", "lots.new_unit", words.NEW_UNIT, "lots"),
    KeyLine("O", "lots.import_lot", words.IMPORT_LOT, "lots"),
    KeyLine("M", "lots.money", words.MONEY, "lots"),
    KeyLine("W", "lots.plan", words.PLAN, "lots"),
    KeyLine("Z", "lots.withdraw", words.WITHDRAW_ARRIVAL, "lots"),
    KeyLine("Ctrl+P", "labels.of_lot", words.LABELS_OF_LOT, "lots"),
    KeyLine("G", "lots.give_up", words.GIVE_UP, "lots"),
    KeyLine("A", "lots.part_came", words.PART_CAME, "lots"),
    KeyLine("B", "lots.becomes", words.BECOMES, "lots"),
    KeyLine("Shift+B", "lots.came_back", words.CAME_BACK, "lots"),
    KeyLine("/", "lots.search", words.SEARCH, "lots"),
    KeyLine("F6", "lots.next_pane", words.LOTS_PANE, "lots"),
    KeyLine("I", "lots.new_part", words.NEW_PART, "shelf"),
    KeyLine("Z", "undo.withdraw_part", words.WITHDRAW_PART, "shelf"),
    KeyLine("1", "figures.came", words.FIGURES_CAME, "figures"),
    KeyLine("2", "figures.claims", words.FIGURES_CLAIMS, "figures"),
    KeyLine("3", "figures.faults", words.FIGURES_FAULTS, "figures"),
    KeyLine("4", "figures.cures", words.FIGURES_CURES, "figures"),
    KeyLine("5", "figures.money", words.FIGURES_MONEY, "figures"),
    KeyLine("6", "figures.standing", words.FIGURES_STANDING, "figures"),
    KeyLine("Backspace", "figures.back", words.FIGURES_BACK, "figures"),
    KeyLine("G", "figures.keep_table", words.FIGURES_KEEP, "figures"),
    KeyLine("X", "figures.stop", words.FIGURES_STOP, "figures"),
    KeyLine("N", "evidence.next_place", words.NEXT_PLACE, "evidence", repeats=True),
    KeyLine("B", "evidence.place_before", words.PLACE_BEFORE, "evidence", repeats=True),
    KeyLine("V", "evidence.next_picture", words.NEXT_PICTURE, "evidence"),
    KeyLine("+", "evidence.zoom_in", words.ZOOM_IN, "evidence", repeats=True),
    KeyLine("-", "evidence.zoom_out", words.ZOOM_OUT, "evidence", repeats=True),
    KeyLine("0", "evidence.whole", words.WHOLE_TRY, "evidence"),
    KeyLine("Left", "evidence.earlier", words.EARLIER, "evidence", repeats=True),
    KeyLine("Right", "evidence.later", words.LATER, "evidence", repeats=True),
    KeyLine("1", "evidence.first_cursor", words.FIRST_CURSOR, "evidence"),
    KeyLine("2", "evidence.second_cursor", words.SECOND_CURSOR, "evidence"),
    KeyLine("J", "evidence.cursor_back", words.CURSOR_BACK, "evidence", repeats=True),
    KeyLine("K", "evidence.cursor_on", words.CURSOR_ON, "evidence", repeats=True),
    KeyLine("X", "evidence.no_cursors", words.NO_CURSORS, "evidence"),
    KeyLine("G", "evidence.keep_picture", words.KEEP_PICTURE, "evidence"),
    KeyLine("L", "evidence.lay_over", words.LAY_OVER, "evidence"),
    KeyLine("C", "evidence.course", words.COURSE, "evidence"),
    KeyLine("M", "evidence.measure_again", words.MEASURE_AGAIN, "evidence"),
    KeyLine("Ctrl+Z", "undo.undo", words.UNDO, "everywhere"),
    KeyLine("P", "bench.attend", words.ATTEND, "everywhere"),
    KeyLine("Shift+W", "alone.list", alone.SHORTCUT_LIST, "everywhere"),
    *(KeyLine(view.key, f"view.{view.name}", view.words, "everywhere") for view in VIEWS),
    KeyLine("F8", "window.switch_sound", words.SOUND, "everywhere"),
    KeyLine("F9", "window.next_theme", words.THEME, "everywhere"),
    KeyLine("F11", "settings.open", words.SETTINGS, "everywhere"),
    KeyLine("Ctrl++", "window.larger", words.LARGER, "everywhere"),
    KeyLine("Ctrl+-", "window.smaller", words.SMALLER, "everywhere"),
    KeyLine("?", "window.keys", words.KEYS, "everywhere"),
    KeyLine("F12", "window.keys", words.KEYS, "everywhere"),
    KeyLine("Esc", "window.escape", words.ESCAPE, "everywhere"),
)
SIGNS = tuple(line.key for line in KEYS if len(line.key) == 1 and not line.key.isalnum())
"""the signs of the table; another one of the top row stands for its digit where that needs Shift"""
_NAMED = {
    Qt.Key.Key_Space: "Space",
    Qt.Key.Key_Return: "Enter",
    Qt.Key.Key_Enter: "Enter",
    Qt.Key.Key_Backspace: "Backspace",
    Qt.Key.Key_Escape: "Esc",
    Qt.Key.Key_Up: "Up",
    Qt.Key.Key_Down: "Down",
    Qt.Key.Key_PageUp: "PgUp",
    Qt.Key.Key_PageDown: "PgDn",
    Qt.Key.Key_Left: "Left",
    Qt.Key.Key_Right: "Right",
    Qt.Key.Key_Home: "Home",
    Qt.Key.Key_End: "End",
    Qt.Key.Key_Insert: "Insert",
    Qt.Key.Key_Delete: "Delete",
    Qt.Key.Key_Pause: "Pause",
}
NAMES = tuple(dict.fromkeys(_NAMED.values()))
"""what the keys are called that write nothing, in the table and in a shop's file"""


def key_of(event: QKeyEvent) -> str:
    """The name that the table uses for a key press; empty for what has none there, such as a bare modifier."""
    key, held = event.key(), event.modifiers()
    control = bool(held & Qt.KeyboardModifier.ControlModifier)
    if Qt.Key.Key_F1 <= key <= Qt.Key.Key_F12:
        return f"F{key - Qt.Key.Key_F1 + 1}"
    if key in _NAMED:
        return _NAMED[Qt.Key(key)]
    if letter := letter_of(event):
        shift = bool(held & Qt.KeyboardModifier.ShiftModifier)
        return f"{'Ctrl+' if control else ''}{'Shift+' if shift else ''}{letter}"
    if control and key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
        return "Ctrl++"
    if control and key == Qt.Key.Key_Minus:
        return "Ctrl+-"
    sign = event.text().strip() if not control else ""
    return sign if sign in SIGNS else digit_of(event) or sign


def press_of(key: str) -> QKeyEvent:
    """A press of a key that is named and held alone, or of a letter: what a click on it stands for."""
    code = next((code for code, name in _NAMED.items() if name == key), None)
    letter = len(key) == 1 and "A" <= key <= "Z"
    made = code if code is not None else Qt.Key(ord(key)) if letter else Qt.Key.Key_unknown
    return QKeyEvent(QEvent.Type.KeyPress, made, Qt.KeyboardModifier.NoModifier, key.lower() if letter else "")


def cap_of(key: str) -> str:
    """What is written on a key of the table: "Ctrl+B", "PgUp"."""
    return "+".join(words.CAPS.get(part, part) for part in re.split(r"\+(?=.)", key))


def find_key(name: str, view: str) -> KeyLine | None:
    """What a key does as it ships in a view, or in a lesson ("teaching"); None if nothing."""
    return next((k for k in KEYS if k.key == name and k.where in (view, "everywhere")), None)
