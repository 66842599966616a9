"""The views and every key of the window, in two tables: the overlay draws them, the window acts on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

ViewName = Literal["bench", "lots", "shelf", "due"]
Where = Literal["everywhere", "bench", "teaching", "lots", "shelf", "due"]


@dataclass(frozen=True, slots=True)
class ViewLine:
    """One view of the window: the key that shows it, its name, its word."""

    key: str
    name: ViewName
    words: str


VIEWS = (
    ViewLine("F1", "bench", "Bench"),
    ViewLine("F2", "lots", "Lots"),
    ViewLine("F3", "shelf", "Shelf"),
    ViewLine("F4", "due", "Due"),
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
    KeyLine("Space", "visit.go", "start the check · end it now · next"),
    KeyLine("Enter", "visit.go", "the same; answers for a device that was plugged in"),
    KeyLine("Backspace", "visit.take_back", "take the last beat back"),
    KeyLine("R", "visit.again", "do this check again"),
    KeyLine("Y", "visit.answer_yes", "asked: good"),
    KeyLine("N", "visit.no_or_note", "asked: not good; else write a note"),
    KeyLine("Up", "visit.previous", "the check before", repeats=True),
    KeyLine("Down", "visit.following", "the check after", repeats=True),
    KeyLine("M", "visit.mark", "mark this check by hand"),
    KeyLine("S", "visit.skip", "skip this check, with a reason"),
    KeyLine("H", "visit.strength", "press harder or lighter, or with a known mass"),
    KeyLine("F", "visit.finish", "end the visit"),
    KeyLine("V", "bench.visit", "start a visit for this unit"),
    KeyLine("T", "record.treatment", "log a treatment"),
    KeyLine("Shift+N", "record.note", "write a note"),
    KeyLine("C", "record.write_certificate", "write the certificate"),
    KeyLine("E", "record.edit", "edit claim, condition, rest date"),
    KeyLine("B", "record.becomes", "say what becomes of the unit"),
    KeyLine("A", "record.all_rows", "all checks side by side, or the few that matter"),
    KeyLine("PgUp", "record.page_up", "the record, upwards", repeats=True),
    KeyLine("PgDn", "record.page_down", "the record, downwards", repeats=True),
    KeyLine("U", "bench.find", "find a unit by its tag"),
    KeyLine("D", "bench.sample", "plug in a simulated sample unit"),
    KeyLine("O", "bench.silent", "a device that does not say what it is"),
    KeyLine("Ctrl+B", "window.backups", "put a back-up in the place of the records"),
    KeyLine("Ctrl+S", "bench.save_sheet", "save this model's sheet"),
    KeyLine("F5", "teaching.begin", "teach this device: a walk that makes its sheet"),
    KeyLine("F6", "window.next_pane", "narrow window: the next pane"),
    KeyLine("Space", "teaching.next", "this step is done · go on · save", "teaching"),
    KeyLine("Enter", "teaching.next", "the same", "teaching"),
    KeyLine("R", "teaching.again", "this step again", "teaching"),
    KeyLine("Backspace", "teaching.back", "the step before, again", "teaching"),
    KeyLine("P", "teaching.pause", "pause", "teaching"),
    KeyLine("1", "teaching.first", "first answer", "teaching"),
    KeyLine("2", "teaching.second", "second answer", "teaching"),
    KeyLine("3", "teaching.third", "third answer", "teaching"),
    KeyLine("Up", "teaching.up", "the question before", "teaching", repeats=True),
    KeyLine("Down", "teaching.down", "the question after", "teaching", repeats=True),
    KeyLine("PgUp", "teaching.page_up", "what was learned, upwards", "teaching", repeats=True),
    KeyLine("PgDn", "teaching.page_down", "what was learned, downwards", "teaching", repeats=True),
    KeyLine("Esc", "teaching.stop", "stop; what was seen is kept", "teaching"),
    KeyLine("L", "lots.new_lot", "new lot", "lots"),
    KeyLine("E", "lots.edit_lot", "edit the lot: price, seller", "lots"),
    KeyLine("I", "lots.new_unit", "new unit in this lot", "lots"),
    KeyLine("G", "lots.give_up", "give the unit up for parts", "lots"),
    KeyLine("A", "lots.part_came", "a part that is waited for has come", "lots"),
    KeyLine("B", "lots.becomes", "say what becomes of the unit", "lots"),
    KeyLine("/", "lots.search", "search units", "lots"),
    KeyLine("F6", "lots.next_pane", "from the lots to the lot and back", "lots"),
    KeyLine("I", "lots.new_part", "put a part on the shelf", "shelf"),
    KeyLine("P", "bench.attend", "answer for the device that was plugged in", "everywhere"),
    *(KeyLine(view.key, f"view.{view.name}", view.words, "everywhere") for view in VIEWS),
    KeyLine("F8", "window.switch_sound", "sound on or off", "everywhere"),
    KeyLine("F9", "window.next_theme", "light, dark, as the desktop", "everywhere"),
    KeyLine("Ctrl++", "window.larger", "larger type", "everywhere"),
    KeyLine("Ctrl+-", "window.smaller", "smaller type", "everywhere"),
    KeyLine("?", "window.keys", "all keys", "everywhere"),
    KeyLine("F12", "window.keys", "all keys", "everywhere"),
    KeyLine("Esc", "window.escape", "back; put a message away; back to the unit on the bench", "everywhere"),
)
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
}


def key_of(event: QKeyEvent) -> str:
    """The name that the table uses for a key press; empty for what has none there, such as a bare modifier."""
    key, held = event.key(), event.modifiers()
    control = bool(held & Qt.KeyboardModifier.ControlModifier)
    if Qt.Key.Key_F1 <= key <= Qt.Key.Key_F12:
        return f"F{key - Qt.Key.Key_F1 + 1}"
    if key in _NAMED:
        return _NAMED[Qt.Key(key)]
    if Qt.Key.Key_A <= key <= Qt.Key.Key_Z:
        shift = bool(held & Qt.KeyboardModifier.ShiftModifier)
        return f"{'Ctrl+' if control else ''}{'Shift+' if shift else ''}{chr(key)}"
    if control and key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
        return "Ctrl++"
    if control and key == Qt.Key.Key_Minus:
        return "Ctrl+-"
    return event.text().strip() if not control else ""


def find_key(name: str, view: str) -> KeyLine | None:
    """What a key does in a view, or in a lesson ("teaching"); None if nothing."""
    return next((k for k in KEYS if k.key == name and k.where in (view, "everywhere")), None)
