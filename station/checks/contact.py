"""Contact: does a button close and open at all, and does anything else move with it?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from station.checks.base import again, button_of, count, finding, in_a_row, spoken
from station.checks.decide import judged, out_of_limit, outcome_of
from station.checks.looked import Looked, Part, Spot
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Params,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.arrays import F64, NS_PER_MS, NS_PER_S
from station.measure.binomial import binomial_cdf
from station.measure.contacts import Closures, closures, joined, presses
from station.measure.held import hold_s, quantile
from station.sheets.model import BYSTANDERS, Control, Sheet
from station.sheets.signals import I64, ButtonSignal, HatSignal, MotionSignal, Signal, StickSignal, TouchSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import unseen
from station.words.grammar import some

ASKED = 3
NEVER_AFTER_NS = 1_500_000_000
"""A try that the person ended sooner than this without a closure was a slip on the key, not three presses."""
STUCK_AFTER_NS = 2 * NS_PER_S
"""A contact that stayed closed for so long up to the end of the try is stuck; nobody presses three times so slowly."""
STICK_MOVES_PCT = 50.0
"""% of half travel. A hand on the unit nudges a stick; a short pulls it to one end (common practice, no source)."""
TRIGGER_MOVES_PCT = 30.0
BEGINS_NS = (-40 * NS_PER_MS, 60 * NS_PER_MS)
"""A movement that belongs to a press begins so long before or after it: debouncing and polling of two lines (common
practice, no source)."""
ENDS_NS = (-60 * NS_PER_MS, 60 * NS_PER_MS)
"""… and ends so long before or after its end."""
_JOINED_NS = 40 * NS_PER_MS
"""An axis that comes back for less has not come back: spikes break up what a short holds."""
_SPIKE_NS = 20 * NS_PER_MS
"""An axis that is away for less is a spike of its own track, not pulled by a button that is pressed for longer."""
BY_CHANCE = 0.05
"""Movements count as those of the presses where as many would coincide by chance with at most this probability."""


def _moves_with_it(params: Params) -> str:
    others = params.get("others", ())
    return words.CROSSTALK_ONE if isinstance(others, tuple) and len(others) == 1 else words.CROSSTALK_MANY


class ContactCheck:
    """Three firm presses; the readings are counts."""

    name = "contact"
    title = words.CONTACT
    about = Description(
        kinds=("button",),
        together="all",
        grip="everywhere",
        do_together=words.CONTACT_DO_TOGETHER,
        unseen=unseen.CONTACT,
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
        pictures=("time",),
        looked=lambda take, limits: _looked(take),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.CONTACT_DO.format(who=spoken(control)), words.CONTACT_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        pressed = presses_of(take)
        readings = judged(self.name, _readings(take, pressed), limits)
        done = released(pressed)
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
        pressed = presses_of(take)
        readings = judged(self.name, _readings(take, pressed), limits)
        if not stuck(pressed, take):
            if len(pressed) == 0 and take.end_ns - take.begin_ns < NEVER_AFTER_NS:
                return again(words.CONTACT_UNSEEN.format(who=spoken(take.control)), readings)
            instead = _pressed_instead(take, pressed)
            if instead is not None:
                return again(words.CONTACT_ELSEWHERE.format(other=spoken(instead), who=spoken(take.control)), readings)
            if len(pressed) > 0 and released(pressed) < ASKED:
                left = ASKED - released(pressed)
                return again(words.TO_GO.format(what=some(left, words.PRESS)), readings)
        return Assessment(outcome_of(readings), readings, _findings(take, pressed, readings))


def _findings(take: Take, pressed: Closures, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    """Of counts outside their limits only."""
    bad = {r.name for r in readings if out_of_limit(r)}
    found = []
    if "released" in bad and stuck(pressed, take):
        found.append(finding("stuck", take.control))
    elif "registered" in bad and len(pressed) == 0:
        found.append(finding("never", take.control))
    if "others" in bad:
        moved = tuple(spoken(c) for c in _moved_with(take, pressed))
        found.append(finding("crosstalk", take.control, {"others": moved}))
    return tuple(found)


def _looked(take: Take) -> Looked:
    pressed = presses_of(take)
    parts = tuple(Part(int(a), int(b)) for a, b in zip(pressed.start_ns, pressed.end_ns, strict=True))
    spots = []
    if stuck(pressed, take):
        spots.append(Spot("stuck", seen.STAYS_CLOSED, int(pressed.start_ns[-1]), int(pressed.end_ns[-1])))
    if len(pressed) == 0:
        spots.append(Spot("never", seen.NEVER_CLOSES, take.begin_ns, take.end_ns))
    for other in _moved_with(take, pressed):
        moves = _movements(take.signals[other.id], pressed, take.end_ns)
        along = _with_press(moves, pressed)
        text = seen.MOVES_ALONG.format(other=spoken(other))
        when = zip(moves.start_ns[along], moves.end_ns[along], strict=True)
        spots += [Spot("crosstalk", text, int(a), int(b), other=other.id) for a, b in when]
    return Looked(parts, tuple(spots))


def presses_of(take: Take) -> Closures:
    """The presses of the take's button; none where it has never reported."""
    signal = button_of(take)
    if signal is None:
        none = np.empty(0, dtype=np.int64)
        return Closures(none, none)
    return presses(closures(signal.t_ns, signal.closed, take.end_ns))


