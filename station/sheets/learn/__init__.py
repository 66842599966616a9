"""A model sheet for a device nobody described, learned from what its reports do during a guided walk."""

from __future__ import annotations

from station.sheets.learn.engine import accepted, again, closed, is_part, learn
from station.sheets.learn.types import (
    Ignored,
    Learned,
    LearnStep,
    Observed,
    Question,
)
from station.sheets.learn.walk import duration_s, steps_for, usual_controls, walk

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
