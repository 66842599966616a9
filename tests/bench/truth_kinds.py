"""Harder kinds of units, hands and firmware for the scoreboard, each with what is asked of the bench.

A kind says what is drawn, which controls are tested and which of them are looked at. Its bar is one of
"seen": of the faulty controls so many % are failed or borderline;
"not passed": of them so many % are anything but passed ("again" to the end counts too, a promise is what must not be);
"named": of the faults so many % are failed and named;
"failed": of the sound controls no more than so many % are failed.
Where fewer can be seen at all, since a test has so many presses, that number stands beside the bar, and what is found
is held against it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from truth_try import true_of_stick
from truth_units import (
    BUTTONS,
    BY_LIMIT,
    STICKS,
    TRIGGERS,
    Drawn,
    Rng,
    clear_size,
    design_of,
    fault_of,
    slight_size,
)

from station.measure import sequential
from station.sources.simulated import PadDesign, UnitSpec, faults
from station.sources.simulated.faults import Fault
from station.sources.simulated.firmware import Firmware
from station.sources.simulated.habits import Habits

Bar = Literal["seen", "not passed", "named", "failed", ""]
EVERY = ("left_stick", "right_stick", "left_trigger", "left_shoulder", "hat", "")
TWINS = {"left_shoulder": "right_shoulder", "left_paddle": "right_paddle", "south": "east", "west": "north"}


@dataclass(frozen=True, slots=True)
class Case:
    """One unit of a kind. `tested`: the controls that the visit works through; `looked_at`: those that are scored."""

    drawn: Drawn
    tested: tuple[str, ...]
    looked_at: tuple[str, ...]
    checks: tuple[str, ...] = ()
    """only these, () for all"""


@dataclass(frozen=True, slots=True)
class Kind:
    """`bar_pct`: the number of the bar. `most_pct`: how many % the presses of a test can show, by arithmetic."""

    group: str
    name: str
    bar: Bar
    bar_pct: float
    make: Callable[[Rng, str], Case]
    most_pct: float = 100.0


def case(seed: int, kind: Kind, number: int) -> Case:
    """Unit `number` of a kind in a run with that seed."""
    rng = np.random.default_rng([seed, number, *kind.group.encode(), *kind.name.encode()])
    return kind.make(rng, f"{kind.group}/{kind.name} {seed}-{number}")


def drawn_unit(
    rng: Rng, tag: str, found: tuple[Fault, ...] = (), firmware: Firmware | None = None, habits: Habits | None = None,
    design: PadDesign | None = None,
) -> Drawn:  # fmt: skip
    spec = UnitSpec(design or design_of(rng), int(rng.integers(2**31)), found, tag)
    spec = spec if firmware is None else replace(spec, firmware=firmware)
    drawn = Drawn(spec, float(rng.uniform(0.3, 1.0)), int(rng.integers(2**31)), tuple("" for _ in found))
    return drawn if habits is None else replace(drawn, habits=habits)


# --- slight faults, two at once -----------------------------------------------------------------------------


BY_READING = {"no_return": ("letgo", "return_offset")}
"""kind → check and reading: where such a stick ends up depends on the rest of it too, so that its size says less than
its true reading"""
_NEAR_ENOUGH, _MOST_TRIES = 0.02, 6


def _slight(kind: str) -> Kind:
    def make(rng: Rng, tag: str) -> Case:
        fault = fault_of(kind, slight_size(kind, rng), rng)
        design = design_of(rng)
        if kind == "two_way_lag":  # on the straight sides of a gate both ways read the same
            design = replace(design, gate="round")
        drawn = drawn_unit(rng, tag, (fault,), design=design)
        drawn = _of_true_size(drawn) if kind in BY_READING else drawn
        return Case(drawn, (fault.control,), (fault.control,))

    return Kind("slight", kind, "seen", 95.0, make)


def _of_true_size(drawn: Drawn) -> Drawn:
    """The same unit with the fault so large that the true reading is what was drawn as its size."""
    (fault,) = drawn.spec.faults
    check, reading = BY_READING[fault.kind]
    wanted, now = fault.size, drawn
    for _ in range(_MOST_TRIES):
        true = true_of_stick(now, check, fault.control)[reading]
        if abs(true / wanted - 1.0) <= _NEAR_ENOUGH:
            break
        (present,) = now.spec.faults
        larger = replace(present, size=present.size * wanted / true)
        now = replace(drawn, spec=replace(drawn.spec, faults=(larger,)))
    return now


_TOGETHER = {
    "offset, reach": ("off_centre", "short_reach"),
    "offset, no return": ("off_centre", "no_return"),
    "noise, spikes": ("noisy_track", "worn_track"),
    "spikes, gap": ("worn_track", "code_gap"),
    "arrival, settle": ("slow_arrival", "slow_settle"),
    "trigger": ("rest_high", "short_pull"),
}


def _two(name: str) -> Kind:
    def make(rng: Rng, tag: str) -> Case:
        found = [fault_of(kind, clear_size(kind, rng), rng) for kind in _TOGETHER[name]]
        found[1] = replace(found[1], control=found[0].control)
        found = _apart(found)
        return Case(drawn_unit(rng, tag, tuple(found)), (found[0].control,), (found[0].control,))

    return Kind("two", name, "named", 99.5, make)


def _apart(found: list[Fault]) -> list[Fault]:
    """Two faults of one control that do not hide each other: spikes and gap at two places, an offset that does not
    make up for a short reach."""
    one, other = found
    if one.kind == "worn_track" and other.kind == "code_gap":
        found[1] = replace(other, axis=one.axis, at=-one.at)
    if one.kind == "off_centre" and other.kind == "short_reach":
        found[0] = replace(one, direction=(faults.bearing_of(other) + 90.0) % 360.0)
    return found


# --- hands and firmware -------------------------------------------------------------------------------------


def _hand(name: str, habits: Callable[[Rng], Habits]) -> Kind:
    return Kind(
        "hand", name, "failed", 1.0, lambda rng, tag: Case(drawn_unit(rng, tag, habits=habits(rng)), EVERY, EVERY)
    )


HANDS = (
    _hand("lazy", lambda rng: Habits(lazy=float(rng.uniform(0.5, 1.0)))),
    _hand("wrong", lambda rng: Habits(wrong=float(rng.uniform(0.05, 0.2)))),
    _hand("late", lambda rng: Habits(late_s=float(rng.uniform(0.08, 0.25)))),
    _hand("leaning", lambda rng: Habits(lean_pct=float(rng.uniform(3.0, 10.0)))),
    _hand("brushing", lambda rng: Habits(brush=float(rng.uniform(0.02, 0.1)))),
)


def _firm(name: str, habits: Callable[[Rng], Firmware], on_change: bool | None = None) -> Kind:
    def make(rng: Rng, tag: str) -> Case:
        design = design_of(rng)
        design = design if on_change is None else replace(design, on_change=on_change)
        return Case(drawn_unit(rng, tag, firmware=habits(rng), design=design), EVERY, EVERY)

    return Kind("firmware", name, "failed", 1.0, make)


FIRMWARE = (
    _firm("dead zone", lambda rng: Firmware(dead_zone_pct=float(rng.uniform(4.0, 15.0)))),
    _firm("range 12…243", lambda rng: Firmware(scale=231 / 255)),
    _firm("filter", lambda rng: Firmware(smooth_s=float(rng.uniform(0.004, 0.02)))),
    _firm("bursts", lambda rng: Firmware(burst=int(rng.integers(2, 5))), on_change=False),
    _firm("on change", lambda rng: Firmware(), on_change=True),
    _firm("dropped reports", lambda rng: Firmware(lost=float(rng.uniform(0.01, 0.05)))),
    _firm("hysteresis", lambda rng: Firmware(hysteresis_pct=float(rng.uniform(0.5, 3.0)))),
)


# --- buttons and triggers -----------------------------------------------------------------------------------


def _one(
    group: str, name: str, bar: Bar, bar_pct: float, fault: Callable[[Rng, str], tuple[Fault, ...]],
    most_pct: float = 100.0,
) -> Kind:  # fmt: skip
    def make(rng: Rng, tag: str) -> Case:
        control = str(rng.choice(TRIGGERS if group == "trigger" else list(TWINS)))
        return Case(drawn_unit(rng, tag, fault(rng, control)), (control,), (control,))

    return Kind(group, name, bar, bar_pct, make, most_pct)


def _together(rng: Rng, control: str) -> tuple[Fault, ...]:
    share, group = float(rng.uniform(0.25, 0.6)), int(rng.integers(2**31))
    return tuple(faults.missed_together(c, share, group) for c in (control, TWINS[control]))


def _stays(rng: Rng, control: str, share: float) -> tuple[Fault, ...]:
    return (faults.stays_closed(control, share, float(rng.uniform(200.0, 800.0))),)


_PLAN = sequential.Plan()
_SHOWS_ONE_IN_50 = 100.0 * (1.0 - 0.98 ** _PLAN.presses_to_accept(0))
_SHOWS_RUNS_OF_FOUR = 100.0 * (1.0 - sequential.characteristic_in_runs(_PLAN, _PLAN.p1, 4.0).accept)
BUTTON = (
    _one("button", "stays closed 10…30 %", "not passed", 95.0, lambda rng, c: (
        _stays(rng, c, float(rng.uniform(0.1, 0.3))))),
    _one("button", "stays closed 1 in 50", "not passed", 95.0, lambda rng, c: _stays(rng, c, 0.02), _SHOWS_ONE_IN_50),
    _one("button", "twins miss together", "not passed", 95.0, _together),
    _one("button", "misses 10 %, sound twin", "not passed", 93.0, lambda rng, c: (faults.missed_in_runs(c, 0.1, 1.0),)),
    _one("button", "misses 10 %, twin 40 %", "not passed", 93.0, lambda rng, c: (
        faults.missed_in_runs(c, 0.1, 1.0), faults.missed_in_runs(TWINS[c], 0.4, 1.0))),
    _one("button", "misses 10 % in fours", "not passed", 93.0, lambda rng, c: (
        faults.missed_in_runs(c, 0.1, 4.0),), _SHOWS_RUNS_OF_FOUR),
)  # fmt: skip
TRIGGER = (
    _one("trigger", "hangs at 12 % each time", "not passed", 95.0, lambda rng, c: (
        faults.hanging_trigger(c, 1.0, 12.0, 500.0),)),
    _one("trigger", "hangs at 30 % 1 in 3", "not passed", 95.0, lambda rng, c: (
        faults.hanging_trigger(c, 1.0 / 3.0, 30.0, float(rng.uniform(300.0, 800.0))),)),
)  # fmt: skip


# --- by itself ----------------------------------------------------------------------------------------------


def _ghost(name: str, bar_pct: float, fault: Callable[[Rng], Fault]) -> Kind:
    """The faulty control is looked at after a visit to all the others."""

    def make(rng: Rng, tag: str) -> Case:
        found = fault(rng)
        return Case(drawn_unit(rng, tag, (found,)), (*EVERY, found.control), (found.control,))

    return Kind("by itself", name, "not passed", bar_pct, make)


GHOSTS = (
    _ghost("closes when a stick is pushed", 95.0, lambda rng: faults.closes_when_pushed(
        str(rng.choice(BUTTONS[:4])), str(rng.choice(STICKS)), float(rng.uniform(40.0, 90.0)))),
    _ghost("closes every 31 s", 95.0, lambda rng: faults.closes_at_times(
        str(rng.choice(BUTTONS)), 31.0, float(rng.uniform(20.0, 200.0)), float(rng.uniform(0.0, 31.0)))),
    _ghost("stick twitches", 95.0, lambda rng: faults.twitches(
        str(rng.choice(STICKS)), str(rng.choice(["x", "y"])), 31.0, float(rng.uniform(60.0, 200.0)),
        float(rng.uniform(30.0, 60.0)), float(rng.uniform(0.0, 31.0)))),
    _ghost("trigger twitches", 95.0, lambda rng: faults.twitches(
        str(rng.choice(TRIGGERS)), None, 31.0, float(rng.uniform(60.0, 200.0)), float(rng.uniform(25.0, 60.0)),
        float(rng.uniform(0.0, 31.0)))),
)  # fmt: skip

KINDS: tuple[Kind, ...] = (
    *(_slight(kind) for kind in BY_LIMIT),
    *(_two(name) for name in _TOGETHER),
    *HANDS,
    *FIRMWARE,
    *BUTTON,
    *TRIGGER,
    *GHOSTS,
)
