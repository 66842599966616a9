"""A made-up pad in the hands of a person who does what a lesson prompts, on a clock that the test moves.

Reports are made step by step, so the pad must have nothing in them that goes on through all of them (counters, clocks).
"""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from dataclasses import replace

from station.bench.teaching_types import TeachView
from station.hid.types import ReportBlock
from station.sheets.learn import LearnStep
from station.sheets.learn.captured import joined
from station.sources.port import Answer, DeviceInfo, Request, SourceStatus
from tests.sheets.learn_hand import NO_SLIPS, walked
from tests.sheets.learn_pads import Pad, random_pad

STEADY = {"counter": "none", "clock": "none", "battery": False, "sensors": False, "reports": "one id"}
NS = 1_000_000_000


def steady_pad(seed: int, **traits: object) -> Pad:
    """The random pad of that seed, without what goes on from one report to the next."""
    return random_pad(seed, **{**STEADY, **traits})


class PadSource:
    """The Source port on such a pad. `realtime` is False: `advance` moves its clock.

    `clumsy`: ids of steps that the hand leaves undone, each taken off once it came up.
    """

    realtime = False

    def __init__(self, pad: Pad, *, name: str = "Made-up pad", serial: str = "", begin_ns: int = 0) -> None:
        self.pad = pad
        self.info = DeviceInfo("made-up:1", 0x1209, 0x0009, name, serial, "usb", pad.descriptor)
        self.now = begin_ns
        self.plugged = True
        self.closed = False
        self.clumsy: deque[str] = deque()
        self.quick = 1.0
        """the share of a step's time that the hand takes for it"""
        self._blocks: list[ReportBlock] = []
        self._sent: list[ReportBlock] = []
        self._first: list[int] = []
        self._doing: tuple[object, ...] = ()
        self._seed = 0

    def follow(self, view: TeachView | None) -> None:
        """The hand does what is prompted now; once for each time that a step begins."""
        if view is None or view.state != "walking" or view.step is None:
            self._doing = ()
            return
        doing = (view.round, view.number, view.step.id)
        # a step that begins anew has all of its time before it again
        if doing != self._doing or view.left_s > self._left_s + 0.01:
            self._doing = doing
            self._do(view.step)
        self._left_s = view.left_s

    _left_s = 0.0

    def _do(self, step: LearnStep) -> None:
        self._seed += 1
        if self.clumsy and self.clumsy[0] == step.id:
            self.clumsy.popleft()
            step = replace(step, action="rest", control=None)
        asked = replace(step, seconds=step.seconds * self.quick)
        done = walked(self.pad, [asked], seed=self._seed, slips=NO_SLIPS, begin_s=self.now / NS)
        self._blocks = [o.block for o in done]

    def advance(self, seconds: float) -> None:
        """Time goes on; what is due by then has been sent."""
        self.now += round(seconds * NS)
        waiting, self._blocks = self._blocks, []
        for block in waiting if self.plugged else ():
            n = int((block.t_ns <= self.now).sum())
            if n:
                self._first.append(self._first[-1] + len(self._sent[-1]) if self._sent else 0)
                self._sent.append(_part(block, slice(0, n)))
            self._blocks += [_part(block, slice(n, None))] if n < len(block) else []

    def now_ns(self) -> int:
        return self.now

    def take(self, cursor: int, limit: int = 65536) -> tuple[ReportBlock, int]:
        """One piece of what was sent; the cursor counts reports."""
        cursor = min(cursor, self._first[-1] + len(self._sent[-1]) if self._sent else 0)
        at = bisect_right(self._first, cursor) - 1
        if at < 0 or cursor >= self._first[at] + len(self._sent[at]):
            return joined([]), cursor
        begin = cursor - self._first[at]
        piece = _part(self._sent[at], slice(begin, begin + limit))
        return replace(piece, seq0=cursor), cursor + len(piece)

    def status(self) -> SourceStatus:
        state = "ended" if self.closed else "live" if self.plugged else "lost"
        return SourceStatus(state, 0, "simulated", None, "" if self.plugged else "It was unplugged.")  # type: ignore[arg-type]

    def send(self, report: bytes, *, feature: bool = False) -> None:
        raise AssertionError("learning sends nothing")

    def ask_feature(self, report_id: int) -> Request:
        return Request(Answer(problem="a made-up pad cannot be asked"))

    def ask_system(self) -> Request:
        return Request(Answer())

    def close(self) -> None:
        self.closed = True


def _part(block: ReportBlock, rows: slice) -> ReportBlock:
    return ReportBlock(block.seq0, block.t_ns[rows], block.size[rows], block.raw[rows])
