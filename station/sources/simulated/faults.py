"""Faults that can be dialled in, by name, place and magnitude, and what a check should say about each.

A magnitude is what the check should read where the unit is otherwise ideal: `short_reach(…, 82)` reads
82 %. Directions are up, right, down, left; bearings are degrees, 0 = up, clockwise; places are in % of half travel
(−100…+100), for triggers in % of travel.
"""

from __future__ import annotations

from dataclasses import dataclass

from station.errors import InputError
from station.words import samples as words

Direction = str | float
BEARINGS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
AXIS_OF = {"up": "y", "right": "x", "down": "y", "left": "x"}


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault. `size` in the unit of its kind, `at` a place on a track, `ms` a duration, `other` a second control,
    `third` a third."""

    kind: str
    control: str = ""
    axis: str | None = None
    direction: Direction | None = None
    size: float = 0.0
    at: float = 0.0
    width: float = 0.0
    ms: float = 0.0
    other: str = ""
    third: str = ""


@dataclass(frozen=True, slots=True)
class Expected:
    """The finding that names a fault: check, control, code, and where they apply axis and direction."""

    check: str
    control: str
    code: str
    axis: str | None = None
    direction: Direction | None = None


CODES: dict[str, tuple[str, str]] = {
    "off_centre": ("rest", "offset"),
    "noisy_track": ("rest", "noise"),
    "worn_track": ("sweep", "spikes"),
    "code_gap": ("sweep", "gap"),
    "fold": ("sweep", "reversal"),
    "short_reach": ("travel", "short_reach"),
    "flat_rim": ("rim", "flat_rim"),
    "slow_arrival": ("travel", "creep"),
    "slow_settle": ("letgo", "slow_settle"),
    "no_return": ("letgo", "no_return"),
    "scatter": ("letgo", "scatter"),
    "two_way_lag": ("rim", "two_way_lag"),
    "dead_axis": ("travel", "dead_axis"),
    "weak_contact": ("light", "misses"),
    "split": ("light", "splits"),
    "short_contact": ("light", "shorts"),
    "missed_in_runs": ("light", "misses"),
    "missed_together": ("light", "misses"),
    "stays_closed": ("light", "stays_closed"),
    "dropouts": ("hold", "dropouts"),
    "wobbly": ("hold", "rocking_dropouts"),
    "stuck": ("contact", "stuck"),
    "never": ("contact", "never"),
    "crosstalk": ("contact", "crosstalk"),
    "closes_at_times": ("quiet", "by_itself"),
    "closes_when_pushed": ("quiet", "by_itself"),
    "twitches": ("quiet", "by_itself"),
    "drifts": ("alone", "drifts"),
    "drops_out": ("alone", "dropped_out"),
    "accel_scale": ("sides", "accel_scale"),
    "accel_off": ("sides", "accel_offset"),
    "gyro_scale": ("sides", "gyro_scale"),
    "gyro_off": ("still", "gyro_offset"),
    "ghost_touch": ("untouched", "ghost_touch"),
    "dead_zone_of_touch": ("swipe", "dead_zone"),
    "lifts": ("swipe", "lost_touch"),
    "hidden": ("together", "vanishes"),
    "phantom": ("together", "appears"),
    "axis_short": ("contact", "crosstalk"),
    "rest_high": ("trigger", "rest_high"),
    "short_pull": ("trigger", "short_pull"),
    "trigger_spikes": ("trigger", "spikes"),
    "trigger_gap": ("trigger", "gap"),
    "trigger_fold": ("trigger", "reversal"),
    "hanging_trigger": ("trigger", "slow_return"),
    "hat_missing": ("hat", "missing_direction"),
    "hat_no_null": ("hat", "no_null"),
    "link_gaps": ("link", "gaps"),
    "disconnect": ("link", "disconnect"),
    "slow_rate": ("link", "slow_rate"),
}
"""kind → the check that finds it and the finding's code"""
DEAD_CODES = {"accel_scale": "dead_accel", "gyro_scale": "dead_gyro"}
"""the code where an axis reads nothing of the truth"""


