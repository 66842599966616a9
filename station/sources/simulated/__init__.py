"""A unit that exists only as numbers, and a hand that works it: the same reports as from a device, with known faults.

    spec = UnitSpec(PadDesign("16bit", 1000), seed=7, faults=(faults.off_centre("left_stick", "right", 14.0),))
    source = SimulatedSource(spec, SimulatedHand(skill=0.9, seed=1))

What the parts do and where their numbers come from: `parts`; the faults: `faults`; the truth: `UnitSpec.truth`.
"""

from __future__ import annotations

from station.sources.simulated import faults
from station.sources.simulated.design import PadControl, PadDesign
from station.sources.simulated.faults import Expected, Fault, expected
from station.sources.simulated.hand import SimulatedHand
from station.sources.simulated.recording import Item, make_capture
from station.sources.simulated.source import SimulatedSource
from station.sources.simulated.spec import UnitSpec

__all__ = [
    "Expected",
    "Fault",
    "Item",
    "PadControl",
    "PadDesign",
    "SimulatedHand",
    "SimulatedSource",
    "UnitSpec",
    "expected",
    "faults",
    "make_capture",
]
