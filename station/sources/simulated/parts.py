"""The parameters of a simulated unit's parts: what each means, in which unit, and where its value comes from.

"Common practice" marks a value of the trade without a published source. Values of sound parts are drawn around the
ones named here by `spec.sound_parts`; faults move them. Lengths are in % of half travel of a stick (of the whole
travel of a trigger), as the checks read them; forces as multiples of the force at which the dome snaps, because
that is what a finger feels.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from station.sources.simulated.by_itself import NEVER, STEADY, UNPUSHED, Push, Ramp, Spell
from station.sources.simulated.design import GateShape
from station.sources.simulated.sensing import Imu, TouchPad


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot of the track with bad contact: while the wiper is within `width_pct` around `at_pct`, the output is
    off by `height_pct` (an open spot: a large one, towards the rail)."""

    at_pct: float
    width_pct: float
    height_pct: float


@dataclass(frozen=True, slots=True)
class Track:
    """The sensor of one axis: wiper on a resistive track (or its magnetic equal), then the converter.

    gain          1: output per travel. 1.00…1.10: firmware reaches its end a little before the gate (common practice)
    offset_pct    output at mechanical rest. Sound: σ 0.8 % (common practice)
    white_pct     rms of the converter's own noise, per sample. 0.04…0.12 % is 1.6…5 codes of 12 bits (common practice)
    wander_pct    rms of the slow part of the noise (supply, contact); 0.02…0.05 % (common practice)
    wander_s      its correlation time, 50 ms (common practice)
    jumps_pct     peak to peak of contact-resistance noise of a worn track: the output jumps among levels that are
                  evenly spread over this; sound: 0. A new conductive-plastic track has an output smoothness of
                  0.1 % and less (makers' application notes), which `white_pct` covers; panel controls 1 % (datasheets)
    jump_s        mean time a level lasts, 8 ms (common practice)
    spots         bad contact at places (Spot)
    gaps          (at, width): the output steps over these values
    folds         (at, depth): from there on the output first runs back by `depth`
    play_pct      play between shaft and sensor, peak to peak (common practice: 0 when sound)
    dead          output stands at the middle of the range
    twitch        (when, pct): the output jumps by so much although nothing moves
    drift         how far the output wanders off as it warms up
    low_pct, high_pct   where the report's range ends
    """

    gain: float = 1.0
    offset_pct: float = 0.0
    white_pct: float = 0.08
    wander_pct: float = 0.03
    wander_s: float = 0.05
    jumps_pct: float = 0.0
    jump_s: float = 0.008
    spots: tuple[Spot, ...] = ()
    gaps: tuple[tuple[float, float], ...] = ()
    folds: tuple[tuple[float, float], ...] = ()
    play_pct: float = 0.0
    dead: bool = False
    twitch: tuple[Spell, float] = (NEVER, 0.0)
    drift: Ramp = STEADY
    low_pct: float = -100.0
    high_pct: float = 100.0


@dataclass(frozen=True, slots=True)
class Stick:
    """Shaft, spring and gate of a stick, and its two tracks.

    natural_hz    of the released shaft on its spring: 12…18 Hz, so that it settles in 30…80 ms (common practice)
    damping       ζ, 0.75…1.0 (common practice); a gummed pivot more
    friction_pct  Coulomb friction over spring rate: how far off centre the shaft can stay; 0.3…1.2 % (common practice)
    sticky        (bearing in degrees or None for all, pct): friction when it comes back from there (±30°)
    scatter_pct   rms, per axis, of where a worn spring seat brings it back to; sound: 0.15 % (common practice)
    cuts          (bearing, pct): something stops the shaft at this share of the gate's edge there
    creep         (bearing, τ in s): within ±45° of the bearing the last quarter of the way outwards is followed with
                  this time constant (gum at the gate)
    """

    x: Track
    y: Track
    gate: GateShape = "round"
    natural_hz: float = 15.0
    damping: float = 0.85
    friction_pct: float = 0.7
    sticky: tuple[float | None, float] | None = None
    scatter_pct: float = 0.15
    cuts: tuple[tuple[float, float], ...] = ()
    creep: tuple[float, float] | None = None


CREEP_FROM_PCT = 75.0
"""gum at the gate slows the shaft from here on"""


