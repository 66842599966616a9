"""Judging what was learned: does the learned sheet read the same as the true one when everything moves?"""

from __future__ import annotations

import numpy as np

from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.bind import bind
from station.sheets.learn.types import Learned
from station.sheets.model import Control, Sheet
from station.sheets.signals import ButtonSignal, HatSignal, Signal, StickSignal, TriggerSignal
from tests.sheets.learn_hand import anything
from tests.sheets.learn_pads import Pad

CLOSE_PCT = 2.0
"""how far a reading of an axis may be off, in % of half travel (sticks) or of travel (triggers)"""
AGREE = 0.98
"""share of the moments at which both must agree (copies in another report come a little later)"""


def judged(pad: Pad, learned: Learned) -> dict[str, str]:
    """Control id → "right", "asked" or "wrong", for every true control and every one that was made up."""
    block = anything(pad)
    layout = parse_descriptor(pad.descriptor) if pad.descriptor else Layout((), (), pad.numbered)
    truth = bind(pad.truth, layout).signals(block)
    asked = {q.control for q in learned.questions}
    mine = {c.id: c for c in learned.sheet.controls}
    read = bind(Sheet("learned", controls=tuple(mine.values())), layout).signals(block)
    grid = np.arange(int(block.t_ns[0]) + 200_000_000, int(block.t_ns[-1]), 10_000_000)
    found = {}
    for control in pad.truth.controls:
        if control.id in mine:
            same = _same(truth.get(control.id), read.get(control.id), grid)
            kind = mine[control.id].kind == control.kind and _copies_fit(control, mine[control.id])
            found[control.id] = "right" if same and kind else "wrong"
        else:
            found[control.id] = "asked" if any(control.id.startswith(a) for a in asked) else "wrong"
    for made_up in mine.keys() - {c.id for c in pad.truth.controls}:
        found[made_up] = "wrong"
    return found


def _copies_fit(true: Control, mine: Control) -> bool:
    """A copy and its original may be told the other way round where both are only one bit."""
    return true.seen_as == mine.seen_as or (true.at is None) != (mine.at is None)


def _same(one: Signal | None, other: Signal | None, grid: np.ndarray) -> bool:  # type: ignore[type-arg]
    if one is None or other is None or type(one) is not type(other):
        return False
    agree = np.ones(len(grid), bool)
    for a, b in zip(_courses(one, grid), _courses(other, grid), strict=True):
        agree &= np.abs(a - b) <= (CLOSE_PCT if a.dtype.kind == "f" else 0)
    return float(agree.mean()) >= AGREE


def _courses(signal: Signal, grid: np.ndarray) -> list[np.ndarray]:  # type: ignore[type-arg]
    at = np.clip(np.searchsorted(signal.t_ns, grid, "right") - 1, 0, None)
    if isinstance(signal, StickSignal):
        return [signal.x_pct[at], signal.y_pct[at]]
    if isinstance(signal, TriggerSignal):
        return [signal.pct[at]]
    if isinstance(signal, ButtonSignal):
        return [signal.closed[at].astype(np.int8)]
    assert isinstance(signal, HatSignal)
    return [signal.direction[at]]
