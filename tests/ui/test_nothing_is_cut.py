"""No text is cut off or printed over another: every view, card and panel, in narrow windows and in large type."""

from __future__ import annotations

from collections.abc import Callable

import draw_scenes
import places
import pytest
from drawn_text import problems
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

from station.ui.painting.look import LIGHT
from station.ui.painting.tables import Line, LineTable
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel

NARROW, SMALL, LARGE = (520, 720), (1280, 720), (1920, 1080)
DRESSES = (
    *((size, scale, "light") for size in (NARROW, SMALL, LARGE) for scale in (1.0, 2.0)),
    (NARROW, 1.0, "dark"),
    (SMALL, 2.0, "dark"),
)
"""every size at 100 % and 200 % of type, and the other look where least room is left"""
PANEL_DRESSES = ((NARROW, 1.0, "light"), (SMALL, 1.0, "light"), (LARGE, 2.0, "light"), (SMALL, 2.0, "dark"))


@pytest.mark.parametrize("name", places.SCENES)
def test_nothing_is_cut_or_overprinted(qapp: QApplication, name: str) -> None:
    said = []
    with draw_scenes.opened(name, "light") as (window, desk):
        for dress in DRESSES:
            (wide, tall), scale, theme = dress
            places.dress(window, desk, wide, tall, scale, theme)
            assert (window.width(), window.height()) == (wide, tall), "the window does not fit into its size"
            found = [(name, text) for text in problems(window)]
            for place in places.panels(name, window, desk) if dress in PANEL_DRESSES else ():
                assert window.rect().contains(place.panel.geometry()), f"{place.name} leaves the window"
                found += [(place.name, text) for text in problems(place.panel)]
            said += [f"{where} {wide}×{tall} at {scale:.0%} {theme}: {text}" for where, text in found]
    assert not said, "\n".join(said)


def test_every_panel_is_looked_at(qapp: QApplication) -> None:
    """Those that stand in `places.py` are all that there are. It asks them itself: the test above may be shared out."""
    shown = set()
    for name in places.SCENES:
        with draw_scenes.opened(name, "light") as (window, desk):
            places.dress(window, desk, *SMALL, 1.0, "light")
            shown |= {type(place.panel).__name__ for place in places.panels(name, window, desk)}
    assert {p.__name__ for p in _all_panels(Panel)} == shown


def _all_panels(base: type[Panel]) -> set[type[Panel]]:
    made = {p for p in base.__subclasses__() if p.__module__.startswith("station.")}
    return made.union(*(_all_panels(p) for p in made))


# --- the test can fail ---------------------------------------------------------------------------------------------

WORDS = "Left stick rests off centre"


class Painted(QWidget):
    """Paints its words by itself: onto itself, or into a layer that it keeps."""

    def __init__(self, parent: QWidget, box: QRectF, *, shorten: bool = False, layer: bool = False) -> None:
        super().__init__(parent)
        self._box, self._shorten, self._on_layer = box, shorten, layer
        self.setGeometry(10, 10, 380, 80)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._on_layer:
            layer = QPixmap(self.size())
            on_it = QPainter(layer)
            self._paint(on_it)
            on_it.end()
            painter.drawPixmap(0, 0, layer)
        else:
            self._paint(painter)
        painter.end()

    def _paint(self, painter: QPainter) -> None:
        painter.setFont(LIGHT.font(15))
        text = WORDS
        if self._shorten:
            text = painter.fontMetrics().elidedText(WORDS, Qt.TextElideMode.ElideRight, 60)
        painter.drawText(self._box, Qt.AlignmentFlag.AlignLeft, text)


def _label(parent: QWidget, x: int, y: int, wide: int, tall: int, *, wrap: bool = False) -> None:
    label = plain_label(WORDS, wrap=wrap)
    label.setFont(LIGHT.font(15))
    label.setParent(parent)
    label.setGeometry(x, y, wide, tall)


def _scrolled(parent: QWidget) -> None:
    area = QScrollArea(parent)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setGeometry(10, 10, 100, 80)
    inner = QWidget()
    inner.resize(300, 60)
    _label(inner, 0, 0, 300, 30)
    area.setWidget(inner)


class StiffTable(LineTable):
    def fit(self) -> None:
        self.setColumnWidth(1, 40)


def _table(parent: QWidget) -> None:
    table = StiffTable(("Unit", "Next step"), LIGHT, wide=1, parent=parent)
    table.setGeometry(10, 10, 380, 80)
    table.set_lines([Line(("A-1", WORDS), None)])


MADE: dict[str, tuple[Callable[[QWidget], object], str]] = {
    "a label that is too narrow": (lambda w: _label(w, 10, 10, 60, 30), "cut"),
    "a wrapped label that is too low": (lambda w: _label(w, 10, 10, 60, 30, wrap=True), "cut"),
    "a label beyond its window": (lambda w: _label(w, 300, 10, 300, 30), "cut"),
    "two labels on one place": (lambda w: [_label(w, 10, y, 300, 30) for y in (10, 16)], "overprinted"),
    "painted words beyond their box": (lambda w: Painted(w, QRectF(0, 0, 60, 30)), "cut"),
    "painted words beyond their widget": (lambda w: Painted(w, QRectF(300, 0, 300, 30)), "cut"),
    "painted words that were shortened": (lambda w: Painted(w, QRectF(0, 0, 300, 30), shorten=True), "cut"),
    "words of a layer beyond their box": (lambda w: Painted(w, QRectF(0, 0, 60, 30), layer=True), "cut"),
    "painted words on each other": (lambda w: [Painted(w, QRectF(0, y, 300, 30)) for y in (0, 6)], "overprinted"),
    "words cut at the side where nothing scrolls": (_scrolled, "cut"),
    "a cell that is too narrow": (_table, "cut"),
}


@pytest.mark.parametrize("name", MADE)
def test_what_is_cut_or_overprinted_is_found(qapp: QApplication, name: str) -> None:
    make, kind = MADE[name]
    assert {text.partition(":")[0] for text in _said_of(make)} == {kind}


@pytest.mark.parametrize(
    "make",
    [
        lambda w: _label(w, 10, 10, 300, 30),
        lambda w: _label(w, 10, 10, 90, 80, wrap=True),
        lambda w: [_label(w, 10, y, 300, 20) for y in (10, 30)],
        lambda w: Painted(w, QRectF(0, 0, 300, 30)),
        lambda w: Painted(w, QRectF(0, 0, 300, 30), layer=True),
    ],
)
def test_what_has_its_room_is_left_alone(qapp: QApplication, make: Callable[[QWidget], object]) -> None:
    assert _said_of(make) == []


def _said_of(make: Callable[[QWidget], object]) -> list[str]:
    window = QWidget()
    window.resize(400, 100)
    made = make(window)
    window.show()
    QApplication.processEvents()
    found = problems(window)
    del made
    window.close()
    return found
