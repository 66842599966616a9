"""What a lesson says in the window: prompts, signs, how sure, what was left out. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from station.bench.teaching_types import Doubt, TeachView
from station.sheets.learn import Ignored, Learned, LearnStep, is_part
from station.words import figures, grammar, teaching
from station.words import lessons as words


def longest() -> tuple[str, str]:
    """The longest headline and the longest words beneath it that a step can have."""
    prompts = (_without(prompt, "{name}:") for prompt in teaching.PROMPTS.values())
    return max(teaching.CONTROLS.values(), key=len), max(prompts, key=len)


def headline(step: LearnStep) -> str:
    """What the hand is on."""
    return step.control.name if step.control is not None else words.DEVICE_STEPS.get(step.action, "")


def to_do(step: LearnStep) -> str:
    """What the hand does, without the control's name before it."""
    return _without(step.text, f"{step.control.name}:" if step.control is not None else "")


def _without(prompt: str, name: str) -> str:
    return grammar.sentence_start(prompt.removeprefix(name).strip())


def brief(step: LearnStep) -> str:
    """A step in a few words, for the line that says what comes next."""
    if step.control is None:
        return words.DEVICE_STEPS_NEXT.get(step.action, "")
    said = words.CONTROL_STEPS_NEXT.get(step.action)
    return step.control.name if said is None else said.format(control=step.control.name)


def title(view: TeachView) -> str:
    """Which device is taught, and how far it is."""
    said = words.TEACHING.format(device=view.product)
    if view.round > 1:
        said = words.ONCE_MORE.format(title=said)
    return words.STEP_OF.format(title=said, number=view.number, count=view.count) if view.count else said


def kept(view: TeachView) -> str:
    """How many steps are not lost."""
    return grammar.count_of(view.seen, words.KEPT)


def sign(view: TeachView) -> tuple[str, bool | None]:
    """Whether the device answers, in words; True: it does, None: it need not, False: not yet."""
    step = view.step
    if step is None:
        return "", None
    if step.action in ("rest", "move"):
        quiet = words.QUIET_AT_REST if step.action == "rest" else words.QUIET_WHEN_MOVED
        return (words.REPORTS_ARRIVE if view.reports else quiet), None
    if view.moved:
        return words.MOVED, True
    return (words.NOT_MOVED if view.reports else words.NOTHING_CAME), False


def seconds_left(seconds: float) -> str:
    """ "12 s"."""
    return figures.with_unit(figures.number(seconds, 0), "s")


def minutes(seconds: float) -> str:
    """ "about 2 minutes", "less than a minute"."""
    whole = round(seconds / 60)
    return words.ABOUT.format(minutes=grammar.count_of(whole, words.MINUTES)) if whole else words.UNDER_A_MINUTE


def sure_words(confidence: float) -> str:
    """How sure, in plain words."""
    if confidence >= 0.97:
        return words.SURE
    return words.FAIRLY_SURE if confidence >= 0.9 else words.IN_DOUBT


def control_lines(learned: Learned, doubts: Sequence[Doubt]) -> list[tuple[str, str]]:
    """(name, how sure) of every control that is to be written."""
    confirmed = {d.question.control for d in doubts if d.answer == "write"}
    return [
        (c.name, words.BY_YOUR_WORD if any(is_part(c.id, i) for i in confirmed)
         else sure_words(learned.confidences.get(c.id, 0.0)))
        for c in learned.sheet.controls
    ]  # fmt: skip


def left_out(ignored: Sequence[Ignored]) -> str:
    """What belongs to no control: "a counter, a checksum". Not how many: one of several bytes is found byte by byte."""
    found = {i.what for i in ignored}
    return grammar.COMMA.join(said for what, said in words.LEFT_OUT_KINDS.items() if what in found)


def outcome_words(view: TeachView) -> str:
    """The headline above what was learned."""
    found = len(view.learned.sheet.controls) if view.learned is not None else 0
    if not found:
        return words.NOTHING_YET
    controls = grammar.count_of(found, words.CONTROLS)
    if not view.doubts:
        return words.LEARNED.format(controls=controls)
    questions = grammar.count_of(len(view.doubts), words.QUESTIONS)
    return words.LEARNED_AND_OPEN.format(controls=controls, questions=questions)


def next_words(view: TeachView) -> str:
    """What Enter does with what was learned."""
    again = sum(d.answer == "again" for d in view.doubts)
    if again:
        return words.DO_IT_AGAIN if again == 1 else words.DO_THEM_AGAIN.format(count=again)
    return words.NAME_AND_SAVE


def together(keys: str) -> str:
    """A key and its first word stay on one line."""
    return keys.replace(": ", f":{figures.NO_BREAK}")
