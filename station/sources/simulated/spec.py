"""One simulated unit: a model, a seed that stands for how its parts happened to turn out, and its faults."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from station.sources.simulated.ailments import with_fault
from station.sources.simulated.design import PadDesign
from station.sources.simulated.faults import Fault
from station.sources.simulated.firmware import PLAIN, Firmware
from station.sources.simulated.parts import Contact, Hat, Lever, Link, Parts, Stick, Track
from station.sources.simulated.sensing import Imu
from station.sources.simulated.truth import Readings, unit_truth


def stream(seed: int, name: str) -> np.random.Generator:
    """A random stream of its own for each part, so that a fault in one changes nothing in the others."""
    return np.random.default_rng([seed & 0xFFFFFFFF, zlib.crc32(name.encode())])


@dataclass(frozen=True)
class UnitSpec:
    """A unit. `tag` is its serial number; `by_radio`: its reports are late, merged and lost as those of a wireless one;
    `firmware`: its habits, which belong to the model.

    InputError for a fault that the model cannot have.
    """

    design: PadDesign
    seed: int = 0
    faults: tuple[Fault, ...] = ()
    tag: str = ""
    by_radio: bool = False
    firmware: Firmware = PLAIN

    @cached_property
    def parts(self) -> Parts:
        """All parts with what ails them."""
        parts = sound_parts(self.design, self.seed)
        if self.by_radio:
            parts = replace(parts, link=replace(parts.link, jitter_s=0.0006, lost=0.002, merged=0.02))
        habits = self.firmware
        if habits.burst > 1 or habits.lost:
            lost = max(parts.link.lost, habits.lost)
            parts = replace(parts, link=replace(parts.link, lost=lost, burst=habits.burst))
        for number, fault in enumerate(self.faults):
            parts = with_fault(parts, fault, stream(self.seed, f"fault {number}"), self.design)
        return parts

    def truth(self) -> dict[tuple[str, str], Readings]:
        """(check, control) → the true value of each reading, as far as it does not depend on the hand."""
        return unit_truth(self.design, self.parts)


def sound_parts(design: PadDesign, seed: int) -> Parts:
    """Parts of a sound unit, spread as `parts` says."""
    reference = 1.0 + 0.003 * float(np.clip(stream(seed, "reference").standard_normal(), -2.0, 2.0))
    ids: dict[str, list[str]] = {"stick": [], "trigger": [], "button": [], "hat": [], "motion": [], "touch": []}
    for control in design.controls:
        ids[control.kind].append(control.id)
    return Parts(
        sticks={i: _sound_stick(design, reference, stream(seed, i)) for i in ids["stick"]},
        levers={i: _sound_lever(reference, stream(seed, i)) for i in ids["trigger"]},
        contacts={i: _sound_contact(stream(seed, i)) for i in ids["button"]},
        hats={i: Hat() for i in ids["hat"]},
        imu=_sound_imu(stream(seed, "imu")),
        link=Link(design.rate_hz, clock_ppm=float(np.clip(stream(seed, "link").normal(0.0, 25.0), -60.0, 60.0))),
    )


def _sound_track(reference: float, rng: np.random.Generator) -> Track:
    return Track(
        gain=reference * float(rng.uniform(1.0, 1.07)),
        offset_pct=float(np.clip(rng.normal(0.0, 0.8), -2.0, 2.0)),
        white_pct=float(rng.uniform(0.04, 0.1)),
        wander_pct=float(rng.uniform(0.02, 0.05)),
    )


def _sound_stick(design: PadDesign, reference: float, rng: np.random.Generator) -> Stick:
    return Stick(
        x=_sound_track(reference, rng),
        y=_sound_track(reference, rng),
        gate=design.gate_shape,
        natural_hz=float(rng.uniform(12.0, 18.0)),
        damping=float(rng.uniform(0.75, 1.0)),
        friction_pct=float(rng.uniform(0.3, 1.2)),
    )


def _sound_lever(reference: float, rng: np.random.Generator) -> Lever:
    track = Track(
        gain=reference * float(rng.uniform(1.03, 1.08)),
        offset_pct=float(rng.uniform(-1.5, 0.5)),
        white_pct=float(rng.uniform(0.03, 0.08)),
        wander_pct=float(rng.uniform(0.01, 0.03)),
        low_pct=0.0,
    )
    return Lever(track, natural_hz=float(rng.uniform(7.0, 10.0)))


def _sound_imu(rng: np.random.Generator) -> Imu:
    accel, turn = rng.normal(0.0, 0.015, 3), rng.normal(0.0, 1.0, 3)
    gains = np.clip(1.0 + rng.normal(0.0, 0.01, 6), 0.98, 1.02).tolist()
    return Imu(
        accel_gain=(gains[0], gains[1], gains[2]),
        accel_offset=(float(accel[0]), float(accel[1]), float(accel[2])),
        gyro_gain=(gains[3], gains[4], gains[5]),
        gyro_offset=(float(turn[0]), float(turn[1]), float(turn[2])),
    )


def _sound_contact(rng: np.random.Generator) -> Contact:
    return Contact(
        snap_n=float(rng.uniform(0.98, 1.6)),
        release=float(rng.uniform(0.45, 0.6)),
        bounce_s=float(rng.uniform(0.0003, 0.0015)),
    )
