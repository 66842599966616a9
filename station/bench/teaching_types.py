"""A pad being taught: the values that the window, the command line and the tests share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from station.sheets.learn import Learned, LearnStep, Question

TeachState = Literal["walking", "paused", "away", "learning", "answering", "stopped"]
"""walking: a step is being done · paused: waits for the person · away: the device is unplugged · learning: the reports
are being worked out · answering: what was learned and what is in doubt stands to be looked at · stopped: put aside"""
TeachKey = Literal["next", "again", "back", "pause", "stop"]
"""next: this step is done; or go on · again: this step anew · back: the step before anew · pause · stop: put aside"""
TeachAnswer = Literal["again", "write", "leave"]
"""What becomes of a control that is in doubt: do it again · write it as it was seen · leave it out."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """An open question, which answers it can have, and the one that counts now."""

    question: Question
    options: tuple[TeachAnswer, ...]
    answer: TeachAnswer


@dataclass(frozen=True, slots=True)
class TeachView:
    """An immutable picture of the lesson. `number` of `count`: the step of this round, from 1 on."""

    product: str
    state: TeachState
    step: LearnStep | None = None
    following: LearnStep | None = None
    number: int = 0
    count: int = 0
    left_s: float = 0.0
    """time left for this step"""
    to_go_s: float = 0.0
    """time left for this round, this step included"""
    ends_soon: bool = False
    """it was said to be done, and ends as soon as it has had its least time"""
    reports: int = 0
    """reports that came in this step"""
    moved: bool = False
    """something answered to the hand in this step"""
    round: int = 1
    seen: int = 0
    """steps that were done and are kept"""
    message: str = ""
    """why it waits"""
    learned: Learned | None = None
    """what came out, with the answers given so far"""
    doubts: tuple[Doubt, ...] = ()
