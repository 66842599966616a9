"""Axes of one kind have one width on a device: what one of them shows is held against the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from station.sheets.learn.axes import Axis, rest_of
from station.sheets.learn.fields import MOST_BITS, Found, rarer
from station.sheets.learn.sticks import Stick
from station.sheets.learn.streams import below
from station.sheets.learn.triggers import Trigger
from station.sheets.learn.walked import Walked
from station.sheets.model import Control
from station.sheets.signals import I64

FEW = 2
"""bits by which a field may have been missed in the noise"""
Owned = tuple[Control, Axis]


def agreed_sticks(walked: Walked, sticks: Sequence[Stick]) -> list[Stick]:
    """The sticks with axes of one width, as far as the reports allow it."""
    owned = [(s.control, a) for s in sticks for a in (s.x, s.y) if a is not None]
    new = dict(zip((id(a) for _, a in owned), _agreed(walked, owned), strict=True))
    return [
        replace(s, x=new.get(id(s.x)), y=new.get(id(s.y)), spoken=tuple(new.get(id(a), a) for a in s.spoken))
        for s in sticks
    ]


def agreed_triggers(walked: Walked, triggers: Sequence[Trigger]) -> list[Trigger]:
    """The same for triggers that have a field each."""
    owned = [(t.control, t.axis) for t in triggers if t.axis is not None and not t.half]
    new = dict(zip((id(a) for _, a in owned), _agreed(walked, owned), strict=True))
    return [
        replace(t, axis=new.get(id(t.axis), t.axis), spoken=tuple(new.get(id(a), a) for a in t.spoken))
        for t in triggers
    ]


def _agreed(walked: Walked, owned: Sequence[Owned]) -> list[Axis]:
    """The largest width that one of them shows, if all can have it (that bits full of noise do not show in an axis says
    little); else those that were found a few bits off take the width of most."""
    widths = [len(a.found.bits) for _, a in owned]
    if len(set(widths)) < 2 and len({a.found.big for _, a in owned}) < 2:
        return [a for _, a in owned]
    usual = max(set(widths), key=lambda w: (widths.count(w), w % 2 == 0, w))
    made: list[Axis] = []
    for width, busy in ((max(widths), True), (usual, False)):
        orders = [a.found.big for _, a in owned if len(a.found.bits) == width]
        big = orders.count(True) * 2 > len(orders)
        made = [_fitted(walked, own, width, big, busy, [a for _, a in owned]) for own in owned]
        if {len(a.found.bits) for a in made} == {width}:
            break
    return made


def _fitted(walked: Walked, own: Owned, width: int, big: bool, busy: bool, all_axes: Sequence[Axis]) -> Axis:
    control, axis = own
    old = axis.found
    rows = np.flatnonzero(walked.rows(old.stream, walked.steps_of(control.id))) if busy else None
    others = {b for a in all_axes if a is not axis and a.found.stream == old.stream for b in a.found.bits}
    found = _of_width(walked, old, width, big, rows, others)
    return axis if found == old else replace(axis, found=found, rest=rest_of(walked, control, found))


def _of_width(walked: Walked, found: Found, width: int, big: bool, busy: I64 | None, others: set[int]) -> Found:
    """The field cut or extended to `width` bits, if it can be: by a few that move at all and are no `others'`; extended
    by any number if each is as busy in the rows `busy` as the one above it; cut by any number that are `others'`."""
    stream, taken = walked.streams[found.stream], walked.taken[found.stream] | others
    bits, surplus = list(found.bits[:width]), set(found.bits[width:])
    far = abs(len(found.bits) - width) > FEW
    if width > MOST_BITS or (far and (not surplus <= others if surplus else busy is None)):
        return found
    big = bool(found.big or (big and len(bits) <= 8))
    while len(bits) < width:
        nxt = below(bits[-1], big)
        if not stream.inside(nxt) or nxt in taken or not stream.bit(nxt).any() or stream.bit(nxt).all():
            return found
        if busy is not None and rarer(stream, nxt, bits[-1], busy):
            return found
        bits.append(nxt)
    return replace(found, bits=tuple(bits), big=big)
