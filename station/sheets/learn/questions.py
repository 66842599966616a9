"""What to say where learning is not sure: one sentence, and the steps that would settle it."""

from __future__ import annotations

from station.sheets.learn.types import LearnStep, Question
from station.sheets.learn.walk import steps_for
from station.sheets.model import Control

_TEXT = {
    "nothing": "{name}: nothing in the reports answered to it; do it again, or leave it out if the device has none.",
    "copy": "{name}: it did what {other} does; do both again to see whether it copies it or the hand slipped.",
    "contested": "{name}: {other} did the same; do both again to see which is which.",
    "two": "{name}: more than one thing answered to it; do it again, and nothing else.",
    "weak": "{name}: it was not seen as often as it was asked for; do it again.",
    "late": "{name}: what answered may have been {other}, done late; do it again.",
    "waits": "{name}: what is its own shows only when {other} has been done again.",
    "one axis": "{name}: only one axis answered to it; do it again, all the way to the rim.",
    "more axes": "{name}: more than two axes answered to it; do it again, and touch nothing else.",
    "count": "{name}: four separate movements were asked for and another number was seen; do it again.",
    "order": "{name}: it is not clear which way is up and which is right; do it again: up, right, down, left.",
    "range": "{name}: it covered only part of the codes that its bits can hold; move it all the way again, or "
    "confirm that this is its full travel.",
    "full": "{name}: again it covered only part of the codes that its bits can hold; confirm that this is its full "
    "travel, or leave it out.",
    "states": "{name}: its codes do not follow the directions; do it again, slowly.",
    "codes": "{name}: its codes do not count clockwise from up, which a sheet cannot say; leave it out or "
    "use the descriptor.",
    "few": "{name}: too few of its directions were seen; roll it slowly around all eight again.",
    "bits": "{name}: its bits are in an order that a sheet cannot say; it has to be left out.",
    "coarse": "{name}: its range has hardly any steps; do it again, slowly.",
    "unlike": "{name}: it is another kind of control than its fellow on the other side; do it again, all the way.",
    "shared": "{name}: a part of what answers to it answers to another control too; do it again, and nothing else.",
    "beside": "{name}: something else that no control accounts for moves along with it; do it again, and nothing else.",
    "list": "{name}: it shares its bits with other buttons, as a list of what is pressed does; a sheet can name "
    "it only by a usage, and the descriptor gives none.",
}
_NO_REDO = {"codes", "bits", "list", "waits", "full"}


def question(control: Control, doubt: str, other: str = "another control") -> Question:
    """The question for a doubt."""
    redo: tuple[LearnStep, ...] = () if doubt in _NO_REDO else steps_for(control)
    if doubt == "range" and control.kind == "stick":
        redo = tuple(s for s in redo if s.action == "roll")
    return Question(control.id, _TEXT[doubt].format(name=control.name, other=other), redo)
