"""Random units and hands for the scoreboard: any model, any rate, any hand, one or two faults or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from station.sources.simulated import PadDesign, SimulatedHand, UnitSpec, faults
from station.sources.simulated.faults import Fault
from station.sources.simulated.habits import Habits
from station.sources.simulated.hand import PLAIN

CLEAR, GREY = "clear", "grey"
"""beyond the fail limit by a quarter of it or more; less than that"""
STICKS = ("left_stick", "right_stick")
TRIGGERS = ("left_trigger", "right_trigger")
BUTTONS = ("south", "east", "west", "north", "left_shoulder", "right_shoulder", "left_paddle", "right_paddle")
SOUND_SHARE, TWO_SHARE, GREY_SHARE, RADIO_SHARE = 0.35, 0.3, 0.15, 0.25

SPREAD = 12.0**0.5
"""peak to peak over rms of noise that is spread evenly: the fault's size is peak to peak, the limit one of the rms"""

# kind → (pass limit, fail limit, worst drawn) of the reading that finds it; resources/limits.toml
BY_LIMIT: dict[str, tuple[float, float, float]] = {
    "off_centre": (5.0, 10.0, 25.0),
    "noisy_track": (0.45 * SPREAD, 1.2 * SPREAD, 12.0),
    "worn_track": (2.0, 5.0, 20.0),
    "code_gap": (3.0, 8.0, 20.0),
    "short_reach": (95.0, 88.0, 60.0),
    "flat_rim": (92.0, 85.0, 60.0),
    "slow_arrival": (120.0, 300.0, 700.0),
    "slow_settle": (150.0, 400.0, 800.0),
    "no_return": (6.0, 12.0, 25.0),
    "scatter": (5.0, 10.0, 20.0),
    "two_way_lag": (4.0, 8.0, 16.0),
    "rest_high": (2.0, 5.0, 15.0),
    "short_pull": (97.0, 90.0, 60.0),
    "trigger_spikes": (2.0, 5.0, 20.0),
    "trigger_gap": (3.0, 8.0, 20.0),
}
STICK_KINDS = (
    "off_centre",
    "noisy_track",
    "worn_track",
    "code_gap",
    "short_reach",
    "flat_rim",
    "slow_arrival",
    "slow_settle",
    "no_return",
    "scatter",
    "two_way_lag",
    "dead_axis",
)
TRIGGER_KINDS = ("rest_high", "short_pull", "trigger_spikes", "trigger_gap")
BUTTON_KINDS = ("weak_contact", "split", "short_contact", "dropouts", "stuck", "never", "crosstalk")
OTHER_KINDS = ("hat_missing", "hat_no_null", "link_gaps", "slow_rate")
KINDS = (*STICK_KINDS, *TRIGGER_KINDS, *BUTTON_KINDS, *OTHER_KINDS)
Rng = np.random.Generator


@dataclass(frozen=True, slots=True)
class Drawn:
    """A unit, its hand, and for each fault whether it is clear or grey."""

    spec: UnitSpec
    skill: float
    hand_seed: int
    grades: tuple[str, ...]
    habits: Habits = PLAIN

    def hand(self) -> SimulatedHand:
        return SimulatedHand(self.skill, self.hand_seed, self.habits)


def draw(seed: int, number: int, kinds: Sequence[str] = KINDS) -> Drawn:
    """Unit `number` of a run with that seed, its faults of these kinds."""
    rng = np.random.default_rng([seed, number])
    design = design_of(rng)
    count = 0 if rng.random() < SOUND_SHARE else 2 if rng.random() < TWO_SHARE else 1
    found: list[Fault] = []
    grades: list[str] = []
    while len(found) < count:
        fault, grade = _fault(str(rng.choice(kinds)), design.rate_hz, rng)
        if fault.kind == "two_way_lag" and design.gate != "round":
            continue  # on the straight sides of a gate, play moves the stick along the side: both ways read the same
        if _apart(fault, found):
            found.append(fault)
            grades.append(grade)
    by_radio = bool(rng.random() < RADIO_SHARE)
    spec = UnitSpec(design, int(rng.integers(2**31)), tuple(found), f"{seed}-{number}", by_radio)
    return Drawn(spec, float(rng.uniform(0.3, 1.0)), int(rng.integers(2**31)), tuple(grades))


def _apart(fault: Fault, others: list[Fault]) -> bool:
    """Whether no other fault is of a control that this one involves, or involves the one that this is of: a short
    between twins closes a weak contact along with its twin, and hides what it misses."""
    return all(fault.control not in (f.control, f.other) and fault.other != f.control for f in others)


def design_of(rng: Rng) -> PadDesign:
    """Any model."""
    return PadDesign(
        kit=("8bit", "16bit", "packed")[rng.integers(3)],  # type: ignore[arg-type]
        rate_hz=int(rng.choice([125, 250, 500, 1000])),
        on_change=bool(rng.random() < 0.4),
        gate=("round", "round", "octagon", "square")[rng.integers(4)],  # type: ignore[arg-type]
    )


def fault_of(kind: str, size: float, rng: Rng) -> Fault:
    """A fault of a stick or trigger whose reading a limit judges, of that size."""
    return (_stick_fault if kind in STICK_KINDS else _trigger_fault)(kind, size, rng)


