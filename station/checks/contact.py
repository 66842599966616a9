"""Contact: does a button close and open at all, and does anything else move with it?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.checks.base import again, button_of, count, finding, in_a_row, spoken
from station.checks.decide import judged, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    FindingKind,
    Limits,
    Outcome,
    Params,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.measure.contacts import Closures, closures, presses
from station.sheets.model import Control, Sheet
from station.sheets.signals import I64, ButtonSignal, HatSignal, Signal, StickSignal
from station.words import checks as words
from station.words.grammar import some

ASKED = 3
NEVER_AFTER_NS = 1_500_000_000
"""A try that the person ended sooner than this without a closure was a slip on the key, not three presses."""
STUCK_AFTER_NS = 2 * NS_PER_S
"""A contact that stayed closed for so long up to the end of the try is stuck; nobody presses three times so slowly."""
STICK_MOVES_PCT = 50.0
"""% of half travel. A hand on the unit nudges a stick; a short pulls it to one end (common practice, no source)."""
TRIGGER_MOVES_PCT = 30.0
_SLACK_NS = 20 * NS_PER_MS


def _moves_with_it(params: Params) -> str:
    others = params.get("others", ())
    return words.CROSSTALK_ONE if isinstance(others, tuple) and len(others) == 1 else words.CROSSTALK_MANY


class ContactCheck:
    """Three firm presses; the readings are counts."""

    name = "contact"
    title = words.CONTACT
    about = Description(
        kinds=("button",),
        readings=(
            ReadingKind("registered", words.CONTACT_REGISTERED, limit="registered"),
            ReadingKind("released", words.CONTACT_RELEASED, limit="released"),
            ReadingKind("others", words.CONTACT_OTHERS, limit="others", short=words.CONTACT_OTHERS_SHORT),
        ),
        findings=(
            FindingKind("never", words.NEVER),
            FindingKind("stuck", words.STUCK),
            FindingKind("crosstalk", _moves_with_it, {"others": in_a_row}),
        ),
        due_after="any opening",
        counts=True,
        copies=True,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.CONTACT_DO.format(who=spoken(control)), words.CONTACT_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        pressed = _presses(take)
        readings = judged(self.name, _readings(take, pressed), limits)
        done = _released(pressed)
        if done >= ASKED:
            return Progress(True, "", 1.0, readings)
        if pressed.held_before and pressed.held_after and len(pressed) == 1:
            return Progress(False, words.CONTACT_CLOSED, 0.0, readings)
        if len(pressed) == 0:
            return Progress(False, words.NO_PRESS_YET, 0.0, readings)
        if pressed.held_after:
            return Progress(False, words.LET_GO, (done + 0.5) / ASKED, readings)
        return Progress(False, words.TO_GO.format(what=some(ASKED - done, words.PRESS)), done / ASKED, readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        pressed = _presses(take)
        readings = judged(self.name, _readings(take, pressed), limits)
        findings = []
        if _stuck(pressed, take):
            findings.append(finding("stuck", take.control))
        elif len(pressed) == 0:
            if take.end_ns - take.begin_ns < NEVER_AFTER_NS:
                return again(words.CONTACT_UNSEEN.format(who=spoken(take.control)), readings)
            findings.append(finding("never", take.control))
        elif _released(pressed) < ASKED:
            left = ASKED - _released(pressed)
            return again(words.TO_GO.format(what=some(left, words.PRESS)), readings)
        moved = _moved_with(take, pressed)
        if moved:
            findings.append(finding("crosstalk", take.control, {"others": tuple(spoken(c) for c in moved)}))
        outcome = Outcome.FAIL if findings else outcome_of(readings)
        return Assessment(outcome, readings, tuple(findings))


def _presses(take: Take) -> Closures:
    signal = button_of(take)
    if signal is None:
        none = np.empty(0, dtype=np.int64)
        return Closures(none, none)
    return presses(closures(signal.t_ns, signal.closed, take.end_ns))


def _released(pressed: Closures) -> int:
    return len(pressed) - int(pressed.held_after)


def _stuck(pressed: Closures, take: Take) -> bool:
    """Closed from before the try to its end, or at its end for longer than anybody holds a press."""
    if len(pressed) == 0 or not pressed.held_after:
        return False
    held_ns = int(pressed.end_ns[-1] - pressed.start_ns[-1])
    whole = pressed.held_before and len(pressed) == 1 and held_ns >= NEVER_AFTER_NS
    return whole or held_ns >= STUCK_AFTER_NS


def _readings(take: Take, pressed: Closures) -> tuple[Reading, ...]:
    n = len(pressed)
    unseen = "" if button_of(take) is not None else words.NOT_REPORTED
    return (
        count("registered", n, ASKED, unseen),
        count("released", _released(pressed), ASKED, unseen),
        count("others", len(_moved_with(take, pressed)), n),
    )


# --- what else moved --------------------------------------------------------------------------------


def _moved_with(take: Take, pressed: Closures) -> tuple[Control, ...]:
    """Controls that moved during at least two of the presses (during the one, if there is but one): a fault
    of the wiring does so every time, a slip of the hand once."""
    own = take.control
    if own is None or len(pressed) == 0:
        return ()
    needed = min(2, len(pressed))
    begin, end = pressed.start_ns - _SLACK_NS, pressed.end_ns + _SLACK_NS
    moved = []
    for other in take.sheet.controls:
        signal = take.signals.get(other.id)
        if signal is None or _may_move(own, other, take.sheet):
            continue
        if int(_moves_in(signal, begin, end).sum()) >= needed:
            moved.append(other)
    return tuple(moved)


def _may_move(own: Control, other: Control, sheet: Sheet) -> bool:
    """Controls that rightly move along: itself, what it copies or what copies it, its own stick or trigger."""
    if other.id == own.id or other.kind == "battery":
        return True
    sources = {own.id, own.seen_as} - {None}
    if other.id in sources or (other.seen_as is not None and other.seen_as in sources):
        return True
    if other.kind in ("stick", "trigger"):
        if sheet.drawn_up:  # nobody has said which button a stick's press or a trigger's click is
            return True
        return own.id.startswith(other.id) or own.name.casefold().startswith(other.name.casefold())
    return False


def _moves_in(signal: Signal, begin_ns: I64, end_ns: I64) -> NDArray[np.bool_]:
    """bool[k]: did the control move in each of the k stretches, against what it was when the stretch began?"""
    if isinstance(signal, ButtonSignal):
        moves = signal.closed & ~np.append(signal.closed[:1], signal.closed[:-1])
        return _any_in(signal.t_ns[moves], begin_ns, end_ns)
    if isinstance(signal, HatSignal):
        away = signal.direction >= 0
        return _any_in(signal.t_ns[away & ~np.append(away[:1], away[:-1])], begin_ns, end_ns)
    moved = np.zeros(len(begin_ns), dtype=np.bool_)
    for i, (a, b) in enumerate(zip(begin_ns.tolist(), end_ns.tolist(), strict=True)):
        low = max(0, int(np.searchsorted(signal.t_ns, a, side="right")) - 1)
        high = int(np.searchsorted(signal.t_ns, b, side="right"))
        if high - low < 2:
            continue
        if isinstance(signal, StickSignal):
            size = max(float(np.ptp(signal.x_pct[low:high])), float(np.ptp(signal.y_pct[low:high])))
            moved[i] = size > STICK_MOVES_PCT
        else:
            moved[i] = float(np.ptp(signal.pct[low:high])) > TRIGGER_MOVES_PCT
    return moved


def _any_in(at_ns: I64, begin_ns: I64, end_ns: I64) -> NDArray[np.bool_]:
    return np.searchsorted(at_ns, end_ns, side="right") > np.searchsorted(at_ns, begin_ns)
