"""Which steps are done at the same time, under one prompt and on the same reports."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

from station.bench.types import Step
from station.checks.light import LightCheck
from station.checks.types import Check, Progress, Prompt
from station.sheets.model import Control, Sheet, Zone
from station.words import bench as words
from station.words.grammar import count_of, listed, spoken_name

FINGERS: tuple[Zone, ...] = ("top", "back")
"""where every control has a finger of its own, in the grip in which a pad is played (common practice, no source)"""
THUMBS: frozenset[Zone] = frozenset(("left hand", "right hand"))
"""where a thumb lies in that grip, for one control at a time"""
NAMED = 4
"""so many controls are named, the others counted"""


def round_of(
    steps: Sequence[Step], index: int, free: Collection[int], sheet: Sheet, check_of: Callable[[Step], Check]
) -> tuple[int, ...]:
    """The step at `index` and those that are done with it, in the order of the list; after them those that follow, in
    the order in which they do.

    `free`: the steps that wait and may be done with others. Some checks are done on all their controls at once, others
    on a button and its twin (`Description.together`); some are followed by others (`Description.followed_by`).
    """
    step = steps[index]
    check = check_of(step)
    if index not in free or _alone(check):
        return (index,)
    same = [i for i in sorted(free) if steps[i].check == step.check] if check.about.together else [index]
    if check.about.together in ("twins", "fingers"):
        mates = mates_of(check, sheet.control(step.control), sheet)
        same = [i for i in same if i == index or (steps[i].control in mates and not _alone(check_of(steps[i])))]
    controls = {steps[i].control for i in same}
    follow = [i for i in sorted(free) if _follows(steps[i], check, controls)]
    return (*same, *sorted(follow, key=lambda i: check.about.followed_by.index(steps[i].check)))


def mates_of(check: Check, control: Control, sheet: Sheet) -> frozenset[str]:
    """The controls on which a check that is not done on all at once is done together with this one."""
    mates = {control.twin} if control.twin else set[str]()
    if check.about.together == "fingers" and control.id in (played := in_play(sheet)):
        mates |= played
    return frozenset(mates - {control.id})


def in_play(sheet: Sheet) -> frozenset[str]:
    """The buttons that one grip holds at once: those under the fingers, and one under each thumb, the first twins of
    which each thumb has one."""
    buttons = {c.id: c for c in sheet.controls if c.kind == "button"}
    pairs = ((c, buttons[c.twin]) for c in buttons.values() if c.twin in buttons)
    thumbs = next(((a.id, b.id) for a, b in pairs if {a.zone, b.zone} == THUMBS), ())
    return frozenset(c.id for c in buttons.values() if c.zone in FINGERS).union(thumbs)


def lead_of(steps: Sequence[Step], index: int, free: Collection[int], check_of: Callable[[Step], Check]) -> int:
    """The step that waits and is followed by the one at `index`, itself or by what follows it; that one itself where
    there is none."""
    if index not in free:
        return index
    found = [i for i in sorted(free) if i != index and _follows(steps[index], check_of(steps[i]), {steps[i].control})]
    leads = [i for i in found if not any(_follows(steps[i], check_of(steps[k]), {steps[k].control}) for k in found)]
    return next(iter(leads), index)


def _follows(step: Step, check: Check, controls: Collection[str]) -> bool:
    """Whether it goes on from that check of those controls ("": of the whole unit)."""
    return step.check in check.about.followed_by and (not step.control or step.control in controls or "" in controls)


def prompt_for(check: Check, controls: Sequence[Control], sheet: Sheet, then: Sequence[Check] = ()) -> Prompt:
    """What the window says while the check runs on these controls at once (none: on the whole unit).

    `then`: the checks that follow it.
    """
    prompt = _prompt_of(check, controls, sheet)
    hints = (prompt.hint, *(one.about.then_do for one in then))
    return replace(prompt, hint=" ".join(filter(None, hints))) if then else prompt


def _prompt_of(check: Check, controls: Sequence[Control], sheet: Sheet) -> Prompt:
    if len(controls) <= 1:
        return check.prompt(controls[0] if controls else None, sheet)
    prompt = check.prompt(controls[0], sheet)
    names = [spoken_name(control.name) for control in controls]
    who = listed(names) if check.about.together == "fingers" else _named(names)  # who holds has to know all at once
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
