"""The whole visit watched: every control's movements, in tries and pauses alike, and what was asked meanwhile.

It reads the reports that the visit takes anyway, a second of them at a time, keeps a few numbers for each movement, and
of the reports those around movements of controls that nobody was asked to touch: the evidence.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

from station.bench.stretch import join_blocks
from station.capture.types import Capture, CaptureMeta, Mark
from station.checks.moving import Movements, joined
from station.checks.watched import Asked, Watched, explained
from station.hid.types import ReportBlock
from station.sheets.bind import Binding
from station.sources.port import DeviceInfo

PIECE_NS = 1_000_000_000
MOST_KEPT = 120
"""seconds of reports kept as evidence"""


class Watcher:
    """One visit, from when the unit is on the bench. For one thread."""

    def __init__(self, binding: Binding, begin_ns: int) -> None:
        self._binding = binding
        self._begin_ns = begin_ns
        self._asked: list[Asked] = [Asked(begin_ns)]
        self._movements = Movements()
        self._fresh: list[ReportBlock] = []
        self._seen_ns = begin_ns
        self._watched_ns = 0
        self._last: deque[ReportBlock] = deque(maxlen=2)
        self._kept: list[ReportBlock] = []

    def ask(
        self, at_ns: int, check: str = "", controls: tuple[str, ...] = (), *, running: bool, hands_off: bool = False
    ) -> None:
        """From now on this is asked, or (not running) comes next."""
        one = Asked(at_ns, check, controls, running, hands_off)
        if replace(self._asked[-1], begin_ns=at_ns) != one:
            self._asked.append(one)

    def add(self, block: ReportBlock) -> None:
        """Reports that arrived."""
        if len(block):
            self._fresh.append(block)

    def look(self, now_ns: int) -> None:
        """Work off what arrived, if it is time to."""
        if now_ns - self._seen_ns >= PIECE_NS:
            self._work_off(now_ns)

    def lose(self, now_ns: int) -> None:
        """The unit went away, or reports did: what moves is not known any more, and nothing is watched from here on
        until reports come again."""
        self._work_off(now_ns)
        self._movements.lose()

    def skip(self, now_ns: int) -> None:
        """The unit is away: this time is not watched."""
        self._seen_ns = now_ns

    def watched(self, now_ns: int) -> Watched:
        """Everything up to the present. What still goes on ends now."""
        self._work_off(now_ns)
        moved = joined([*self._movements.moved, *self._movements.going(now_ns)])
        return Watched(self._begin_ns, self._watched_ns, moved, tuple(self._asked))

    def age_us(self, now_ns: int) -> float:
        """Microseconds since the time of the capture began."""
        first = min((int(b.t_ns[0]) for b in self._kept or list(self._last)[-1:]), default=self._begin_ns)
        return (now_ns - min(self._begin_ns, first)) / 1000.0

    def capture(self, info: DeviceInfo, sheet_name: str, end_ns: int, started_at: str, check: str) -> Capture:
        """The reports around what was not asked for, as evidence; time counts from the beginning of the visit."""
        kept = join_blocks(self._kept) if self._kept else join_blocks([self._last[-1]] if self._last else [])
        base = min(self._begin_ns, int(kept.t_ns[0])) if len(kept) else self._begin_ns
        marks = (Mark(self._begin_ns - base, "begin", check, ""), Mark(end_ns - base, "end", check, ""))
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, info.serial, info.bus, started_at, sheet_name, 0
        )
        return Capture(info.descriptor, ReportBlock(0, kept.t_ns - base, kept.size, kept.raw, 0), meta, marks)

    # --- a piece of time --------------------------------------------------------------------------------

    def _work_off(self, now_ns: int) -> None:
        block, self._fresh = join_blocks(self._fresh), []
        self._watched_ns += max(0, now_ns - self._seen_ns)
        begin_ns, self._seen_ns = self._seen_ns, max(now_ns, self._seen_ns)
        before = self._movements.count
        self._movements.follow(self._binding.signals(block), begin_ns, self._seen_ns)
        if len(block):
            self._last.append(block)
        if self._movements.count > before:
            self._keep()

    def _keep(self) -> None:
        """Keep the reports of this second and the one before if what began moving was not asked for."""
        sheet = self._binding.sheet
        since = self._last[0].t_ns[0]
        recent = [m for m in self._movements.moved[-64:] if m.end_ns >= since]
        recent += [m for m in self._movements.going(self._seen_ns) if m.begin_ns >= since]
        seen = explained(Watched(self._begin_ns, 0, tuple(recent), tuple(self._asked[-4:])), sheet)
        if any(one.cause not in ("asked", "along") for one in seen) and len(self._kept) < MOST_KEPT:
            self._kept += [b for b in self._last if all(b is not k for k in self._kept[-2:])]
