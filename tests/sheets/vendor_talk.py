"""Simulated pads that say nothing until they were spoken to: what each wants to hear, and what becomes of its reports
while it is heard or not.

What a sheet says goes through the program's own way of saying it (`sources.talking`); only the device is made up.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from station.hid.types import ReportBlock
from station.sheets.learn.types import Observed
from station.sources.conversation import Conversation, KeepAlive, Reply, Step
from station.sources.talking import Failed, Talker
from tests.sheets.learn_pads import Rng, one_of

ASKS_EVERY_S = 3.0
AWAKE_S = 2.0
"""how long one that wants to be kept awake reports after it last heard of it"""
ANSWER_BYTES = 6


@dataclass(frozen=True)
class Wants:
    """What a pad wants to hear before it reports: `opening` in this order, each answered as it says (empty: not at all)
    but only at the `patience`-th time; a number back from each question of its own; `alive` again and again."""

    opening: tuple[tuple[bytes, bytes, int], ...]
    question: bytes = b""
    answer: bytes = b""
    alive: bytes = b""

    @property
    def talk(self) -> Conversation:
        """What its sheet says."""
        steps = tuple(
            Step(heard, expect=says[:2], within_ms=20, tries=patience + 1) if says else Step(heard)
            for heard, says, patience in self.opening
        )
        replies = (Reply(self.question, self.answer + b"\0", (len(self.question),)),) if self.question else ()
        return Conversation(steps, replies, KeepAlive(self.alive, 1000) if self.alive else None)


def wants_of(seed: int) -> Wants | None:
    """What the vendor pad of that seed wants to hear; None for two of three, which report by themselves."""
    return _wants(np.random.default_rng((seed, 17))) if seed % 3 == 0 else None


def _wants(rng: Rng) -> Wants:
    first = rng.permutation(np.arange(0xC0, 0x100))[:8].tolist()
    opening = []
    for number in range(int(rng.integers(1, 4))):
        heard = bytes((first[number], *rng.integers(0, 256, int(rng.integers(1, 8))).tolist()))
        says = bytes((first[number], 0x80, *rng.integers(0, 256, ANSWER_BYTES).tolist())) if rng.random() < 0.7 else b""
        opening.append((heard, says, int(one_of(rng, {1: 3, 2: 1})) if says else 1))  # type: ignore[call-overload]
    asks, kept = rng.random() < 0.5, rng.random() < 0.4
    question, answer = (bytes((first[4], 0x30)), bytes((first[5], 0x20))) if asks else (b"", b"")
    return Wants(tuple(opening), question, answer, bytes((first[6], 0x01)) if kept else b"")


@dataclass
class Device:
    """The pad at the other end of a `Talker`, on a clock of the bench's own."""

    wants: Wants
    said: Conversation
    now_s: float = 0.0
    at: int = 0
    tries: int = 0
    awake_s: float = 0.0
    asked: int = 0
    answered: int = 0
    extra: list[tuple[float, bytes]] = field(default_factory=list)
    """what it said besides its reports, and when"""

    def __post_init__(self) -> None:
        self._waiting: list[bytes] = []
        self._talker = Talker(self.said, self._hears, self._waiting.append)

    def open(self) -> Failed | None:
        """Say to it what the sheet says."""
        return self._talker.open()

    @property
    def reports(self) -> bool:
        """Whether it sends anything by itself now."""
        if self.at < len(self.wants.opening) or (self.wants.alive and self.now_s > self.awake_s):
            return False
        return self.asked == self.answered

    def until(self, now_s: float) -> list[tuple[float, float]]:
        """Let time pass; the stretches in which it reports. It asks and is answered, and is kept awake, meanwhile."""
        spans, step_s = [], 0.5
        while self.now_s < now_s:
            begin_s, self.now_s = self.now_s, min(self.now_s + step_s, now_s)
            alive = self.said.keep_alive
            if alive is not None and self.now_s // (alive.every_ms / 1000) > begin_s // (alive.every_ms / 1000):
                self._talker.keep_alive()
            if self.reports:
                spans.append((begin_s, self.now_s))
                if self.wants.question and self.now_s // ASKS_EVERY_S > begin_s // ASKS_EVERY_S:
                    self._ask()
        return spans

    def _ask(self) -> None:
        self.asked += 1
        question = self.wants.question + bytes((self.asked & 0xFF,))
        self._says(question)
        for answer in self._waiting:
            self._hears(answer, False)
            self._talker.answered()
        self._waiting.clear()

    def _says(self, report: bytes) -> None:
        self.extra.append((self.now_s, report))
        self._talker.saw(report)

    def _hears(self, report: bytes, feature: bool) -> str:
        if self.at < len(self.wants.opening):
            heard, says, patience = self.wants.opening[self.at]
            if report != heard:
                return ""
            self.tries += 1
            if self.tries >= patience:
                self.at, self.tries, self.awake_s = self.at + 1, 0, self.now_s + AWAKE_S
                if says:
                    self._says(says)
        elif self.wants.alive and report == self.wants.alive:
            self.awake_s = self.now_s + AWAKE_S
        elif self.wants.question and report == self.wants.answer + bytes((self.asked & 0xFF,)):
            self.answered = self.asked
        return ""


def heard(steps: tuple[Observed, ...], device: Device) -> tuple[Observed, ...]:
    """What of the walk's reports arrives, with what the device says besides."""
    return tuple(_heard(step, device) for step in steps)


def _heard(step: Observed, device: Device) -> Observed:
    device.extra, before = [], device.extra
    device.now_s = max(device.now_s, step.begin_ns / 1e9) if device.now_s else step.begin_ns / 1e9
    spans = device.until(step.end_ns / 1e9)
    block = step.block
    keep = np.zeros(len(block), bool)
    for a, b in spans:
        keep |= (block.t_ns >= a * 1e9) & (block.t_ns < b * 1e9)
    mine = replace(block, t_ns=block.t_ns[keep], size=block.size[keep], raw=block.raw[keep])
    said = [(max(t_s, step.begin_ns / 1e9), report) for t_s, report in (*before, *device.extra)]
    return replace(step, block=_with(mine, said))


def _with(block: ReportBlock, said: list[tuple[float, bytes]]) -> ReportBlock:
    """The reports with what was said between them."""
    if not said:
        return block
    width = max([block.raw.shape[1], *(len(report) for _, report in said)])
    raw = np.zeros((len(said), width), np.uint8)
    for row, (_, report) in zip(raw, said, strict=True):
        row[: len(report)] = np.frombuffer(report, np.uint8)
    t_ns = np.concatenate([block.t_ns, np.array([round(t_s * 1e9) for t_s, _ in said], np.int64)])
    size = np.concatenate([block.size, np.array([len(report) for _, report in said], np.uint16)])
    raw = np.concatenate([np.pad(block.raw, ((0, 0), (0, width - block.raw.shape[1]))), raw])
    order = np.argsort(t_ns, kind="stable")
    return ReportBlock(block.seq0, t_ns[order], size[order], raw[order], block.lost)
