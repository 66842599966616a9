"""A line of keys that can be clicked: "Space: next · R: do it again". Whatever a key can, the mouse can too."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from typing import Protocol, cast

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtWidgets import QLabel

from station.ui.keys import KEYS, cap_of
from station.ui.painting.look import Look
from station.words import common

_OWN = ("Enter", "Esc", "Tab", "Delete")
"""keys of panels and tables that stand in no table of keys"""
_DIM = ("dim", "small", "section")
"""roles whose words are drawn faintly"""
KEY_OF_CAP = {cap_of(key): key for key in (*_OWN, *(line.key for line in KEYS))}
"""what is written on a key → its name in the table of keys"""
_PIECES = re.compile(r"(\S+?)(,? +)")


class TakesClicks(Protocol):
    """A part of the window that a click on a key is handed to: the nearest one around the line of keys."""

    def key_clicked(self, key: str) -> None: ...


def key_hints(text: str) -> tuple[tuple[str, str], ...]:
    """(text, the key that a click on it stands for, "" for none), which together are the whole text.

    A part between two dots is clickable where a key's cap stands before its colon, alone or at the end of a list.
    """
    found: list[tuple[str, str]] = []
    for k, part in enumerate(text.split(common.DOT)):
        if k:
            found.append((common.DOT, ""))
        found += _of_part(part)
    return tuple(found)


def _of_part(part: str) -> list[tuple[str, str]]:
    before, colon, what = part.partition(":")
    if not colon:
        return [(part, "")]
    found: list[tuple[str, str]] = []
    caps = _PIECES.split(f"{before} ")[:-1]  # word, what follows it, …
    words = [(caps[i + 1], caps[i + 2]) for i in range(0, len(caps) - 2, 3)]
    for n, (cap, gap) in enumerate(words):
        key = KEY_OF_CAP.get(cap, "")
        if n == len(words) - 1:
            found.append((f"{cap}:{what}", key))
        else:
            found += [(cap, key if gap.startswith(",") else ""), (gap, "")]
    return found


class KeyHints(QLabel):
    """Shows and reads like a label; what a key does can be clicked."""

    _heights: dict[int, int]
    _hint: QSize | None
    _least: QSize | None

    def __init__(self, text: str, look: Look, role: str = "small", wrap: bool = True, *, where: str = "") -> None:
        """`where`: the view whose keys they are, so that one that the shop moved is written as it is now."""
        super().__init__()
        self._look, self._plain, self._where = look, "", where
        self._forget()
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setWordWrap(wrap)
        self.setProperty("role", role)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # the keys stay where they are
        self.setTextInteractionFlags(Qt.TextInteractionFlag.LinksAccessibleByMouse)
        self.linkActivated.connect(self._clicked)
        self.setText(text)

    def set_look(self, look: Look) -> None:
        if look != self._look:
            self._look = look
            self._show()

    def text(self) -> str:
        """As it reads, without markup."""
        return "".join(text for text, _ in self._parts())

    def setText(self, text: str) -> None:
        if text != self._plain:
            self._plain = text
            self._show()

    def _parts(self) -> list[tuple[str, str]]:
        """(text, key) as `key_hints` has them, each key as it is written now."""
        return [(self._as_now(text, key), key) for text, key in key_hints(self._plain)]

    def _as_now(self, text: str, key: str) -> str:
        shipped = cap_of(key)
        cap = self._look.cap(self._where, key, shipped) if key and self._where else shipped
        return cap + text[len(shipped) :] if cap != shipped and text.startswith(shipped) else text

    def heightForWidth(self, width: int) -> int:
        """Kept, because Qt lays markup out anew for each width that it is asked about, and paints it again after."""
        if width not in self._heights:
            self._heights[width] = super().heightForWidth(width)
        return self._heights[width]

    def sizeHint(self) -> QSize:
        if self._hint is None:
            self._hint = super().sizeHint()
        return self._hint

    def minimumSizeHint(self) -> QSize:
        if self._least is None:
            self._least = super().minimumSizeHint()
        return self._least

    def changeEvent(self, event: QEvent) -> None:
        """Another font or style takes other room."""
        super().changeEvent(event)
        self._forget()

    def _forget(self) -> None:
        self._heights = {}
        self._hint = self._least = None

    def clickable(self) -> Sequence[str]:
        """The keys that can be clicked."""
        return [key for _, key in key_hints(self._plain) if key]

    def click(self, key: str) -> None:
        """As if that part of the line had been clicked."""
        self._clicked(key)

    def _show(self) -> None:
        strong = self._look.text
        tone = self._look.dim if self.property("role") in _DIM else strong
        style = f"color:{tone};text-decoration:none"
        parts = (
            f'<a href="{html.escape(key)}" style="{style}">{_marked(text, strong)}</a>' if key else html.escape(text)
            for text, key in self._parts()
        )
        self._forget()
        self.setAccessibleName(self.text())
        super().setText("".join(parts).replace("\N{NO-BREAK SPACE}", "&nbsp;"))

    def _clicked(self, key: str) -> None:
        around = self.parentWidget()
        while around is not None and not hasattr(around, "key_clicked"):
            around = around.parentWidget()
        if around is not None:
            cast(TakesClicks, around).key_clicked(key)


def _marked(text: str, tone: str) -> str:
    """The cap bold, what it does plain."""
    cap, colon, what = text.partition(":")
    return f'<b style="color:{tone}">{html.escape(cap)}</b>{colon}{html.escape(what)}'
