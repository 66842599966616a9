"""Every key of the window, in one table: the overlay draws it, the window acts on it, a test holds the two together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

Where = Literal["everywhere", "bench", "teaching", "lots", "shelf"]


@dataclass(frozen=True, slots=True)
class KeyLine:
    """`action` names the window's method; `repeats`: holding the key down repeats it."""

    key: str
    action: str
    words: str
    where: Where = "bench"
    repeats: bool = False


KEYS = (
    KeyLine("Space", "go", "start the check · end it now · next"),
    KeyLine("Enter", "go", "the same; answers for a device that was plugged in"),
    KeyLine("Backspace", "take_back", "take the last beat back"),
    KeyLine("R", "again", "do this check again"),
    KeyLine("Y", "answer_yes", "asked: good"),
    KeyLine("N", "no_or_note", "asked: not good; else write a note"),
    KeyLine("Up", "previous", "the check before", repeats=True),
    KeyLine("Down", "following", "the check after", repeats=True),
    KeyLine("M", "mark", "mark this check by hand"),
    KeyLine("S", "skip", "skip this check, with a reason"),
    KeyLine("H", "strength", "press harder or lighter, or with a known mass"),
    KeyLine("F", "finish", "end the visit"),
    KeyLine("V", "visit", "start a visit for this unit"),
    KeyLine("T", "treatment", "log a treatment"),
    KeyLine("Shift+N", "note", "write a note"),
    KeyLine("C", "certificate", "write the certificate"),
    KeyLine("E", "edit", "edit claim, condition, rest date"),
    KeyLine("B", "becomes", "say what becomes of the unit"),
    KeyLine("A", "all_rows", "all checks side by side, or the few that matter"),
    KeyLine("PgUp", "record_up", "the record, upwards", repeats=True),
    KeyLine("PgDn", "record_down", "the record, downwards", repeats=True),
    KeyLine("U", "find", "find a unit by its tag"),
    KeyLine("D", "sample", "plug in a simulated sample unit"),
    KeyLine("O", "other", "a device that does not say what it is"),
    KeyLine("Ctrl+B", "backups", "put a back-up in the place of the records"),
    KeyLine("Ctrl+S", "save_sheet", "save this model's sheet"),
    KeyLine("F5", "teach", "teach this device: a walk that makes its sheet"),
    KeyLine("F6", "next_pane", "narrow window: the next pane"),
    KeyLine("Space", "teach_next", "this step is done · go on · save", "teaching"),
    KeyLine("Enter", "teach_next", "the same", "teaching"),
    KeyLine("R", "teach_again", "this step again", "teaching"),
    KeyLine("Backspace", "teach_back", "the step before, again", "teaching"),
    KeyLine("P", "teach_pause", "pause", "teaching"),
    KeyLine("1", "teach_first", "first answer", "teaching"),
    KeyLine("2", "teach_second", "second answer", "teaching"),
    KeyLine("3", "teach_third", "third answer", "teaching"),
    KeyLine("Up", "teach_up", "the question before", "teaching", repeats=True),
    KeyLine("Down", "teach_down", "the question after", "teaching", repeats=True),
    KeyLine("PgUp", "teach_page_up", "what was learned, upwards", "teaching", repeats=True),
    KeyLine("PgDn", "teach_page_down", "what was learned, downwards", "teaching", repeats=True),
    KeyLine("Esc", "teach_stop", "stop; what was seen is kept", "teaching"),
    KeyLine("L", "new_lot", "new lot", "lots"),
    KeyLine("E", "edit_lot", "edit the lot: price, seller", "lots"),
    KeyLine("I", "new_unit", "new unit in this lot", "lots"),
    KeyLine("G", "give_up", "give the unit up for parts", "lots"),
    KeyLine("A", "part_came", "a part that is waited for has come", "lots"),
    KeyLine("B", "lot_becomes", "say what becomes of the unit", "lots"),
    KeyLine("/", "search", "search units", "lots"),
    KeyLine("F6", "next_lot_pane", "from the lots to the lot and back", "lots"),
    KeyLine("I", "new_part", "put a part on the shelf", "shelf"),
    KeyLine("P", "attend", "answer for the device that was plugged in", "everywhere"),
    KeyLine("F1", "show_bench", "Bench", "everywhere"),
    KeyLine("F2", "show_lots", "Lots", "everywhere"),
    KeyLine("F3", "show_shelf", "Shelf", "everywhere"),
    KeyLine("F4", "show_due", "Due", "everywhere"),
    KeyLine("F8", "sound", "sound on or off", "everywhere"),
    KeyLine("F9", "theme", "light, dark, as the desktop", "everywhere"),
    KeyLine("Ctrl++", "larger", "larger type", "everywhere"),
    KeyLine("Ctrl+-", "smaller", "smaller type", "everywhere"),
    KeyLine("?", "keys", "all keys", "everywhere"),
    KeyLine("F12", "keys", "all keys", "everywhere"),
    KeyLine("Esc", "escape", "back; put a message away; back to the unit on the bench", "everywhere"),
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
    """The name that the table uses for a key press; empty for a bare modifier."""
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
    """What a key does in a view."""
    return next((k for k in KEYS if k.key == name and k.where in (view, "everywhere")), None)
