"""Colours, sizes and fonts of the window: every drawn thing takes them from here.

Two looks, light and dark, and a text scale. Outcomes never differ by colour alone: `shapes.py` gives each its form.
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass, replace
from functools import lru_cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QFontInfo, QGuiApplication
from PySide6.QtWidgets import QApplication, QStyle

from station.checks.types import Outcome

FAMILY = "Atkinson Hyperlegible"
SMALLEST_PX = 12.5
"""no text is smaller than this at 100 %"""
SCALES = (1.0, 1.15, 1.3, 1.5, 1.75, 2.0)


@dataclass(frozen=True, slots=True)
class Look:
    """One look: named colours and a text scale."""

    dark: bool
    ground: str
    pane: str
    line: str
    text: str
    dim: str
    good: str
    borderline: str
    bad: str
    accent: str
    scale: float = 1.0
    caps: tuple[tuple[str, str, str], ...] = ()
    """(view, key that ships, what is written on the key that does it now): keys that the shop moved"""

    def cap(self, where: str, key: str, shipped: str) -> str:
        """What is written on the key that does in a view what that one does as it ships."""
        return next((cap for view, old, cap in self.caps if (view, old) == (where, key)), shipped)

    @property
    def mark(self) -> str:
        """The colour that shows what is chosen and what has the keys: 3 : 1 against all that it stands on."""
        return self.accent

    @property
    def handle(self) -> str:
        """The colour of a scroll bar's handle."""
        return mix(self.line, self.dim, 0.75)

    def px(self, size: float) -> int:
        """A length at this scale, whole pixels."""
        return max(1, round(size * self.scale))

    def font(self, size: float, bold: bool = False) -> QFont:
        """The window's font at `size` pixels (at 100 %), figures of equal width."""
        return _font(max(size, SMALLEST_PX) * self.scale, bold)

    def outcome(self, outcome: Outcome) -> str:
        """The colour that goes with an outcome."""
        return {
            Outcome.PASS: self.good,
            Outcome.BORDERLINE: self.borderline,
            Outcome.FAIL: self.bad,
            Outcome.INTERRUPTED: self.borderline,
            Outcome.NOT_DONE: self.dim,
        }[outcome]

    def scaled(self, scale: float) -> Look:
        return replace(self, scale=scale)


DARK = Look(
    dark=True,
    ground="#15191d",
    pane="#1d2329",
    line="#333c44",
    text="#ece7dc",
    dim="#98a2a8",
    good="#3fb39a",
    borderline="#e0a030",
    bad="#e2673f",
    accent="#7fb2d6",
)
LIGHT = Look(
    dark=False,
    ground="#f1eee7",
    pane="#fbfaf6",
    line="#cfc9bb",
    text="#22272b",
    dim="#5d666c",
    good="#00705a",
    borderline="#8a5a00",
    bad="#b23b12",
    accent="#1f6391",
)


@lru_cache(maxsize=64)
def _font(size_px: float, bold: bool) -> QFont:
    font = QFont(FAMILY)
    font.setPixelSize(max(1, math.ceil(size_px)))
    font.setBold(bold)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


@lru_cache(maxsize=256)
def color(name: str) -> QColor:
    """The colour of a `#rrggbb` string (kept, because painting asks often)."""
    return QColor(name)


@lru_cache(maxsize=256)
def mix(first: str, second: str, share: float) -> str:
    """`share` of the second colour in the first, opaque: stands in for a transparent pen, which paints slowly."""
    a, b = QColor(first), QColor(second)
    parts = (round(p + (q - p) * share) for p, q in zip(a.getRgb()[:3], b.getRgb()[:3], strict=True))  # type: ignore[index]
    return "#{:02x}{:02x}{:02x}".format(*parts)


def system_is_dark() -> bool:
    """What the desktop asks for; light where it does not say."""
    return QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark


USUAL_TEXT_PX = {"windows": 12.0, "cocoa": 13.0}
"""text of a desktop whose size nobody changed: 9 pt on Windows, 13 pt of 72 dpi on macOS; elsewhere 11 pt of 96 dpi"""
USUAL_PX = 44 / 3
REDUCED = "RESTPOINT_MOTION"
"""the environment variable that says "reduced" or "full" where the desktop does not tell"""


