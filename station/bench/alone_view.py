"""How a unit does that is left alone, and that in a few words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from station.words import alone as words
from station.words import grammar

AloneState = Literal["settles", "watched", "away"]


@dataclass(frozen=True, slots=True)
class AloneView:
    """How a unit does that is left alone. `left_s` None: until it is ended. `problem`: why it cannot be saved."""

    id: str
    unit_id: str
    tag: str
    state: AloneState
    passed_s: float
    left_s: float | None
    movements: int
    disconnects: int
    problem: str = ""


def said(view: AloneView) -> str:
    """ "SM-07-03 42 min left, 2 movements by itself"."""
    state = words.STATES.get(view.state) or _time(view)
    happened = (
        grammar.count_of(n, noun)
        for n, noun in ((view.movements, words.MOVEMENTS), (view.disconnects, words.DROPS))
        if n
    )
    events = grammar.COMMA.join(happened)
    line = words.ONE_WITH_EVENTS if events else words.ONE
    one = line.format(tag=view.tag, state=state, events=events)
    return words.PROBLEM.format(one=one, problem=words.NOT_SAVED.format(reason=view.problem)) if view.problem else one


def _time(view: AloneView) -> str:
    if view.left_s is None:
        return words.SINCE.format(time=span(view.passed_s))
    return words.LEFT_FOR.format(time=span(view.left_s + 59.0))


def span(seconds: float) -> str:
    minutes = int(seconds // 60)
    if minutes < 60:
        return words.MINUTES.format(minutes=minutes)
    return words.HOURS.format(hours=minutes // 60, minutes=minutes % 60)