@dataclass(frozen=True, slots=True)
class Lever:
    """A trigger: lever, spring and track.

    natural_hz, damping   as for a stick; 8 Hz, 1.0 (common practice)
    preload_pct   how far below its stop the spring would take it; 20 % (common practice)
    stop_pct      where the pull ends, % of travel; sound: 100
    hang          (share of pulls, evenly spread, pct, seconds): let go, it stays at pct so long before it comes back
    """

    track: Track
    natural_hz: float = 8.0
    damping: float = 1.0
    preload_pct: float = 20.0
    stop_pct: float = 100.0
    hang: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Contact:
    """A dome or membrane contact.

    snap_n        force at which the dome snaps, N. 0.98…1.6 N is 100…160 gf, the usual tactile switches
                  (datasheets of 6 mm tact switches; 1 gf = 9.80665 mN). Only for telling a force in newtons
    release       share of it at which the dome comes back: 0.45…0.6 (datasheets: return force > 40 of 160 gf at least)
    bounce_s      mean of the bounce after closing, 0.3…1.5 ms, never above 5 ms (Ganssle's survey of 18
                  switches: mean 1.6 ms, read in a second-hand quotation; tact-switch datasheet: ≤ 5 ms when new)
    film          (median, spread): the film on the contact needs this many times the snap force to conduct; drawn
                  anew for each press, log-normal. Sound: (0.3, 0.3), which no light press notices (common practice)
    split         (share of presses, seconds): opens for so long in the middle of a press
    short         (share of presses, seconds): stays closed only so long
    dropouts      (number a second while held, seconds)
    tilt_deg      a finger that rocks it farther than this loses the contact; sound: 15° and more (common practice)
    stuck, never  always closed; never closes
    spells        closes by itself at those times
    pushed        closes by itself while that stick is pushed
    runs          (share of presses, mean length): does not close, in runs of so many presses
    blind         (share of the time, seed): does not close at moments that all contacts with this seed share
    stays         (share of presses, seconds): stays closed for so long after it was let go
    into          controls that close along with it (a short between two lines)
    hides         controls that are not seen while it is closed (two contacts on one line)
    joins         (other, third): with both closed, the third closes too (a matrix without its diode)
    pulls         (stick, axis): its short to the line of that axis pulls it to its upper end while closed
    """

    snap_n: float = 1.27
    release: float = 0.5
    bounce_s: float = 0.0008
    film: tuple[float, float] = (0.3, 0.3)
    split: tuple[float, float] = (0.0, 0.0)
    short: tuple[float, float] = (0.0, 0.0)
    dropouts: tuple[float, float] = (0.0, 0.0)
    tilt_deg: float = 15.0
    spells: Spell = NEVER
    pushed: Push = UNPUSHED
    stuck: bool = False
    never: bool = False
    runs: tuple[float, float] = (0.0, 1.0)
    blind: tuple[float, int] = (0.0, 0)
    stays: tuple[float, float] = (0.0, 0.0)
    into: tuple[str, ...] = ()
    hides: tuple[str, ...] = ()
    joins: tuple[tuple[str, str], ...] = ()
    pulls: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Hat:
    """Four contacts under a rocker: `missing` directions (0 up, clockwise in eighths) never come; `stuck` always is."""

    missing: frozenset[int] = frozenset()
    stuck: int | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """From the unit to the host.

    rate_hz       polls a second (bInterval, USB 2.0, 9.6.6)
    jitter_s      rms of how late after its poll a report arrives, 40 µs by cable, 0.6 ms by radio (common practice)
    lost          share of reports that never arrive, unknown to the host; 0 by cable (USB repeats), 0.002 by radio
                  (common practice)
    merged        share that arrives together with the next one, 0.0002 by cable, 0.02 by radio (common practice)
    gaps          (number a second while the cable is flexed, seconds each)
    away          (number a second while the cable is flexed, seconds each): the unit drops off the bus
    leaves        the unit drops off the bus at those times, whether the cable is flexed or not
    burst         reports go out so many at a time, when the last of them is due (1: each by itself)
    clock_ppm     how wrong the unit's clock runs; ±50 ppm quartz (common practice)
    """

    rate_hz: int = 250
    jitter_s: float = 40e-6
    lost: float = 0.0
    merged: float = 0.0002
    gaps: tuple[float, float] = (0.0, 0.0)
    away: tuple[float, float] = (0.0, 0.0)
    leaves: Spell = NEVER
    burst: int = 1
    clock_ppm: float = 0.0


@dataclass(frozen=True, slots=True)
class Parts:
    """All parts of one unit, by control id."""

    sticks: dict[str, Stick]
    levers: dict[str, Lever]
    contacts: dict[str, Contact]
    hats: dict[str, Hat]
    link: Link
    imu: Imu = field(default_factory=Imu)
    touch_pad: TouchPad = field(default_factory=TouchPad)
