"""Untrusted strings made plain.

Lives in the lowest layer that meets strings from outside (a capture's, a device's), so that every layer
above gets them already harmless. What is dropped: control characters (escape sequences, newlines, NUL),
format characters (bidirectional overrides, zero-width joiners: Unicode category Cf), surrogates, private
use and unassigned code points. What is kept: letters, marks, numbers, punctuation, signs, plain spaces.
Markup is not interpreted here: who draws the text draws it as plain text.
"""

from __future__ import annotations

import unicodedata


def plain_text(text: str, limit: int = 64) -> str:
    """`text` as one printable line of at most `limit` characters (an ellipsis marks a cut).

    Runs of white space become one space. Only the first 16 × `limit` characters are looked at, so a
    hostile length costs nothing; at most two combining marks in a row are kept.
    """
    kept: list[str] = []
    marks = 0
    for char in unicodedata.normalize("NFC", text[: 16 * limit]):
        category = unicodedata.category(char)
        if char.isspace() or category == "Zs":
            char, category = " ", "Zs"
        elif category[0] == "C":
            continue
        marks = marks + 1 if category in ("Mn", "Me") else 0
        if marks <= 2 and not (char == " " and kept[-1:] in ([" "], [])):
            kept.append(char)
    line = "".join(kept).rstrip(" ")
    return line if len(line) <= limit else line[: limit - 1].rstrip(" ") + "…"
