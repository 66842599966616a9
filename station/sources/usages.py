"""Which HID usages are a game controller's and which are private. Nothing else, so that it loads at once."""

from __future__ import annotations

_DESKTOP, _DIGITIZER = 0x01 << 16, 0x0D
GAME_USAGES = frozenset({_DESKTOP | 0x04, _DESKTOP | 0x05, _DESKTOP | 0x08})
"""Joystick, Game Pad, Multi-axis Controller (HID Usage Tables, Generic Desktop page)"""
PRIVATE_USAGES = frozenset({_DESKTOP | 0x01, _DESKTOP | 0x02, _DESKTOP | 0x06, _DESKTOP | 0x07})
"""Pointer, Mouse, Keyboard, Keypad"""


def is_private(usage: int) -> bool:
    """Whether an application usage is that of something people type or point with."""
    return usage in PRIVATE_USAGES or usage >> 16 == _DIGITIZER


def is_game(usage: int) -> bool:
    """Whether an application usage is that of a game controller."""
    return usage in GAME_USAGES