def desktop_scale() -> float:
    """The type scale that goes with the desktop's own text size: the step of `SCALES` that is nearest to it."""
    pixels = QFontInfo(QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)).pixelSize()
    return nearest_scale(pixels / USUAL_TEXT_PX.get(QGuiApplication.platformName(), USUAL_PX))


def nearest_scale(wanted: float) -> float:
    return min(SCALES, key=lambda scale: abs(scale - wanted))


def motion_is_reduced() -> bool:
    """Whether nothing shall flash or move that only pleases: by the environment, else as the desktop has it.

    Qt 6.11 has no word of its own for it. A desktop that switches its animations off gives its style no time for them,
    and Windows switches the effects of menus off with them.
    """
    said = os.environ.get(REDUCED, "")
    if said in ("reduced", "full"):
        return said == "reduced"
    style = QApplication.style()
    windows = QGuiApplication.platformName() == "windows"
    still = style is not None and style.styleHint(QStyle.StyleHint.SH_Widget_Animation_Duration) == 0
    return still or (windows and not QApplication.isEffectEnabled(Qt.UIEffect.UI_General))


def look_of(theme: str, scale: float = 1.0) -> Look:
    """The look for "light", "dark" or "auto" (as the desktop has it)."""
    dark = system_is_dark() if theme == "auto" else theme == "dark"
    return (DARK if dark else LIGHT).scaled(scale)


LESSON_SIZES = ((84, 48), (58, 34), (44, 26), (34, 20), (28, 18))
"""pixels of a lesson's headline and prompt: the largest that there is room for is taken"""


def _lesson_rules(look: Look) -> list[str]:
    return [
        f'QLabel[role="headline{k}"] {{ font-size: {look.px(head)}px; font-weight: bold; }} '
        f'QLabel[role="prompt{k}"] {{ font-size: {look.px(text)}px; }} '
        for k, (head, text) in enumerate(LESSON_SIZES)
    ]