def expected(fault: Fault) -> Expected:
    """The finding that names the fault."""
    check, code = CODES[fault.kind]
    code = DEAD_CODES.get(fault.kind, code) if fault.size == 0.0 else code
    # the rim, a button and what moves by itself have no axis; of a motion sensor the sentence says it
    without = ("two_way_lag", "axis_short", "twitches", "drifts", "accel_scale", "accel_off", "gyro_scale", "gyro_off")
    axis = None if fault.kind in without else fault.axis
    direction = None if fault.kind == "hat_no_null" else fault.direction  # it never rests, wherever it hangs
    return Expected(check, fault.control, code, axis, direction)


def _bearing(direction: Direction) -> float:
    return BEARINGS[direction] if isinstance(direction, str) else float(direction) % 360.0


def bearing_of(fault: Fault) -> float:
    """The fault's direction in degrees; InputError if it has none."""
    if fault.direction is None:
        raise InputError(words.FAULT_WITHOUT_DIRECTION.format(kind=fault.kind))
    return _bearing(fault.direction)


# --- sticks -------------------------------------------------------------------------------------------


def off_centre(stick: str, direction: Direction, pct: float) -> Fault:
    """Rests `pct` off centre towards a direction or bearing."""
    axis = AXIS_OF[direction] if isinstance(direction, str) else None
    return Fault("off_centre", stick, axis, _bearing(direction), size=pct)


def noisy_track(stick: str, axis: str, pp_pct: float) -> Fault:
    """Contact-resistance noise of `pp_pct` peak to peak, at rest and while moving."""
    return Fault("noisy_track", stick, axis, size=pp_pct)


def worn_track(stick: str, axis: str, at_pct: float, height_pct: float, width_pct: float = 12.0) -> Fault:
    """A worn stretch of `width_pct` around `at_pct`: the output jumps by `height_pct` on its bad spots."""
    return Fault("worn_track", stick, axis, size=height_pct, at=at_pct, width=width_pct)


def code_gap(stick: str, axis: str, at_pct: float, width_pct: float) -> Fault:
    """The output steps over `width_pct` around `at_pct`."""
    return Fault("code_gap", stick, axis, size=width_pct, at=at_pct)


def fold(stick: str, axis: str, at_pct: float, depth_pct: float) -> Fault:
    """The output runs back by `depth_pct` against the motion, from `at_pct` on."""
    return Fault("fold", stick, axis, size=depth_pct, at=at_pct)


def short_reach(stick: str, direction: str, pct: float) -> Fault:
    """Reaches only `pct` in that direction."""
    return Fault("short_reach", stick, AXIS_OF[direction], direction, size=pct)


def flat_rim(stick: str, bearing_deg: float, pct: float) -> Fault:
    """The rim reaches only `pct` at a bearing."""
    return Fault("flat_rim", stick, None, bearing_deg % 360.0, size=pct)


def slow_arrival(stick: str, direction: str, ms: float) -> Fault:
    """Creeps for `ms` from 80 % to within 2 % of where it is held."""
    return Fault("slow_arrival", stick, AXIS_OF[direction], direction, ms=ms)


def slow_settle(stick: str, ms: float) -> Fault:
    """Takes `ms` to come back to rest (gummed pivot)."""
    return Fault("slow_settle", stick, ms=ms)


def no_return(stick: str, pct: float, bearing_deg: float | None = None) -> Fault:
    """Stays `pct` off centre on the side it came from: from everywhere, or only from within 30° of a bearing."""
    return Fault("no_return", stick, None, bearing_deg, size=pct)


def scatter(stick: str, pct: float) -> Fault:
    """Comes back to a different place each time; repeatability (ISO 9283) of about `pct`."""
    return Fault("scatter", stick, size=pct)


