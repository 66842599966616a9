"""Shared by all tests: no screen, the project's fonts, no settings of the person who runs them."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from station.words import figures, language

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the user's own records or settings."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("RESTPOINT_DATA", str(home / "records"))


@pytest.fixture(autouse=True)
def _no_country(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """English, numbers, dates and money in one style, wherever the tests run."""
    for name in language.ASKED_IN:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LC_ALL", "C.UTF-8")
    figures.set_screen_style(figures.Style())
    yield
    figures.set_screen_style(figures.Style())


@pytest.fixture
def german_screen() -> None:
    """The screen writes numbers, dates and money as a German system does. (`_no_country` comes before and after.)"""
    figures.set_screen_style(figures.Style(decimal=",", group=".", date="dd.MM.yyyy", money="{amount} {sign}"))
