"""Untrusted strings made plain.

Lives in the lowest layer that meets strings from outside (a capture's, a device's), so that every layer
above gets them already harmless. What is dropped: control characters (escape sequences, newlines, NUL),
format characters (bidirectional overrides, zero-width joiners: Unicode category Cf), surrogates, private
use and unassigned code points. What is kept: letters, marks, numbers, punctuation, signs, plain spaces.
Markup is not interpreted here: who draws the text draws it as plain text.

What a person typed or another bench recorded is not dropped but shown: `visible` puts a number in the place of each
sign that cannot be seen, so that two texts that look alike are alike; `unseen` is asked where such a sign is refused.
"""

from __future__ import annotations

import unicodedata

_BLANKS = "\u115f\u1160\u3164\uffa0\u2800"
"""letters and signs that are drawn as nothing: fillers of Hangul, the empty pattern of Braille"""
_JOINERS = "\u034f\u17b4\u17b5\u180b\u180c\u180d\u180f"
"""marks that are not drawn"""
_UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def visible(text: str) -> str:
    """`text` with the number of each sign that cannot be seen (controls, bidirectional and zero-width ones) in its
    place: "SM-07-‹202E›10". Line feeds and tabs stay. What it gives it leaves as it is."""
    if text.isprintable():
        return text
    return "".join(f"‹{ord(char):04X}›" if _is_unseen(char) else char for char in text)


def visible_line(text: str, most: int = 0) -> str:
    """The same on one line; of more than `most` signs the first ones (0: all)."""
    text = text[:most] + "…" if most and len(text) > most else text
    return visible(text).replace("\n", "‹000A›").replace("\t", "‹0009›")


def unseen(text: str) -> str:
    """The first sign of the text that cannot be seen, as `visible` shows it; empty if there is none."""
    return "" if text.isprintable() else next((visible(char) for char in text if _is_unseen(char)), "")


def _is_unseen(char: str) -> bool:
    return char not in "\n\t" and unicodedata.category(char) in _UNSEEN


def looks(text: str) -> str:
    """What texts that look alike have in common: compatibility forms made plain (NFKC: full width, ligatures), signs
    that cannot be seen left out, blanks made one space, capitals made small. Empty if nothing is to be seen."""
    plain = unicodedata.normalize("NFKC", text)
    seen = "".join(" " if char in _BLANKS or char in "\n\t" else char for char in plain if not _is_hidden(char))
    return unicodedata.normalize("NFKC", " ".join(seen.split()).casefold())


def _is_hidden(char: str) -> bool:
    return _is_unseen(char) or char in _JOINERS or "\ufe00" <= char <= "\ufe0f" or "\U000e0100" <= char <= "\U000e01ef"


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
