"""What the one key means now: the key does it and the foot says it, by this one rule."""

from __future__ import annotations

from typing import Literal

from station.ui.arrival import ArrivalStrip
from station.ui.frame import Shown
from station.words import space as words

Meaning = Literal["visit", "whose", "answer", "end", "wait", "start", "next", "finish", "store", "nothing"]


def space_means(shown: Shown, arrival: ArrivalStrip) -> Meaning:
    """Of Space, and of Enter where no field and no strip takes it. "answer": it does nothing, the question stands."""
    session = shown.session
    if arrival.device is not None and shown.visit_unit() is None:
        return "visit" if arrival.unit is not None else "whose"
    if session is None or session.finished:
        return "nothing"
    if session.waits:
        return "store"
    if shown.asked() is not None:
        return "answer"
    if session.running:
        return "end"
    if session.begins:
        return "wait"
    at = shown.current()
    if at is None or all(v.state == "done" for v in session.steps):
        return "finish"
    return "next" if session.steps[at].state == "done" else "start"


def space_words(shown: Shown, arrival: ArrivalStrip) -> str:
    """ "Space: end this check"; "" where it does nothing."""
    said = words.MEANS.get(space_means(shown, arrival))
    tag = arrival.unit.tag if arrival.unit is not None else ""
    return words.KEY.format(what=said.format(tag=tag)) if said is not None else ""
