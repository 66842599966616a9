"""Colours, sizes and shapes hold what the drawing promises."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QFontMetricsF, QGuiApplication, QImage, QPainter
from PySide6.QtWidgets import QApplication, QProxyStyle, QStyle

from station.checks.types import Outcome
from station.ui.painting.look import (
    DARK,
    FAMILY,
    LIGHT,
    REDUCED,
    SCALES,
    SMALLEST_PX,
    Look,
    desktop_scale,
    motion_is_reduced,
    style_sheet,
)
from station.ui.painting.shapes import CAUTION, RUNNING, Shape, draw_shape

LOOKS = pytest.mark.parametrize("look", [DARK, LIGHT], ids=["dark", "light"])


def luminance(name: str) -> float:
    """Relative luminance, WCAG 2.2 definition (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    parts = [c / 255 for c in QColor(name).getRgb()[:3]]  # type: ignore[index]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@LOOKS
@pytest.mark.parametrize("tone", ["text", "dim", "good", "borderline", "bad", "accent"])
def test_every_text_colour_reads_on_ground_and_pane(look: Look, tone: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 : 1."""
    assert contrast(getattr(look, tone), look.pane) >= 4.5
    assert contrast(getattr(look, tone), look.ground) >= 4.5


@LOOKS
@pytest.mark.parametrize("tone", ["mark", "handle"])
def test_what_shows_focus_choice_and_place_stands_out(look: Look, tone: str) -> None:
    """WCAG 2.2, success criterion 1.4.11: at least 3 : 1 against what it stands on."""
    assert contrast(getattr(look, tone), look.pane) >= 3
    assert contrast(getattr(look, tone), look.ground) >= 3


def test_the_formula_gives_the_published_ends() -> None:
    """Black on white is 21 : 1 (WCAG 2.2, contrast ratio), and #767676 on white 4.54 : 1 (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(
    ("pixels", "platform", "scale"),
    [
        (12, "windows", 1.0),
        (18, "windows", 1.5),
        (44 / 3, "wayland", 1.0),
        (22, "xcb", 1.5),
        (9, "xcb", 1.0),
        (60, "xcb", 2.0),
    ],
)
def test_type_follows_the_text_size_of_the_desktop(
    monkeypatch: pytest.MonkeyPatch, pixels: float, platform: str, scale: float
) -> None:
    font = QFont(FAMILY)
    font.setPixelSize(round(pixels))
    monkeypatch.setattr(QFontDatabase, "systemFont", lambda kind: font)
    monkeypatch.setattr(QGuiApplication, "platformName", lambda: platform)
    assert desktop_scale() == scale


@pytest.mark.parametrize(("said", "reduced"), [("reduced", True), ("full", False)])
def test_motion_is_as_the_environment_says(monkeypatch: pytest.MonkeyPatch, said: str, reduced: bool) -> None:
    monkeypatch.setenv(REDUCED, said)
    assert motion_is_reduced() is reduced


@pytest.mark.parametrize(("time_ms", "reduced"), [(0, True), (200, False)])
def test_motion_is_as_the_desktop_says(
    qapp: object, monkeypatch: pytest.MonkeyPatch, time_ms: int, reduced: bool
) -> None:
    """A desktop that switches animations off leaves its style no time for them."""
    monkeypatch.delenv(REDUCED, raising=False)

    class Style(QProxyStyle):
        def styleHint(self, hint: QStyle.StyleHint, *more: object) -> int:
            return time_ms if hint == QStyle.StyleHint.SH_Widget_Animation_Duration else 0

    style = Style("Fusion")
    monkeypatch.setattr(QApplication, "style", lambda: style)
    assert motion_is_reduced() is reduced


@pytest.mark.parametrize("scale", SCALES)
def test_no_type_is_smaller_than_the_least_size(scale: float) -> None:
    for size in (8, 12.5, 13):
        assert DARK.scaled(scale).font(size).pixelSize() >= SMALLEST_PX * scale


def test_figures_are_of_equal_width(qapp: object) -> None:
    metrics = QFontMetricsF(DARK.font(15))
    assert DARK.font(15).family() == FAMILY
    assert len({round(metrics.horizontalAdvance(d * 10), 3) for d in "0123456789"}) == 1


@LOOKS
def test_the_style_sheet_names_no_size_below_the_least(look: Look) -> None:
    import re

    sizes = [int(s) for s in re.findall(r"font-size: (\d+)px", style_sheet(look))]
    assert min(sizes) >= SMALLEST_PX


def silhouette(shape: Shape) -> np.ndarray:
    """A shape in one colour: what somebody sees who sees no colours."""
    grey = Look(True, *(["#000000"] * 2), "#808080", *(["#ffffff"] * 6))
    image = QImage(48, 48, QImage.Format.Format_Grayscale8)
    image.fill(Qt.GlobalColor.black)
    painter = QPainter(image)
    draw_shape(painter, QRectF(8, 8, 32, 32), shape, grey)
    painter.end()
    return np.frombuffer(image.constBits(), np.uint8).reshape(48, image.bytesPerLine())[:, :48] / 255.0


@pytest.mark.parametrize(
    ("first", "second"), list(combinations([*Outcome, RUNNING, CAUTION], 2)), ids=lambda s: str(getattr(s, "value", s))
)
def test_outcomes_differ_in_shape_without_any_colour(qapp: object, first: Shape, second: Shape) -> None:
    a, b = silhouette(first), silhouette(second)
    assert np.abs(a - b).sum() > 0.25 * max(a.sum(), b.sum())
