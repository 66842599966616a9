"""What a lesson says in the window: prompts, signs, how sure, what was left out. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from station.bench.teaching_types import Doubt, TeachAnswer, TeachView
from station.sheets.learn import Ignored, Learned, LearnStep, is_part
from station.ui.words import count_of

DEVICE_STEPS = {"rest": "Hands off", "move": "Turn it about"}
ANSWERS: dict[TeachAnswer, str] = {"again": "do it again", "write": "write it as seen", "leave": "leave it out"}
_SURE = ((0.97, "sure"), (0.9, "fairly sure"), (0.0, "in doubt"))
_LEFT_OUT = {
    "counter": "a counter",
    "time stamp": "a time stamp",
    "checksum": "a checksum",
    "sensor": "motion sensors",
    "other": "something that no control moved",
}
KIND_WORDS = {
    "sticks": "Sticks",
    "triggers": "Triggers, pulled by the index fingers",
    "pads": "Direction pads",
    "shoulders": "Shoulder buttons",
    "face": "Face buttons, under the right thumb",
    "centre": "Centre buttons",
    "stick_presses": "Sticks that click when pressed straight down",
    "paddles": "Rear paddles",
}


def headline(step: LearnStep) -> str:
    """What the hand is on."""
    return step.control.name if step.control is not None else DEVICE_STEPS.get(step.action, "")


def to_do(step: LearnStep) -> str:
    """What the hand does, without the control's name before it."""
    text = step.text
    if step.control is not None:
        text = text.removeprefix(f"{step.control.name}:").strip()
    return text[:1].upper() + text[1:]


def brief(step: LearnStep) -> str:
    """A step in a few words, for the line that says what comes next."""
    if step.control is None:
        return DEVICE_STEPS.get(step.action, "").lower()
    words = {"push": "to its four sides", "roll": "around its rim", "tap": "its four directions", "ring": "around it"}
    return f"{step.control.name}{', ' + words[step.action] if step.action in words else ''}"


def sign(view: TeachView) -> tuple[str, bool | None]:
    """Whether the device answers, in words; True: it does, None: it need not, False: not yet."""
    step = view.step
    if step is None:
        return "", None
    if step.action == "rest":
        return ("Its reports arrive" if view.reports else "It is quiet, as many are at rest"), None
    if step.action == "move":
        return ("Its reports arrive" if view.reports else "It is quiet: it has no motion sensor, or sleeps"), None
    if view.moved:
        return "Something moved", True
    return ("Reports arrive; nothing has moved yet" if view.reports else "Nothing has come yet"), False


def minutes(seconds: float) -> str:
    """ "about 2 minutes", "less than a minute"."""
    whole = round(seconds / 60)
    return f"about {count_of(whole, 'minute')}" if whole else "less than a minute"


def sure_words(confidence: float) -> str:
    """How sure, in plain words."""
    return next(words for least, words in _SURE if confidence >= least)


def control_lines(learned: Learned, doubts: Sequence[Doubt]) -> list[tuple[str, str]]:
    """(name, how sure) of every control that is to be written."""
    confirmed = {d.question.control for d in doubts if d.answer == "write"}
    return [
        (c.name, "as seen, by your word" if any(is_part(c.id, i) for i in confirmed)
         else sure_words(learned.confidences.get(c.id, 0.0)))
        for c in learned.sheet.controls
    ]  # fmt: skip


def left_out(ignored: Sequence[Ignored]) -> str:
    """What belongs to no control: "a counter, a checksum". Not how many: one of several bytes is found byte by byte."""
    found = {i.what for i in ignored}
    return ", ".join(words for what, words in _LEFT_OUT.items() if what in found)


def outcome_words(view: TeachView) -> str:
    """The headline above what was learned."""
    found = len(view.learned.sheet.controls) if view.learned is not None else 0
    if not found:
        return "Nothing was learned yet"
    open_ones = len(view.doubts)
    return f"{count_of(found, 'control')} learned" + (f", {count_of(open_ones, 'question')}" if open_ones else "")


def next_words(view: TeachView) -> str:
    """What Enter does with what was learned."""
    again = sum(d.answer == "again" for d in view.doubts)
    if again:
        return f"do {'it' if again == 1 else f'the {again} in doubt'} again"
    return "name the sheet and save it"
