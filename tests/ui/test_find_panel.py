"""Finding a unit: the hits are seen before Enter opens one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from conftest import UNIT
from PySide6.QtCore import Qt
from workbench import Workbench

from station.ui.panels.bench import FindPanel
from station.ui.window import MainWindow


@pytest.fixture
def find(window: MainWindow, desk: Workbench, press: Callable[..., None]) -> FindPanel:
    for k in range(1, 13):
        desk.store.add_unit(replace(UNIT, id=f"unit-{k}", tag=f"A17-{k:02d}", serial=f"PT2-{k:04d}"))
    press(window, Qt.Key.Key_U)
    return window.findChildren(FindPanel)[-1]


@pytest.mark.parametrize(("typed", "hits"), [("", 9), ("A17", 9), ("A17-0", 9), ("A17-12", 1)])
def test_every_hit_is_in_sight_at_once(find: FindPanel, typed: str, hits: int) -> None:
    find.search.setText("A")
    find.search.setText(typed)
    find._body.layout().activate()
    assert len(find.list.options) == hits
    assert find.list.isVisible()
    assert find.list.height() == find.list.sizeHint().height()
    assert find._area.viewport().height() >= find.list.geometry().bottom()


def test_without_a_hit_it_says_so_and_leaves_no_list(find: FindPanel) -> None:
    find.search.setText("nowhere")
    assert not find.list.isVisible()
    assert find._none.isVisible()
