"""Restpoint: a bench station for refurbishing game controllers."""

from __future__ import annotations

from pathlib import Path

__version__ = "0.1.0"
RELEASED = "2026-11-28"
APP_ID = "org.restpoint.Restpoint"
"""by which desktops know the program: its menu entry, icon and windows"""

_HERE = Path(__file__).resolve().parent


def _beside(name: str) -> Path:
    """A folder of ours: inside the package when installed, beside it in a checkout."""
    inside = _HERE / name
    return inside if inside.is_dir() else _HERE.parent / name


RESOURCES = _beside("resources")
SAMPLE_UNITS = _beside("sample_units")
