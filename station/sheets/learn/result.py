"""One control after the other as learned: its places, how sure, and what is asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from station.sheets.learn.board import Pick
from station.sheets.learn.hats import Hat
from station.sheets.learn.places import axis_place, bit_place, code_place
from station.sheets.learn.pulses import Signal
from station.sheets.learn.ranges import stick_range, trigger_range
from station.sheets.learn.sticks import Stick
from station.sheets.learn.triggers import Trigger
from station.sheets.learn.types import SIDES
from station.sheets.learn.walked import Walked
from station.sheets.model import Control, Place
from station.words import teaching as words

CERTAIN, GOOD, DOUBTFUL = 0.99, 0.95, 0.5


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came out for one control that was asked for: the controls it becomes in the sheet, mostly one."""

    asked: Control
    made: tuple[Control, ...] = ()
    confidence: float = 0.0
    doubt: str = ""
    other: str = ""


def stick_outcome(walked: Walked, stick: Stick) -> Outcome:
    """Both axes of a stick."""
    if stick.x is None or stick.y is None:
        return Outcome(stick.control, doubt=stick.doubt)
    own = walked.steps_of(stick.control.id)
    places, sure, sayable = [], True, True
    for axis in (stick.x, stick.y):
        stream = walked.streams[axis.found.stream]
        value = axis.found.value(stream, walked.rows(axis.found.stream, own))
        placed = axis_place(walked, axis.found, stick_range(axis.found, value, axis.rest))
        sayable &= placed.place is not None
        sure &= placed.sure
        places.append(placed.place)
    if not sayable:
        return Outcome(stick.control, doubt="bits", confidence=DOUBTFUL)
    doubt = stick.doubt or ("" if sure else _range_doubt(walked, stick.control))
    x, y = places
    assert x is not None
    assert y is not None
    x = replace(x, right="high" if stick.right > 0 else "low")
    y = replace(y, up="high" if stick.up > 0 else "low")
    foreign = len(stick.x.foreign) + len(stick.y.foreign)
    made = replace(stick.control, x=x, y=y)
    return Outcome(stick.control, (made,), _confidence(doubt, foreign), doubt)


def trigger_outcome(walked: Walked, trigger: Trigger) -> Outcome:
    """A trigger with a range."""
    axis = trigger.axis
    if axis is None:
        return Outcome(trigger.control, doubt=trigger.doubt or "nothing")
    value = axis.found.value(walked.streams[axis.found.stream], walked.rows(axis.found.stream, trigger.steps))
    seen, rests_high = trigger_range(axis.found, value, axis.rest)
    if trigger.half:
        seen, rests_high = trigger.half_range(seen, value)
    placed = axis_place(walked, axis.found, seen, shared=bool(trigger.half))
    if placed.place is None:
        return Outcome(trigger.control, doubt="bits", confidence=DOUBTFUL)
    doubt = trigger.doubt or ("" if placed.sure else _range_doubt(walked, trigger.control))
    place = replace(placed.place, up="high" if rests_high else "low")
    made = replace(trigger.control, at=place)
    return Outcome(trigger.control, (made,), _confidence(doubt, len(axis.foreign)), doubt)


def _range_doubt(walked: Walked, control: Control) -> str:
    """Once may be a movement that stopped short; what is the same when done again only the person can confirm."""
    return "range" if len(walked.steps_of(control.id, "roll", "pull")) < 2 else "full"


def hat_outcome(walked: Walked, hat: Hat) -> Outcome:
    """A direction pad: one hat, or a button for each direction."""
    control = hat.control
    if hat.code is not None:
        made: tuple[Control, ...] = (replace(control, at=code_place(walked, hat.stream, hat.code)),)
    else:
        made = tuple(
            _direction(control, side, bit_place(walked, hat.stream, bit, rest))
            for side, (bit, rest) in zip(SIDES, hat.sides, strict=False)
        )
    return Outcome(control, made, _confidence(hat.doubt, 0), hat.doubt)


def _direction(pad: Control, side: str, at: Place) -> Control:
    """The button that one direction of a pad is."""
    name = words.SIDE_OF_PAD.format(control=pad.name, side=words.SIDES[side])
    return Control(f"{pad.id}_{side}", "button", name, pad.zone, at=at)


def button_outcome(walked: Walked, pick: Pick) -> Outcome:
    """A button, or a trigger that is no more than a switch."""
    at = None if pick.signal is None else signal_place(walked, pick.signal)
    control = replace(pick.control, kind="button", at=at, seen_as=pick.copies)
    made = (control,) if at is not None or pick.copies is not None else ()
    confidence = _confidence(pick.doubt, pick.foreign + (0 if pick.exact else 3)) if made else 0.0
    return Outcome(pick.control, made, confidence, pick.doubt, ", ".join(pick.rivals))


def signal_place(walked: Walked, signal: Signal) -> Place:
    """The place of a signal: of bits that always go together the one with a usage, else the first."""
    if signal.usage:
        return Place(usage=signal.usage)
    bits = ((signal.stream, signal.bit), *signal.mirrors)
    places = [bit_place(walked, stream, bit, walked.rest_bit(stream, bit)) for stream, bit in bits]
    return next((p for p in places if p.usage is not None), places[0])


def _confidence(doubt: str, against: int) -> float:
    return DOUBTFUL if doubt else max(CERTAIN - 0.01 * against, GOOD - 0.05)


def in_sheet(outcomes: Sequence[Outcome], extra: Mapping[str, Control]) -> tuple[list[Control], list[Control]]:
    """Controls that are sure, and those that are guessed; twins and copies only name controls that stand with them."""
    sure = [c for o in outcomes if not o.doubt for c in o.made] + list(extra.values())
    guesses = [c for o in outcomes if o.doubt for c in o.made]
    return closed_controls(sure), closed_controls(guesses, sure)


def closed_controls(controls: Sequence[Control], others: Sequence[Control] = ()) -> list[Control]:
    """The controls; twins and originals that stand neither among them nor among `others` are named no longer."""
    by_id = {c.id: c for c in (*others, *controls)}
    made = []
    for c in controls:
        twin = by_id.get(c.twin or "")
        copied = by_id.get(c.seen_as or "")
        made.append(
            replace(
                c,
                twin=c.twin if twin is not None and twin.kind == c.kind else None,
                seen_as=c.seen_as if copied is not None and copied.kind == c.kind and copied.seen_as is None else None,
            )
        )
    return [c for c in made if c.at or c.x or c.seen_as]
