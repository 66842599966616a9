"""Shared by all tests: no screen, the project's fonts, no settings of the person who runs them."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from station.words import figures

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the user's own records or settings."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("RESTPOINT_DATA", str(home / "records"))


@pytest.fixture
def german_screen() -> Iterator[None]:
    """The screen writes numbers, dates and money as a German system does."""
    before = figures.screen_style()
    figures.set_screen_style(figures.Style(decimal=",", group=".", date="dd.MM.yyyy", money="{amount} {sign}"))
    yield
    figures.set_screen_style(before)
