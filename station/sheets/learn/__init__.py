"""A model sheet for a device nobody described, learned from what its reports do during a guided walk.

The learning itself is loaded when it is first used: the window knows what a lesson is long before there is one.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from station.sheets.learn.types import Ignored, Learned, LearnStep, Observed, Question, is_part
from station.sheets.learn.walk import duration_s, steps_for, usual_controls, walk

if TYPE_CHECKING:
    from station.sheets.learn.engine import accepted, again, closed, learn

__all__ = [
    "Ignored",
    "LearnStep",
    "Learned",
    "Observed",
    "Question",
    "accepted",
    "again",
    "closed",
    "duration_s",
    "is_part",
    "learn",
    "steps_for",
    "usual_controls",
    "walk",
]

_LATER = ("accepted", "again", "closed", "learn")


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module("station.sheets.learn.engine"), name)
