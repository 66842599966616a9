"""The device rig for tests of the whole program."""

from __future__ import annotations

from tests.sources.conftest import rig, until

__all__ = ["rig", "until"]
