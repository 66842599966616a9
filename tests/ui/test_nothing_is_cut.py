"""No text is cut off or printed over another: in every view, on every card and panel, in narrow windows, in large type."""

from __future__ import annotations

import time

import draw_scenes
import places
import pytest
from drawn_text import problems
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QLabel, QVBoxLayout, QWidget

from station.ui.painting.look import LIGHT
from station.ui.painting.widgets import plain_label
from station.ui.panels.panel import Panel

NARROW, SMALL, LARGE = (520, 720), (1280, 720), (1920, 1080)
DRESSES = (
    *((size, scale, "light") for size in (NARROW, SMALL, LARGE) for scale in (1.0, 2.0)),
    (NARROW, 1.0, "dark"),
    (SMALL, 2.0, "dark"),
)
_shown: set[type[Panel]] = set()


@pytest.mark.parametrize("name", places.SCENES)
def test_nothing_is_cut_or_overprinted(qapp: QApplication, name: str) -> None:
    said = []
    with draw_scenes.opened(name, "light") as (window, desk):
        for (wide, tall), scale, theme in DRESSES:
            places.dress(window, desk, wide, tall, scale, theme)
            assert (window.width(), window.height()) == (wide, tall), "the window does not fit into its size"
            for place in places.places(name, window, desk):
                if place.panel is not None:
                    _shown.add(type(place.panel))
                found = problems(window, place.panel)
                said += [f"{place.name} {wide}×{tall} at {scale:.0%} {theme}: {text}" for text in found]
    assert not said, "\n".join(said)


def test_every_panel_was_looked_at() -> None:
    """Those that stand in `places.py` are all that there are."""
    if len(_shown) < 2:
        pytest.skip("asks what the test above showed")
    assert {p.__name__ for p in _all_panels(Panel)} == {p.__name__ for p in _shown}


def _all_panels(base: type[Panel]) -> set[type[Panel]]:
    made = {p for p in base.__subclasses__() if p.__module__.startswith("station.")}
    return made.union(*(_all_panels(p) for p in made))