def released(pressed: Closures) -> int:
    """How many of the presses ended."""
    return len(pressed) - int(pressed.held_after)


def _pressed_instead(take: Take, pressed: Closures) -> Control | None:
    """The one other button that was pressed as asked, where this one was not at all. A line that goes to another place
    looks the same, and does not pass either."""
    if len(pressed) or take.control is None:
        return None
    found = []
    for other in take.sheet.controls:
        signal = take.signals.get(other.id)
        if (
            isinstance(signal, ButtonSignal)
            and other.seen_as is None
            and not _may_move(take.control, other, take.sheet)
        ):
            closed = presses(closures(signal.t_ns, signal.closed, take.end_ns))
            if released(closed) >= ASKED and not closed.held_before:
                found.append(other)
    return found[0] if len(found) == 1 else None


def stuck(pressed: Closures, take: Take) -> bool:
    """Closed from before the try to its end, or at its end for longer than anybody holds a press."""
    if len(pressed) == 0 or not pressed.held_after:
        return False
    held_ns = int(pressed.end_ns[-1] - pressed.start_ns[-1])
    whole = pressed.held_before and len(pressed) == 1 and held_ns >= NEVER_AFTER_NS
    return whole or held_ns >= STUCK_AFTER_NS


def _readings(take: Take, pressed: Closures) -> tuple[Reading, ...]:
    n = len(pressed)
    unseen = "" if button_of(take) is not None else words.NOT_REPORTED
    ended, held = released(pressed), unseen
    if stuck(pressed, take):  # of three presses at least the last has not ended
        ended, held = min(ended, ASKED - 1), words.CONTACT_STAYED
    return (
        count("registered", n, ASKED, unseen),
        count("released", ended, ASKED, held),
        count("others", len(_moved_with(take, pressed)), n),
    )


# --- what else moved --------------------------------------------------------------------------------


def _moved_with(take: Take, pressed: Closures) -> tuple[Control, ...]:
    """Controls that moved with at least two of the presses (with the one, if there is but one) and not so often between
    them that it may be chance: a fault of the wiring moves them every time, a slip of the hand once, and a worn track
    whenever it likes."""
    own = take.control
    if own is None or len(pressed) == 0:
        return ()
    moved = []
    for other in take.sheet.controls:
        signal = take.signals.get(other.id)
        if signal is None or _may_move(own, other, take.sheet):
            continue
        if _belong(_movements(signal, pressed, take.end_ns), pressed, take.end_ns - take.begin_ns):
            moved.append(other)
    return tuple(moved)


