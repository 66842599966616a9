"""The sample units: part of an invented lot, SM-07 of the Saltmarsh Reuse Workshop, with faults that are known.

`sample_units/make.py` records them; the demo plugs them in.
"""

from __future__ import annotations

from dataclasses import dataclass

from station.errors import InputError
from station.sources.simulated import faults
from station.sources.simulated.design import PadDesign
from station.sources.simulated.hand import SimulatedHand
from station.sources.simulated.recording import Item
from station.sources.simulated.spec import UnitSpec
from station.words import samples as words


@dataclass(frozen=True, slots=True)
class SampleUnit:
    """A sample unit: `title` says in a few words what is wrong, `claim` what its seller said."""

    spec: UnitSpec
    title: str
    claim: str

    @property
    def tag(self) -> str:
        return self.spec.tag

    @property
    def hand_seed(self) -> int:
        # one go at each check: with this seed the hand leads no flick back, which would have to be done again
        return self.spec.seed + 4000


def _unit(number: int, design: PadDesign, *found: faults.Fault) -> SampleUnit:
    spec = UnitSpec(design, 700 + number, found, f"SM-07-{number:02}")
    return SampleUnit(spec, words.TITLES[number], words.CLAIMS.get(number, ""))


SAMPLES: tuple[SampleUnit, ...] = (
    _unit(1, PadDesign("16bit", 1000)),
    _unit(
        2,
        PadDesign("8bit", 250, on_change=True),
        faults.off_centre("left_stick", "right", 15.0),
    ),
    _unit(
        3,
        PadDesign("packed", 500),
        faults.noisy_track("right_stick", "x", 7.0),
    ),
    _unit(
        4,
        PadDesign("8bit", 125),
        faults.short_reach("left_stick", "up", 79.0),
    ),
    _unit(
        5,
        PadDesign("16bit", 500),
        faults.slow_arrival("right_stick", "right", 450.0),
    ),
    _unit(
        6,
        PadDesign("8bit", 250),
        faults.weak_contact("left_shoulder", 0.45),
    ),
    _unit(
        7,
        PadDesign("packed", 1000, on_change=True),
        faults.split("right_shoulder", 0.4, 14.0),
    ),
    _unit(
        8,
        PadDesign("packed", 500, on_change=True),
        faults.worn_track("left_stick", "y", 30.0, 9.0),
        faults.rest_high("right_trigger", 9.0),
    ),
    _unit(
        9,
        PadDesign("16bit", 250),
        faults.trigger_spikes("left_trigger", 45.0, 12.0),
        faults.short_pull("left_trigger", 84.0),
    ),
    _unit(
        10,
        PadDesign("8bit", 125, on_change=True),
        faults.hat_missing(4),
    ),
    _unit(
        11,
        PadDesign("packed", 250),
        faults.no_return("left_stick", 17.0, 90.0),
    ),
    _unit(
        12,
        PadDesign("16bit", 250, on_change=True),
        faults.link_gaps(1.0, 130.0),
    ),
)


def sample(tag: str) -> SampleUnit:
    """The sample unit with that tag. InputError if there is none."""
    for one in SAMPLES:
        if one.tag == tag:
            return one
    raise InputError(words.NO_SUCH_SAMPLE.format(tag=tag, tags=", ".join(s.tag for s in SAMPLES)))


def sample_hand(one: SampleUnit) -> SimulatedHand:
    """A careful hand for a sample unit."""
    return SimulatedHand(0.9, one.hand_seed)


LIGHT_PRESSED = ("left_shoulder", "right_shoulder", "south")
"""a light press takes twenty seconds: only these buttons are recorded so"""
HELD = ("left_shoulder", "right_shoulder")


def sample_plan(one: SampleUnit) -> list[Item]:
    """Every check of every control, except that only some buttons are pressed lightly and held."""
    controls = one.spec.design.controls
    twins = {c.id: c.twin for c in controls}
    plan = [Item("contact", c.id) for c in controls if c.kind == "button"]
    plan += [Item("light", c, twins[c], beats=62) for c in LIGHT_PRESSED]
    plan += [Item("hold", c) for c in HELD]
    sticks = [c.id for c in controls if c.kind == "stick"]
    plan += [Item(check, stick) for stick in sticks for check in ("rest", "letgo", "travel", "rim", "sweep")]
    plan += [Item("trigger", c.id) for c in controls if c.kind == "trigger"]
    plan += [Item("hat", c.id) for c in controls if c.kind == "hat"]
    return [*plan, Item("link")]
