"""A motion sensor and a touch pad: what they are made of, how a hand moves them, and what they say.

Specific force is in g in the frame of the unit, which lies on its back: (0, 0, 1) at rest. Values of sound parts are
those that datasheets of small inertial sensors call typical (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Field
from station.hid.usages import resolution
from station.sources.simulated.by_itself import NEVER, Spell
from station.sources.simulated.path import smooth, unsteady
from station.sources.simulated.style import Style

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Triple = tuple[float, float, float]
LYING = (0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Imu:
    """Gain 1 is true; offsets in g and °/s; noise is the rms of a report."""

    accel_gain: Triple = (1.0, 1.0, 1.0)
    accel_offset: Triple = (0.0, 0.0, 0.0)
    accel_noise_g: float = 0.003
    gyro_gain: Triple = (1.0, 1.0, 1.0)
    gyro_offset: Triple = (0.0, 0.0, 0.0)
    gyro_noise: float = 0.1


@dataclass(frozen=True, slots=True)
class TouchPad:
    """`ghost`: it feels a finger that is not there at those times; `dead`: (x from, x to, y from, y to) in % that feels
    none; `lifts` (number a second, seconds): it loses the finger."""

    ghost: Spell = NEVER
    dead: tuple[float, float, float, float] | None = None
    lifts: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Turned:
    """What the hand does to the whole unit: specific force float[n, 3] in g, angular velocity float[n, 3] in °/s."""

    force_g: F64
    turning: F64


# --- how a hand moves it --------------------------------------------------------------------------------

_FACES = ((1, 0, 0), (0, 1, 0), (0, 0, -1), (-1, 0, 0), (0, -1, 0), (0, 0, 1))
"""in this order each quarter turn is about one axis, and each axis comes twice"""


def turn_over(style: Style, rng: np.random.Generator, tick_s: float) -> Turned:
    """On each of the six sides in turn, held as still as a hand can, not quite upright, and back."""
    pieces: list[F64] = [np.zeros((round(0.9 / tick_s), 3))]
    before = np.array(LYING)
    for face in _FACES:
        after = np.array(face, dtype=np.float64)
        axis = np.cross(after, before)  # the unit turns, so the force goes the other way round in its frame
        count = round(float(rng.uniform(0.6, 0.9)) / style.speed / tick_s)
        share = np.diff(smooth(count), prepend=0.0)
        aside = rng.normal(0.0, 5.0, 3)
        about = 90.0 * axis[None, :] * share[:, None] + aside[None, :] * share[:, None]
        pieces += [about / tick_s, unsteady((round(1.1 / tick_s), 3), tick_s, 0.6, 0.0, rng)]
        before = after
    turning = np.concatenate(pieces)
    return Turned(_carried(turning, tick_s), turning)


def _carried(turning: F64, tick_s: float) -> F64:
    """Specific force in the frame of a unit that turns so: f′ = −ω × f."""
    force = np.empty_like(turning)
    now = np.array(LYING)
    for k, step in enumerate(np.radians(turning) * tick_s):
        angle = float(np.linalg.norm(step))
        if angle > 0.0:  # Rodrigues' formula, by −angle about the axis
            axis = step / angle
            cos, sin = np.cos(angle), np.sin(angle)
            now = now * cos - np.cross(axis, now) * sin + axis * float(axis @ now) * (1.0 - cos)
        force[k] = now
    return force


def swipe_pad(style: Style, rng: np.random.Generator, tick_s: float) -> F64:
    """Strokes to and fro all over the pad and once more upright: touching, x and y in %, float[n, 3]."""
    pieces = [np.zeros((round(0.3 / tick_s), 3))]
    for upright in (False, True):
        lines = np.linspace(4.0, 96.0, 7 if not upright else 9)
        for number, across in enumerate(lines + rng.normal(0.0, 1.0, len(lines))):
            count = round(float(rng.uniform(0.35, 0.5)) / style.speed / tick_s)
            along = -4.0 + 108.0 * smooth(count)
            along = along[::-1] if number % 2 else along
            stroke = np.clip(np.column_stack((along, np.full(count, across))), 0.0, 100.0)
            stroke = stroke[:, ::-1] if upright else stroke
            pieces += [np.column_stack((np.ones(count), stroke)), np.zeros((round(0.1 / tick_s), 3))]
    return np.concatenate(pieces)


# --- what they say --------------------------------------------------------------------------------------


def motion_codes(part: Imu, turned: Turned, fields: tuple[Field, ...], rng: np.random.Generator) -> list[I64]:
    """Codes of acceleration x, y, z and angular velocity x, y, z."""
    count = len(turned.force_g)
    accel = turned.force_g * np.array(part.accel_gain) + np.array(part.accel_offset)
    gyro = turned.turning * np.array(part.gyro_gain) + np.array(part.gyro_offset)
    noise = rng.standard_normal((count, 6)) * np.repeat([part.accel_noise_g, part.gyro_noise], 3)
    dead = np.array([0.0 if gain == 0.0 else 1.0 for gain in (*part.accel_gain, *part.gyro_gain)])
    values = (np.concatenate((accel, gyro), axis=1) + noise) * dead
    scales = [resolution(f) or 1.0 for f in fields]
    return [
        np.clip(np.rint(values[:, k] * scales[k]), f.logical_min, f.logical_max).astype(np.int64)
        for k, f in enumerate(fields)
    ]


def touch_codes(part: TouchPad, touched: F64, at_s: F64, tick_s: float, rng: np.random.Generator) -> F64:
    """Touching, x and y in %, as the pad feels them."""
    felt = touched.copy()
    if part.dead is not None:
        left, right, low, high = part.dead
        inside = (felt[:, 1] > left) & (felt[:, 1] < right) & (felt[:, 2] > low) & (felt[:, 2] < high)
        felt[inside, 0] = 0.0
    rate, lasts_s = part.lifts
    if rate:
        for at in np.flatnonzero(rng.random(len(felt)) < rate * tick_s):
            felt[at : at + round(lasts_s / tick_s), 0] = 0.0
    if part.ghost.every_s:
        there = part.ghost.at(at_s) & (felt[:, 0] == 0.0)
        felt[there] = (1.0, 37.0, 61.0)
    return felt
