"""Harder kinds for the scoreboard: contacts held together, a wobbly button, motion sensors and touch pads."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from truth_kinds import TWINS, Case, Kind, drawn_unit
from truth_units import Rng, design_of

from station.sources.simulated import PadDesign, faults
from station.sources.simulated.faults import Fault

CONTACTS = (*TWINS, *TWINS.values())
AXES = ("x", "y", "z")


def _picked(rng: Rng, count: int) -> list[str]:
    return [str(name) for name in rng.choice(CONTACTS, count, replace=False)]


def _kind(
    group: str, name: str, bar_pct: float, fault: Callable[[Rng], Fault | None], tested: Sequence[str] = ()
) -> Kind:
    """A faulty control is to be anything but passed; without a fault none of those tested is to fail."""

    def make(rng: Rng, tag: str) -> Case:
        found = fault(rng)
        design = design_of(rng)
        if group in ("motion", "touch"):
            design = PadDesign("sensing", design.rate_hz, design.on_change)
        looked_at = tuple(tested) if found is None else (found.control,)
        drawn = drawn_unit(rng, tag, () if found is None else (found,), design=design)
        return Case(drawn, tuple(tested) or looked_at, looked_at)

    return Kind(group, name, "failed" if name == "sound" else "not passed", bar_pct, make)


SENSED: tuple[Kind, ...] = (
    _kind("together", "sound", 1.0, lambda rng: None, ("",)),
    _kind("together", "hidden", 95.0, lambda rng: faults.hidden(*_picked(rng, 2)), ("",)),
    _kind("together", "phantom", 95.0, lambda rng: faults.phantom(*_picked(rng, 3)), ("",)),
    _kind("button", "wobbly", 95.0, lambda rng: (
        faults.wobbly(str(rng.choice(CONTACTS)), float(rng.uniform(3.0, 6.5))))),
    _kind("motion", "sound", 1.0, lambda rng: None, ("motion",)),
    _kind("motion", "dead gyro", 95.0, lambda rng: faults.gyro_scale(str(rng.choice(AXES)), 0.0)),
    _kind("motion", "gyro wrong", 95.0, lambda rng: faults.gyro_scale(
        str(rng.choice(AXES)), float(rng.uniform(0.5, 0.75)))),
    _kind("motion", "acceleration wrong", 95.0, lambda rng: faults.accel_scale(
        str(rng.choice(AXES)), float(rng.uniform(0.7, 0.83)))),
    _kind("motion", "dead acceleration", 95.0, lambda rng: faults.accel_scale(str(rng.choice(AXES)), 0.0)),
    _kind("motion", "gyro off", 95.0, lambda rng: faults.gyro_off(
        str(rng.choice(AXES)), float(rng.choice([-1, 1]) * rng.uniform(8.0, 60.0)))),
    _kind("touch", "sound", 1.0, lambda rng: None, ("touch_1",)),
    _kind("touch", "ghost", 95.0, lambda rng: faults.ghost_touch(
        float(rng.uniform(0.4, 1.5)), float(rng.uniform(20.0, 200.0)))),
    _kind("touch", "dead zone", 95.0, lambda rng: faults.dead_zone_of_touch(
        float(rng.uniform(22.0, 40.0)), float(rng.uniform(30.0, 70.0)))),
    _kind("touch", "loses the finger", 95.0, lambda rng: faults.lifts(
        float(rng.uniform(1.0, 4.0)), float(rng.uniform(20.0, 80.0)))),
)  # fmt: skip
