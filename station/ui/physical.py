"""Letters and digits by the place of their key, where the keyboard's own alphabet has none there.

A key that writes a Latin letter is that letter, wherever the layout has put it: that is what stands on it, and what the
window names. A keyboard of another alphabet (Greek, Cyrillic, Hebrew, Arabic, Georgian …) writes none; there the key
counts that stands where the letter is on a keyboard with the letters QWERTY in its top row, which such keyboards bear
beside their own. The same for digits where they need Shift.

Places: X11 and Wayland give the kernel's code plus 8 (linux/input-event-codes.h: KEY_Q 16, KEY_A 30, KEY_Z 44,
KEY_1 2); Windows gives a virtual key that is the Latin letter itself ("Virtual-Key Codes", 0x30–0x39 and 0x41–0x5A);
macOS gives kVK_ANSI_* (HIToolbox/Events.h).
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent

_KERNEL = {
    code + k: sign
    for code, row in ((2, "1234567890"), (16, "QWERTYUIOP"), (30, "ASDFGHJKL"), (44, "ZXCVBNM"))
    for k, sign in enumerate(row)
}
_MAC = {
    0: "A", 1: "S", 2: "D", 3: "F", 4: "H", 5: "G", 6: "Z", 7: "X", 8: "C", 9: "V", 11: "B", 12: "Q", 13: "W",
    14: "E", 15: "R", 16: "Y", 17: "T", 18: "1", 19: "2", 20: "3", 21: "4", 22: "6", 23: "5", 25: "9", 26: "7",
    28: "8", 29: "0", 31: "O", 32: "U", 34: "I", 35: "P", 37: "L", 38: "J", 40: "K", 45: "N", 46: "M",
}  # fmt: skip
X11_OFFSET = 8


def letter_of(event: QKeyEvent) -> str:
    """The Latin capital that a key stands for, "" for none. Of a layout that writes Latin letters it is what is
    written; of others the letter of the key's place."""
    key, text = event.key(), event.text()
    if Qt.Key.Key_A <= key <= Qt.Key.Key_Z:
        return chr(key)
    sign = _at_place(event)
    if not sign.isalpha():
        return ""
    # a sign such as ö or a comma is a key of its own; where all letters are foreign the letter of the place is meant
    return sign if _names_letters(event) or (text.isalpha() and not _latin(text)) else ""


def digit_of(event: QKeyEvent) -> str:
    """The digit that a key stands for, "" for none: what it writes, or would write with Shift ("&" and "é" on French
    keyboards)."""
    text = event.text()
    if text.isdecimal():
        return str(int(text))
    plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    sign = _at_place(event)
    return sign if sign.isdecimal() and plain and text.isprintable() and text else ""


def _latin(text: str) -> bool:
    """Whether a letter belongs to the Latin alphabet with its accents (Unicode blocks up to Latin Extended-B)."""
    return ord(text[0]) < 0x0250


def _names_letters(event: QKeyEvent) -> bool:
    """Whether the system gives the letter itself, by the layout's own account."""
    return QGuiApplication.platformName() == "windows"


def _at_place(event: QKeyEvent) -> str:
    """What a QWERTY keyboard has at the place of the key; "" where the system does not tell."""
    platform = QGuiApplication.platformName()
    if platform == "windows":
        key = event.nativeVirtualKey()
        return chr(key) if 0x30 <= key <= 0x39 or 0x41 <= key <= 0x5A else ""
    if platform == "cocoa":
        return _MAC.get(event.nativeVirtualKey(), "") if event.text() else ""
    return _KERNEL.get(event.nativeScanCode() - X11_OFFSET, "")
