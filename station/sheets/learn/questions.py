"""What to say where learning is not sure: one sentence, and the steps that would settle it."""

from __future__ import annotations

from station.sheets.learn.types import LearnStep, Question
from station.sheets.learn.walk import steps_for
from station.sheets.model import Control
from station.words import teaching as words

_NO_REDO = {"codes", "bits", "list", "waits", "full"}


def question(control: Control, doubt: str, other: str = "") -> Question:
    """The question for a doubt; `other` names the control it is about, where one is known."""
    redo: tuple[LearnStep, ...] = () if doubt in _NO_REDO else steps_for(control)
    if doubt == "range" and control.kind == "stick":
        redo = tuple(s for s in redo if s.action == "roll")
    text = words.DOUBTS[doubt].format(name=control.name, other=other or words.ANOTHER_CONTROL)
    return Question(control.id, text, redo)