def clear_size(kind: str, rng: Rng) -> float:
    """A size beyond the fail limit by a quarter or more."""
    _, bad, worst = BY_LIMIT[kind]
    clear = bad * 1.25 if bad > BY_LIMIT[kind][0] else 100.0 - 1.25 * (100.0 - bad)
    return float(rng.uniform(min(clear, worst), max(clear, worst)))


def slight_size(kind: str, rng: Rng) -> float:
    """A size of 1.0 to 1.3 times the pass limit; where more is better, of what is lacking from 100 %."""
    good, bad, _ = BY_LIMIT[kind]
    times = float(rng.uniform(1.0, 1.3))
    return good * times if bad > good else 100.0 - times * (100.0 - good)


def _fault(kind: str, rate_hz: int, rng: Rng) -> tuple[Fault, str]:
    if kind in BY_LIMIT:
        size, grade = _size(kind, rng)
        return fault_of(kind, size, rng), grade
    if kind == "dead_axis":
        return faults.dead_axis(str(rng.choice(STICKS)), str(rng.choice(["x", "y"]))), CLEAR
    if kind in BUTTON_KINDS:
        return _button_fault(kind, rate_hz, rng), CLEAR
    if kind == "hat_missing":
        return faults.hat_missing(int(rng.integers(8))), CLEAR
    if kind == "hat_no_null":
        return faults.hat_no_null(2 * int(rng.integers(4))), CLEAR
    if kind == "link_gaps":
        return faults.link_gaps(float(rng.uniform(1.0, 2.0)), float(rng.uniform(80.0, 250.0))), CLEAR
    return faults.slow_rate(float(rng.uniform(25.0, 50.0))), CLEAR


def _size(kind: str, rng: Rng) -> tuple[float, str]:
    """A magnitude: mostly beyond the fail limit by a quarter or more, sometimes between that and the pass limit.

    Where more is better, the limit is counted as what is lacking from 100 %.
    """
    good, bad, _ = BY_LIMIT[kind]
    clear = bad * 1.25 if bad > good else 100.0 - 1.25 * (100.0 - bad)
    if rng.random() < GREY_SHARE:
        return float(rng.uniform(min(good, clear), max(good, clear))), GREY
    return clear_size(kind, rng), CLEAR


def _stick_fault(kind: str, size: float, rng: Rng) -> Fault:
    stick, axis = str(rng.choice(STICKS)), str(rng.choice(["x", "y"]))
    direction = str(rng.choice(["up", "right", "down", "left"]))
    at = float(rng.uniform(12.0, 85.0)) * (1.0 if rng.random() < 0.5 else -1.0)
    match kind:
        case "off_centre":
            return faults.off_centre(stick, float(rng.uniform(0.0, 360.0)), size)
        case "noisy_track":
            return faults.noisy_track(stick, axis, size)
        case "worn_track":
            return faults.worn_track(stick, axis, at, size, float(rng.uniform(8.0, 20.0)))
        case "code_gap":
            return faults.code_gap(stick, axis, at, size)
        case "short_reach":
            return faults.short_reach(stick, direction, size)
        case "flat_rim":
            return faults.flat_rim(stick, float(rng.uniform(0.0, 360.0)), size)
        case "slow_arrival":
            return faults.slow_arrival(stick, direction, size)
        case "slow_settle":
            return faults.slow_settle(stick, size)
        case "no_return":
            return faults.no_return(stick, size, None if rng.random() < 0.4 else 45.0 * int(rng.integers(8)))
        case "scatter":
            return faults.scatter(stick, size)
    return faults.two_way_lag(stick, axis, size)


def _trigger_fault(kind: str, size: float, rng: Rng) -> Fault:
    trigger, at = str(rng.choice(TRIGGERS)), float(rng.uniform(20.0, 80.0))
    match kind:
        case "rest_high":
            return faults.rest_high(trigger, size)
        case "short_pull":
            return faults.short_pull(trigger, size)
        case "trigger_spikes":
            return faults.trigger_spikes(trigger, at, size, float(rng.uniform(6.0, 15.0)))
    return faults.trigger_gap(trigger, at, size)


def _button_fault(kind: str, rate_hz: int, rng: Rng) -> Fault:
    """Faulty shares of 25 % and more: the bad share that the sequential test is made for, and a quarter beyond it,
    still passes more often than the share of failures asked for here (its β is 5 %). What is too short for the link to
    show as such is not drawn."""
    period_ms = 1000.0 / rate_hz
    button = str(rng.choice(BUTTONS))
    share = float(rng.uniform(0.25, 0.8))
    match kind:
        case "weak_contact":
            return faults.weak_contact(button, share)
        case "split":
            return faults.split(button, share, float(rng.uniform(8.0 + period_ms, 45.0)))
        case "short_contact" if rate_hz >= 250:
            return faults.short_contact(button, share, float(rng.uniform(1.0 + period_ms, 14.0 - period_ms)))
        case "short_contact":
            return faults.weak_contact(button, share)
        case "dropouts":
            return faults.dropouts(button, float(rng.uniform(1.5, 6.0)), float(rng.uniform(1.0 + period_ms, 60.0)))
        case "stuck":
            return faults.stuck(button)
        case "never":
            return faults.never(button)
    others = [b for b in BUTTONS if b != button]
    return faults.crosstalk(button, str(rng.choice(others)))