def _belong(moves: Closures, pressed: Closures, lasted_ns: int) -> bool:
    """Do the movements belong to the presses?

    A movement that has nothing to do with them begins within `BEGINS_NS` of a press with probability f, the share of
    the time that is so near to one. Of all movements at least as many do with P(X ≥ with), X ~ Bin(all, f), which is to
    be small (exact binomial test, Clopper & Pearson, Biometrika 26, 1934, 404).
    """
    with_press = _with_press(moves, pressed)
    needed = min(2, len(pressed))
    if int(with_press.sum()) < needed:
        return False
    if len(pressed) == 1:
        return True
    share = min(1.0, len(pressed) * (BEGINS_NS[1] - BEGINS_NS[0]) / max(lasted_ns, 1))
    return 1.0 - binomial_cdf(int(with_press.sum()) - 1, len(moves), share) <= BY_CHANCE


def _with_press(moves: Closures, pressed: Closures) -> NDArray[np.bool_]:
    """bool[movement]: does it begin and end as a press does? One that was there before the try does not."""
    if len(moves) == 0:
        return np.zeros(0, dtype=np.bool_)
    begins = moves.start_ns[:, None] - pressed.start_ns[None, :]
    ends = moves.end_ns[:, None] - pressed.end_ns[None, :]
    near = (begins >= BEGINS_NS[0]) & (begins <= BEGINS_NS[1]) & (ends >= ENDS_NS[0]) & (ends <= ENDS_NS[1])
    there_before = moves.held_before & (np.arange(len(moves)) == 0)
    return np.asarray(near.any(axis=1) & ~there_before)


def _may_move(own: Control, other: Control, sheet: Sheet) -> bool:
    """Controls that rightly move along: itself, what it copies or what copies it, its own stick or trigger."""
    if other.id == own.id or other.kind in BYSTANDERS:
        return True
    sources = {own.id, own.seen_as} - {None}
    if other.id in sources or (other.seen_as is not None and other.seen_as in sources):
        return True
    if other.kind in ("stick", "trigger"):
        if sheet.drawn_up:  # nobody has said which button a stick's press or a trigger's click is
            return True
        return own.id.startswith(other.id) or own.name.casefold().startswith(other.name.casefold())
    return False


def _movements(signal: Signal, pressed: Closures, end_ns: int) -> Closures:
    """The stretches over which a control was elsewhere than between the presses."""
    if isinstance(signal, ButtonSignal):
        return presses(closures(signal.t_ns, signal.closed, end_ns))
    if isinstance(signal, HatSignal):
        return presses(closures(signal.t_ns, signal.direction >= 0, end_ns))
    if isinstance(signal, MotionSignal | TouchSignal):
        return Closures(signal.t_ns[:0], signal.t_ns[:0])
    columns = (signal.x_pct, signal.y_pct) if isinstance(signal, StickSignal) else (signal.pct,)
    most = STICK_MOVES_PCT if isinstance(signal, StickSignal) else TRIGGER_MOVES_PCT
    between = _between(signal.t_ns, pressed, end_ns)
    away = np.zeros(len(signal.t_ns), dtype=np.bool_)
    for column in columns:
        away |= np.abs(column - quantile(column, between, 0.5)) > most
    found = joined(closures(signal.t_ns, away, end_ns), _JOINED_NS)
    long_enough = found.end_ns - found.start_ns >= _SPIKE_NS
    return Closures(found.start_ns[long_enough], found.end_ns[long_enough], found.held_before, found.held_after)


def _between(t_ns: I64, pressed: Closures, end_ns: int) -> F64:
    """Seconds for which each value held outside the presses; all of its time if nothing lies outside."""
    edges = np.append(t_ns, max(end_ns, int(t_ns[-1])))
    whole = hold_s(t_ns, int(edges[0]), int(edges[-1]))
    inside = sum(
        (hold_s(t_ns, a, b) for a, b in zip(pressed.start_ns.tolist(), pressed.end_ns.tolist(), strict=True)),
        np.zeros(len(t_ns)),
    )
    outside = np.clip(whole - inside, 0.0, None)
    return outside if outside.sum() > 0 else whole