def two_way_lag(stick: str, axis: str, pct: float) -> Fault:
    """Play between shaft and sensor: the two ways round the rim differ by about `pct`."""
    return Fault("two_way_lag", stick, axis, size=pct)


def dead_axis(stick: str, axis: str) -> Fault:
    """No signal of one axis."""
    return Fault("dead_axis", stick, axis)


# --- contacts -----------------------------------------------------------------------------------------


def weak_contact(button: str, share: float) -> Fault:
    """A film: this share of light presses does not register; harder ones seldom fail."""
    return Fault("weak_contact", button, size=share)


def split(button: str, share: float, ms: float) -> Fault:
    """The contact opens for `ms` in the middle of this share of presses."""
    return Fault("split", button, size=share, ms=ms)


def short_contact(button: str, share: float, ms: float) -> Fault:
    """The contact closes only for `ms` in this share of presses."""
    return Fault("short_contact", button, size=share, ms=ms)


def missed_in_runs(button: str, share: float, run: float) -> Fault:
    """This share of presses does not register, however hard, in runs of `run` presses on average."""
    return Fault("missed_in_runs", button, size=share, width=run)


def missed_together(button: str, share: float, group: int = 0) -> Fault:
    """This share of presses does not register, on the same beats on every button of the same group."""
    return Fault("missed_together", button, size=share, at=float(group))


def stays_closed(button: str, share: float, ms: float) -> Fault:
    """The contact stays closed for `ms` after this share of presses."""
    return Fault("stays_closed", button, size=share, ms=ms)


def dropouts(button: str, per_s: float, ms: float) -> Fault:
    """While held, the contact is lost `per_s` times a second for `ms`."""
    return Fault("dropouts", button, size=per_s, ms=ms)


def wobbly(button: str, beyond_deg: float) -> Fault:
    """While held, the contact is lost when the button is rocked farther than that."""
    return Fault("wobbly", button, size=beyond_deg)


def stuck(button: str) -> Fault:
    """Always closed."""
    return Fault("stuck", button)


def never(button: str) -> Fault:
    """Never closes."""
    return Fault("never", button)


def crosstalk(button: str, other: str) -> Fault:
    """Another button closes along with it."""
    return Fault("crosstalk", button, other=other)


def closes_at_times(button: str, every_s: float, ms: float, first_s: float = 0.0) -> Fault:
    """Closes by itself every `every_s` seconds for `ms`, first at `first_s`."""
    return Fault("closes_at_times", button, size=every_s, ms=ms, at=first_s)


def closes_when_pushed(button: str, stick: str, beyond_pct: float) -> Fault:
    """Closes by itself while a stick is pushed beyond `beyond_pct`."""
    return Fault("closes_when_pushed", button, other=stick, size=beyond_pct)


def twitches(control: str, axis: str | None, every_s: float, ms: float, pct: float, first_s: float = 0.0) -> Fault:
    """The output of a stick's axis, or of a trigger (axis None), jumps by `pct` every `every_s` seconds for `ms`."""
    return Fault("twitches", control, axis, size=every_s, width=pct, ms=ms, at=first_s)


def drifts(control: str, axis: str | None, pct: float, over_s: float) -> Fault:
    """The output of a stick's axis, or of a trigger (axis None), wanders off by `pct` within `over_s` seconds."""
    return Fault("drifts", control, axis, size=pct, ms=1000.0 * over_s)


def drops_out(every_s: float, lasts_s: float, first_s: float = 0.0) -> Fault:
    """Off the bus every `every_s` seconds for `lasts_s`, first at `first_s`, untouched as it is."""
    return Fault("drops_out", size=every_s, ms=1000.0 * lasts_s, at=first_s)


def accel_scale(axis: str, factor: float) -> Fault:
    """An axis of the accelerometer reads so much of the truth; 0: it is dead."""
    return Fault("accel_scale", "motion", axis, size=factor)


def accel_off(axis: str, g: float) -> Fault:
    """An axis of the accelerometer is off by that."""
    return Fault("accel_off", "motion", axis, size=g)


