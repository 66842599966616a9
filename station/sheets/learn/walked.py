"""A walk under analysis: its steps, its streams, which bits are spoken for, and who answers to which step."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from station.hid.types import Layout
from station.sheets.learn.fields import CORE, CORE_BITS, Found
from station.sheets.learn.streams import Stream, above
from station.sheets.learn.types import Action, Observed
from station.sheets.model import Control
from station.sheets.signals import F64, I64


@dataclass(slots=True, eq=False)
class Walked:
    """Everything the parts of the analysis share. `taken`: for each stream, the bits that are spoken for."""

    steps: Sequence[Observed]
    streams: Sequence[Stream]
    layout: Layout | None
    taken: list[set[int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.taken = [set() for _ in self.streams]

    def controls(self, *kinds: str) -> list[Control]:
        """The controls that were asked for, in order, each once."""
        found: dict[str, Control] = {}
        for s in self.steps:
            if s.step.control is not None and s.step.control.kind in kinds:
                found.setdefault(s.step.control.id, s.step.control)
        return list(found.values())

    def steps_of(self, control: str, *actions: Action) -> list[int]:
        """Numbers of the steps of a control (with those actions, if any are given)."""
        return [
            i for i, s in enumerate(self.steps)
            if s.step.control is not None and s.step.control.id == control and (not actions or s.step.action in actions)
        ]  # fmt: skip

    def steps_with(self, *actions: Action) -> list[int]:
        """Numbers of the steps with those actions."""
        return [i for i, s in enumerate(self.steps) if s.step.action in actions]

    def take(self, found: Iterable[Found]) -> None:
        """These fields are spoken for, and the bits above them that only repeat the sign."""
        for f in found:
            self.taken[f.stream].update(f.bits, self.sign_extension(f))

    def sign_extension(self, found: Found) -> list[int]:
        """The highest bit of a field, and those above it that always say the same, if it is a sign."""
        stream, bits = self.streams[found.stream], [found.bits[0]]
        sign = stream.bit(bits[0])
        while found.signed and stream.inside(nxt := above(bits[-1], found.big)) and (stream.bit(nxt) == sign).all():
            bits.append(nxt)
        return bits

    def value(self, found: Found) -> I64:
        """The field over the whole walk."""
        return found.value(self.streams[found.stream])

    def rows(self, stream: int, steps: Sequence[int]) -> NDArray[np.bool_]:
        """Which reports of a stream came in those steps."""
        return np.isin(self.streams[stream].step, steps)

    def rest_bit(self, stream: int, bit: int) -> int:
        """What a bit says most of the time."""
        s = self.streams[stream]
        return int(np.dot(s.bit(bit), s.held_ns) * 2 > s.held_ns.sum())

    def rest_of(self, found: Found, moved: Sequence[int]) -> float:
        """What the field says while its control is left alone: its usual value outside the steps `moved`."""
        stream = self.streams[found.stream]
        alone = ~np.isin(stream.step, moved)
        rows = alone if alone.any() else np.ones(len(stream), bool)
        return weighted_median(found.value(stream, rows), stream.held_ns[rows])

    def reach(self, found: Found, rest: float) -> F64:
        """How far the field goes from `rest` in each step, as a share of all its codes; float[steps]."""
        stream = self.streams[found.stream]
        short = Found(found.stream, found.bits[:CORE_BITS], found.signed, found.big)
        scale = 1 << (len(found.bits) - len(short.bits))
        away = np.abs(short.value(stream) - np.floor(rest / scale))
        return np.array([_nearly_most(away[stream.runs(i)]) for i in range(len(self.steps))]) / min(
            CORE, 1 << len(short.bits)
        )


def _nearly_most(value: F64) -> float:
    """The value that 3 in 100 lie above; 0 of none."""
    at = int(0.97 * (len(value) - 1))
    return float(np.partition(value, at)[at]) if len(value) else 0.0


def weighted_median(value: I64 | F64, weight: I64) -> float:
    """The value that half of the weight lies below."""
    order = np.argsort(value, kind="stable")
    total = np.cumsum(weight[order].astype(np.float64) + 1e-9)
    return float(value[order[int(np.searchsorted(total, total[-1] / 2))]])


def on_grid(t_ns: I64, value: NDArray[np.float64], grid_ns: I64) -> F64:
    """The value held at each moment of the grid."""
    return value[np.clip(np.searchsorted(t_ns, grid_ns, "right") - 1, 0, len(value) - 1)]
