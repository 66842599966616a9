"""What goes into learning and what comes out, as immutable values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from station.hid.types import ReportBlock
from station.sheets.model import Control, Sheet

Action = Literal["rest", "move", "press", "push", "roll", "pull", "tap", "ring"]
"""What the hand does. For the whole device: nothing; move it, touching nothing. Button: press. Stick: push to the four
sides; roll around the rim. Trigger: pull slowly. Hat: tap the four directions; ring, around all of them."""

SIDES = ("up", "right", "down", "left")
PRESSES = 2
PULLS = 2


@dataclass(frozen=True, slots=True)
class LearnStep:
    """One prompt of the walk. `control` has no places yet; None where the step is about the whole device."""

    id: str
    action: Action
    text: str
    seconds: float
    control: Control | None = None


@dataclass(frozen=True, slots=True)
class Observed:
    """What a device sent during one step, from the moment it was asked for until the next one was.

    `block` holds the reports of begin_ns … end_ns (ns since the source began).
    """

    step: LearnStep
    block: ReportBlock
    begin_ns: int
    end_ns: int


@dataclass(frozen=True, slots=True)
class Question:
    """What learning could not settle. `control`: its id, or "" for the device; `redo`: steps that would settle it."""

    control: str
    text: str
    redo: tuple[LearnStep, ...] = ()


@dataclass(frozen=True, slots=True)
class Ignored:
    """Bits that belong to no control: a counter, a time stamp, a checksum, a sensor or noise, or something unknown."""

    what: Literal["counter", "time stamp", "checksum", "sensor", "other"]
    report: int
    bit: int
    bits: int


@dataclass(frozen=True, slots=True)
class Learned:
    """What came out.

    `sheet` holds the controls that are sure; `guesses` the best guess for doubtful ones (where there is one), each with
    a question. `confidences`: control id → 0…1 for every control that the walk asked for or that was found along with
    it. `notes` are sentences about the device as a whole (a descriptor that does not fit, axes that are shared).
    """

    sheet: Sheet
    confidences: Mapping[str, float]
    questions: tuple[Question, ...] = ()
    guesses: tuple[Control, ...] = ()
    ignored: tuple[Ignored, ...] = ()
    notes: tuple[str, ...] = ()


def is_part(made: str, asked: str) -> bool:
    """Whether a control of the sheet comes from the one that was asked for: a direction pad may become four buttons."""
    return made == asked or made in {f"{asked}_{part}" for part in (*SIDES, "switch")}