def style_sheet(look: Look) -> str:
    """The style sheet for ordinary widgets; painted ones take the look itself."""
    small, text, big = look.px(13), look.px(15), look.px(17)
    pad = look.px(6)
    well = mix(look.ground, look.pane, 0.0)
    return f"""
    * {{ font-family: "{FAMILY}"; font-size: {text}px; color: {look.text}; }}
    QMainWindow, #ground {{ background: {look.ground}; }}
    QToolTip {{ background: {look.pane}; color: {look.text}; border: 1px solid {look.line}; padding: 4px; }}
    #pane {{ background: {look.pane}; border: 1px solid {look.line}; border-radius: 6px; }}
    #card {{ background: {look.ground}; border: 2px solid {look.accent}; border-radius: 6px; }}
    #card[away="true"] {{ border-color: {look.borderline}; }}
    #doubt {{ background: {look.pane}; border: 1px solid {look.line}; border-radius: 4px; }}
    #doubt[now="true"] {{ border: 2px solid {look.accent}; }}
    #box {{ background: {look.ground}; border: 1px solid {look.line}; border-radius: 4px; }}
    #sheet {{ background: {look.pane}; border: 2px solid {look.accent}; border-radius: 8px; }}
    #arrival {{ background: {look.pane}; border: 2px solid {look.accent}; border-radius: 6px; }}
    QLabel {{ background: transparent; border: none; }}
    QLabel[role="dim"] {{ color: {look.dim}; }}
    QLabel[role="struck"] {{ color: {look.dim}; text-decoration: line-through; }}
    QLabel[role="small"] {{ color: {look.dim}; font-size: {small}px; }}
    QLabel[opens="true"]:focus {{ border: 2px solid {look.mark}; border-radius: 3px; }}
    QLabel[role="section"] {{ color: {look.dim}; font-size: {small}px; font-weight: bold; }}
    QLabel[role="does"] {{ color: {look.dim}; }}
    QLabel[role="does"]:hover {{ color: {look.accent}; }}
    QLabel[role="bold"] {{ font-weight: bold; }}
    QLabel[role="title"] {{ font-size: {big}px; font-weight: bold; }}
    QLabel[role="accent"] {{ color: {look.accent}; font-size: {big}px; font-weight: bold; }}
    QLabel[role="tag"] {{ font-size: {look.px(26)}px; font-weight: bold; }}
    QLabel[role="control"] {{ font-size: {look.px(34)}px; font-weight: bold; }}
    {"".join(_lesson_rules(look))}
    QLabel[role="keys"] {{ font-size: {look.px(18)}px; font-weight: bold; }}
    QLabel[role="sign"] {{ font-size: {look.px(22)}px; }}
    QLabel[role="do"] {{ font-size: {look.px(18)}px; }}
    QLabel[role="caution"] {{ color: {look.borderline}; font-weight: bold; }}
    QLabel[role="cautionrest"] {{ color: {look.borderline}; }}
    QLabel[role="bad"] {{ color: {look.bad}; font-weight: bold; }}
    QLabel[role="good"] {{ color: {look.good}; font-weight: bold; }}
    QLabel[role="signgood"] {{ color: {look.good}; font-size: {look.px(22)}px; font-weight: bold; }}
    QLabel[role="borderline"] {{ color: {look.borderline}; font-weight: bold; }}
    QLineEdit, QPlainTextEdit {{
        background: {well}; border: 1px solid {look.dim}; border-radius: 4px; padding: {pad}px;
        selection-background-color: {look.accent}; selection-color: {look.ground}; }}
    QLineEdit, QPlainTextEdit {{ placeholder-text-color: {look.dim}; }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 2px solid {look.accent}; padding: {max(pad - 1, 1)}px; }}
    QPushButton {{
        background: {look.pane}; border: 1px solid {look.dim}; border-radius: 5px;
        padding: {pad}px {look.px(8)}px; font-weight: bold; }}
    QPushButton:hover {{ border-color: {look.accent}; }}
    QPushButton:focus, QPushButton[wanted="true"] {{ border: 2px solid {look.accent}; }}
    QPushButton:disabled {{ color: {look.dim}; border-color: {look.line}; }}
    QPushButton[view="true"] {{ border: none; background: transparent; color: {look.dim};
        padding: {look.px(4)}px {look.px(7)}px; border-radius: 4px; }}
    QPushButton[view="true"]:checked {{ color: {look.text}; background: {look.line};
        border-bottom: 2px solid {look.mark}; }}
    QScrollArea, QScrollArea > QWidget > QWidget, QListView {{ background: transparent; border: none; }}
    QScrollBar:vertical {{ background: transparent; width: {look.px(10)}px; margin: 0; }}
    QScrollBar::handle:vertical {{ background: {look.handle}; min-height: 24px; border-radius: {look.px(5)}px; }}
    QScrollBar::handle:vertical:hover {{ background: {look.dim}; }}
    QScrollBar:horizontal {{ background: transparent; height: {look.px(10)}px; margin: 0; }}
    QScrollBar::handle:horizontal {{ background: {look.handle}; min-width: 24px; border-radius: {look.px(5)}px; }}
    QScrollBar::handle:horizontal:hover {{ background: {look.dim}; }}
    QScrollBar::add-line, QScrollBar::sub-line, QScrollBar::add-page, QScrollBar::sub-page {{
        background: none; height: 0; width: 0; border: none; }}
    QSplitter::handle {{ background: transparent; }}
    QSplitter::handle:hover {{ background: {look.accent}; }}
    QTableView {{ background: {look.pane}; alternate-background-color: {look.ground}; border: 1px solid {look.line};
        border-radius: 6px; padding: 1px; gridline-color: transparent; selection-background-color: {look.line};
        selection-color: {look.text}; outline: none; }}
    QTableView:focus {{ border: 2px solid {look.accent}; padding: 0px; }}
    QTableView::item {{ padding: 0 {pad}px; border: none; }}
    QTableView::item:selected {{ border-top: 2px solid {look.mark}; border-bottom: 2px solid {look.mark}; }}
    QHeaderView {{ background: {look.pane}; }}
    QHeaderView::section {{ background: {look.pane}; color: {look.dim}; border: none;
        border-bottom: 1px solid {look.line}; padding: {pad}px {pad + 3}px; font-size: {small}px; font-weight: bold; }}
    QTableCornerButton::section {{ background: {look.pane}; border: none; }}
    """
