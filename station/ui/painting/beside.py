"""A list beside what it tells of, or above it where the window is narrow."""

from __future__ import annotations

from PySide6.QtWidgets import QBoxLayout, QWidget

from station.ui.painting.look import Look

NARROW_PX = 900
"""below this there is no room for two things side by side"""
UNBOUNDED = 16_777_215
"""Qt's own for a size without a bound"""


def fold(sides: QBoxLayout, room: QWidget, look: Look) -> bool:
    """Lay the sides out beside each other, or above where the room is narrow, which is what it returns."""
    narrow = room.width() < look.px(NARROW_PX)
    sides.setDirection(QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight)
    return narrow


def fold_list(sides: QBoxLayout, listed: QWidget, room: QWidget, look: Look, size: tuple[int, float]) -> None:
    """The same with a list of a fixed size: so many pixels wide beside, such a share of the height above."""
    wide_px, share = size
    listed.setMinimumSize(0, 0)
    listed.setMaximumSize(UNBOUNDED, UNBOUNDED)
    if fold(sides, room, look):
        listed.setFixedHeight(max(round(share * room.height()), 1))
    else:
        listed.setFixedWidth(look.px(wide_px))