def gyro_scale(axis: str, factor: float) -> Fault:
    """An axis of the gyro reads so much of the truth; 0: it is dead."""
    return Fault("gyro_scale", "motion", axis, size=factor)


def gyro_off(axis: str, deg_per_s: float) -> Fault:
    """An axis of the gyro is off by that."""
    return Fault("gyro_off", "motion", axis, size=deg_per_s)


def ghost_touch(every_s: float, ms: float, first_s: float = 0.0) -> Fault:
    """The touch pad feels a finger that is not there."""
    return Fault("ghost_touch", "touch_1", size=every_s, ms=ms, at=first_s)


def dead_zone_of_touch(pct: float, at_pct: float = 50.0) -> Fault:
    """A square of the touch pad, `pct` of its width and height around `at_pct`, feels nothing."""
    return Fault("dead_zone_of_touch", "touch_1", size=pct, at=at_pct)


def lifts(per_s: float, ms: float) -> Fault:
    """The touch pad loses the finger on its way."""
    return Fault("lifts", "touch_1", size=per_s, ms=ms)


def hidden(button: str, by: str) -> Fault:
    """It is not seen while another one is held."""
    return Fault("hidden", button, other=by)


def phantom(button: str, one: str, other: str) -> Fault:
    """It closes while two others are held."""
    return Fault("phantom", button, other=one, third=other)


def axis_short(button: str, stick: str, axis: str) -> Fault:
    """While closed it pulls an axis of a stick to its end."""
    return Fault("axis_short", button, axis, other=stick)


# --- triggers, hat, link --------------------------------------------------------------------------------


def rest_high(trigger: str, pct: float) -> Fault:
    """Stands at `pct` when let go."""
    return Fault("rest_high", trigger, size=pct)


def short_pull(trigger: str, pct: float) -> Fault:
    """Reaches only `pct` when pulled."""
    return Fault("short_pull", trigger, size=pct)


def trigger_spikes(trigger: str, at_pct: float, height_pct: float, width_pct: float = 8.0) -> Fault:
    """A worn stretch of a trigger's track."""
    return Fault("trigger_spikes", trigger, size=height_pct, at=at_pct, width=width_pct)


def trigger_gap(trigger: str, at_pct: float, width_pct: float) -> Fault:
    """A trigger's output steps over `width_pct` around `at_pct`."""
    return Fault("trigger_gap", trigger, size=width_pct, at=at_pct)


def trigger_fold(trigger: str, at_pct: float, depth_pct: float) -> Fault:
    """A trigger's output runs back by `depth_pct` while it is pulled."""
    return Fault("trigger_fold", trigger, size=depth_pct, at=at_pct)


def hanging_trigger(trigger: str, share: float, pct: float, ms: float) -> Fault:
    """Let go, it stays at `pct` for `ms` before it comes back; in this share of pulls."""
    return Fault("hanging_trigger", trigger, size=share, at=pct, ms=ms)


def hat_missing(direction: int, hat: str = "hat") -> Fault:
    """One direction (0 up, clockwise in eighths) never comes; a side takes its two diagonals with it."""
    return Fault("hat_missing", hat, direction=45.0 * direction)


def hat_no_null(direction: int, hat: str = "hat") -> Fault:
    """The contact of one side (0, 2, 4, 6) is stuck, so the hat never rests."""
    return Fault("hat_no_null", hat, direction=45.0 * direction)


def link_gaps(per_s: float, ms: float) -> Fault:
    """The stream stops `per_s` times a second for `ms` while the cable is flexed."""
    return Fault("link_gaps", size=per_s, ms=ms)


def disconnect(per_s: float, ms: float) -> Fault:
    """The unit drops off the bus `per_s` times a second for `ms` while the cable is flexed."""
    return Fault("disconnect", size=per_s, ms=ms)


def slow_rate(rate_hz: float) -> Fault:
    """Only so many reports a second, whatever the model's rate."""
    return Fault("slow_rate", size=rate_hz)
