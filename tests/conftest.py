"""Shared by all tests: no screen, the project's fonts, no settings of the person who runs them."""

from __future__ import annotations

import os

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the user's own records or settings."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("RESTPOINT_DATA", str(home / "records"))
