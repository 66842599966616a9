"""Which steps are done at the same time, under one prompt and on the same reports."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

from station.bench.types import Step
from station.checks.light import LightCheck
from station.checks.types import Check, Progress, Prompt
from station.sheets.model import Control, Sheet
from station.words import bench as words
from station.words.grammar import count_of, listed, spoken_name

NAMED = 4
"""so many controls are named, the others counted"""


def round_of(
    steps: Sequence[Step], index: int, free: Collection[int], sheet: Sheet, check_of: Callable[[Step], Check]
) -> tuple[int, ...]:
    """The step at `index` and those that are done with it, in the order of the list.

    `free`: the steps that wait and may be done with others. Some checks are done on all their controls at once, others
    on a button and its twin (`Description.together`).
    """
    step = steps[index]
    check = check_of(step)
    if index not in free or not check.about.together or _alone(check):
        return (index,)
    same = [i for i in sorted(free) if steps[i].check == step.check]
    if check.about.together == "twins":
        control = sheet.control(step.control)
        same = [i for i in same if i == index or (control.twin == steps[i].control and not _alone(check_of(steps[i])))]
    return tuple(same)


def prompt_for(check: Check, controls: Sequence[Control], sheet: Sheet) -> Prompt:
    """What the window says while the check runs on these controls at once (none: on the whole unit)."""
    if len(controls) <= 1:
        return check.prompt(controls[0] if controls else None, sheet)
    prompt = check.prompt(controls[0], sheet)
    who = _named([spoken_name(control.name) for control in controls])
    both = words.BOTH_AT_THE_SAME_TIME if len(controls) == 2 else words.AT_THE_SAME_TIME
    do = check.about.do_together.format(who=who) or both.format(do=prompt.do, who=who)
    return replace(prompt, do=do)


def joined(own: Progress, others: Sequence[tuple[Control | None, Progress | None]]) -> Progress:
    """How far tries are that run at once: the share of all, and what each of them still misses.

    Readings and marks are those of `own`, the one at the front.
    """
    known = [(control, progress) for control, progress in others if progress is not None]
    said: dict[str, list[str]] = {}
    for control, progress in known:
        if control is not None and progress.missing:
            said.setdefault(progress.missing, []).append(spoken_name(control.name))
    everywhere = len(said) == 1 and len(known) == len(next(iter(said.values())))
    missing = words.NEXT_MISSING.join(
        what if everywhere else words.MISSING_AT.format(who=_named(who), missing=what) for what, who in said.items()
    )
    share = sum(progress.share for _, progress in known) / max(len(known), 1)
    return replace(own, complete=False, missing=missing, share=share)


def _named(names: Sequence[str]) -> str:
    """The first few names, the others counted."""
    more = len(names) - NAMED
    return listed([*names[:NAMED], count_of(more, words.MORE_CONTROLS)] if more > 1 else names)


def _alone(check: Check) -> bool:
    return isinstance(check, LightCheck) and check.alone
