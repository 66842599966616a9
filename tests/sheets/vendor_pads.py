"""Simulated pads without a descriptor whose reports are of several kinds, for learning: each begins with a type, which
may be 0, and often its length, or has nothing but its length to tell it from others; the other kinds bear motion, a
timer, a status that hardly changes.

What carries the controls is a pad of `learn_pads` without report ids; packed values, counters, time stamps, checksums
and sensors are its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from station.hid.types import ReportBlock
from station.sheets.model import Control, Place
from tests.sheets.learn_pads import Pad, Rng, one_of, random_pad

SOON_NS = 150_000
"""how long after a report with controls one of another kind comes"""
BY_LENGTH = 0.2
"""share of the pads that have no type in their reports"""


@dataclass(frozen=True)
class Other:
    """Another kind of report: how it begins, its size in all, what it bears, on every which report it comes."""

    head: bytes
    size: int
    bears: str
    every: int


@dataclass(frozen=True)
class Kinds:
    """What makes the reports on the wire of those with controls; a pad's `wire`."""

    head: bytes
    others: tuple[Other, ...]

    def __call__(self, block: ReportBlock, shake: NDArray[np.float64], rng: Rng) -> ReportBlock:
        n = len(block)
        width = max([block.raw.shape[1] + len(self.head), *(other.size for other in self.others)])
        raws, times, sizes = [np.zeros((n, width), np.uint8)], [block.t_ns], [block.size + np.uint16(len(self.head))]
        raws[0][:, : len(self.head)] = np.frombuffer(self.head, np.uint8)
        raws[0][:, len(self.head) : len(self.head) + block.raw.shape[1]] = block.raw
        for number, other in enumerate(self.others, 1):
            at = np.arange(number, n, other.every)
            raws.append(_said(other, width, block.t_ns[at], shake[at], rng))
            times.append(block.t_ns[at] + SOON_NS * number)
            sizes.append(np.full(len(at), other.size, np.uint16))
        t_ns = np.concatenate(times)
        order = np.argsort(t_ns, kind="stable")
        return ReportBlock(0, t_ns[order], np.concatenate(sizes)[order], np.concatenate(raws)[order])


def _said(other: Other, width: int, t_ns: NDArray[np.int64], shake: NDArray[np.float64], rng: Rng) -> NDArray[np.uint8]:
    raw = np.zeros((len(t_ns), width), np.uint8)
    head, body = len(other.head), other.size - len(other.head)
    raw[:, :head] = np.frombuffer(other.head, np.uint8)
    if other.bears == "motion":
        for at in range(head, other.size - 1, 2):
            value = (rng.normal(0, 25, len(t_ns)) + 6000 * shake * rng.normal(0, 1, len(t_ns))).astype(np.int16)
            raw[:, at : at + 2] = value[:, None].view(np.uint8)
    elif other.bears == "timer":
        for k in range(min(body, 4)):
            raw[:, head + k] = t_ns // 1000 >> 8 * k & 0xFF
    else:
        raw[:, head : other.size] = np.frombuffer(rng.bytes(body), np.uint8)
    return raw


def vendor_pad(seed: int) -> Pad:
    """The pad of that seed."""
    rng = np.random.default_rng((seed, 15))
    width = one_of(rng, {12: 4, 16: 2, 8: 1, 10: 1})
    pad = random_pad(
        seed, descriptor="none", reports="plain", width=width, aligned=width in (8, 16), left_justified=False, big=False
    )
    size = pad.widths[0]
    form = str(one_of(rng, {"type": 2, "type, length": 2, "constant, type": 1}))
    if np.random.default_rng((seed, 16)).random() < BY_LENGTH:
        form = "length"
    types = [int(t) for t in rng.permutation(np.arange(0, 40))[:4]]
    if rng.random() < 0.5:
        types[0] = 0
        types[1:] = [t or 40 for t in types[1:]]

    def head(kind: int, whole: int) -> bytes:
        return {
            "type": bytes((kind,)),
            "type, length": bytes((kind, whole)),
            "constant, type": bytes((0x5A, kind)),
            "length": b"",
        }[form]

    bytes_of_head = len(head(0, 0))
    others = []
    for kind in types[1 : 1 + int(rng.integers(1, 4))]:
        whole = size + bytes_of_head if rng.random() < 0.5 else int(rng.integers(bytes_of_head + 4, 40))
        if form == "length" and whole == size:
            whole += 1 + kind % 7
        bears = str(one_of(rng, {"motion": 2, "timer": 1, "status": 1}))
        others.append(Other(head(kind, whole), whole, bears, int(one_of(rng, {1: 1, 2: 1, 4: 1, 25: 1}))))  # type: ignore[call-overload]
    kinds = Kinds(head(types[0], size + bytes_of_head), tuple(others))
    length = size if form == "length" else 0
    truth = replace(pad.truth, controls=tuple(_moved(c, kinds.head, length) for c in pad.truth.controls))
    return replace(pad, truth=truth, wire=kinds, traits={**pad.traits, "head": form, "kinds": 1 + len(others)})


def _moved(control: Control, head: bytes, length: int) -> Control:
    """The control with its places behind the head, in reports of that length."""

    def place(old: Place | None) -> Place | None:
        if old is None or old.field is None:
            return old
        field = replace(old.field, bit=old.field.bit + 8 * len(head), begins=head, length=length)
        return replace(old, field=field)

    return replace(control, at=place(control.at), x=place(control.x), y=place(control.y))
