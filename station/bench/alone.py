"""One unit left alone: its reports are followed and thinned out, what happens to it is marked, a minute is saved at a
time. Headless, and without records: what it came to is for the caller to store."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from station.bench.alone_view import AloneView
from station.bench.cell import CellWatch
from station.bench.ledger import MOST_S, Asked, Ledger
from station.bench.stretch import Held, join_blocks
from station.bench.thinning import MINUTE_NS, SECOND_NS, Thinning
from station.capture.types import MAX_MARKS, Capture, Mark, MarkEvent
from station.checks.alone import BRIEF_AWAY_NS, Alone
from station.checks.types import Assessment, Limits
from station.hid.types import ReportBlock
from station.sheets.bind import Binding
from station.sources.follower import A_RING, Follower
from station.sources.port import Source

SETTLES_NS = 10 * SECOND_NS
"""the hand goes away before anything counts (common practice, no source)"""
HANDS_NS = 10 * SECOND_NS
"""who ends it by hand may have touched the unit before (common practice, no source)"""
SLEPT_NS = 2 * SECOND_NS
"""the computer slept when the reader's clock falls behind by so much (as `bench.timekeeping`)"""
UNSEEN_NS = 30 * SECOND_NS
"""between two looks: longer than a reader's ring need last"""
APART_NS = 50_000_000


@dataclass(frozen=True, slots=True)
class Ended:
    """What a unit that was left alone came to, with its evidence."""

    asked: Asked
    capture: Capture
    assessment: Assessment


class LeftAlone:
    """See above. `clock_ns`: ns since `asked.begun_at`, going on while the computer sleeps. For one thread at a time.

    `resumed`: it was under way when the program ended earlier, and `before` is what was kept of it (None: nothing);
    the time since then was not watched. `limits`: those in force (None: those that ship, with the sheet's own in
    place).
    """

    def __init__(
        self,
        ledger: Ledger,
        binding: Binding,
        clock_ns: Callable[[], int],
        *,
        before: Capture | None = None,
        resumed: bool = False,
        limits: Limits | None = None,
    ) -> None:
        self.asked = ledger.asked
        self._ledger, self._binding, self._clock_ns = ledger, binding, clock_ns
        self._limits = limits
        self._thinning = Thinning(binding)
        self._source: Source | None = None
        self._reports: Follower | None = None
        self._cell: CellWatch | None = None
        self._cell_said = -1
        self._offset_ns = 0
        self._kept: list[ReportBlock] = []
        self._marks: list[Mark] = []
        self._fresh: list[ReportBlock] = []
        self._seen_ns = self._saved_ns = 0
        """worked off, and handed to the ledger, up to here"""
        self._last_ns = 0
        """of the newest report; none may come before it"""
        self._lost = 0
        self._here = False
        self._looked_ns = 0
        self._disconnects = 0
        self._ended = before is not None and any(m.event == "end" for m in before.marks)
        self.problem = ""
        if not resumed and before is None:
            self._mark(SETTLES_NS, "begin")
        else:
            self._take_up(before)
        self.problem = self._ledger.save()

    @property
    def source(self) -> Source | None:
        """Where its reports come from; None while it is not known to be plugged in."""
        return self._source

    def attach(self, source: Source, held: ReportBlock | None = None) -> None:
        """The unit is here; its reports count from now on. `held`: what its controls held before, where that is known
        from another source."""
        self._source = source
        self._reports = Follower(source, A_RING)
        self._cell = CellWatch(source, self._binding.layout)
        now_ns = self._clock_ns()
        self._offset_ns = now_ns - source.now_ns()
        self._lost = source.status().lost
        first = held_by(self._reports, self._binding)
        first = first if len(first) or held is None else held
        if len(first) and not self._kept:
            self._last_ns = max(self._last_ns, now_ns)
            first = replace(first, t_ns=np.full(len(first), self._last_ns, np.int64))
            self._kept.append(first)
            self._ledger.add(first)
            self._thinning.hold(first)
        self._looked_ns = now_ns
        self._come_back(now_ns)

    @property
    def over(self) -> bool:
        """Whether its time is up, or more happened to it than can be marked."""
        seconds = self.asked.seconds or MOST_S
        return self._clock_ns() >= SETTLES_NS + round(seconds * 1e9) or self._has_ended()

    def _has_ended(self) -> bool:
        """It was ended before the program was, or there is no room for more marks."""
        return len(self._marks) > MAX_MARKS // 2 or self._ended

    def tick(self) -> None:
        """Do what is due. Never waits for the device; once a minute it waits for the disk."""
        now_ns = self._clock_ns()
        if self._source is not None and self._reports is not None:
            self._follow(self._source, self._reports, now_ns)
        if now_ns - self._saved_ns >= MINUTE_NS:
            self._save(now_ns)

    def view(self) -> AloneView:
        """How it does, for any thread."""
        now_ns = self._clock_ns()
        end_ns = SETTLES_NS + round(self.asked.seconds * 1e9)
        return AloneView(
            self.asked.id,
            self.asked.unit_id,
            self.asked.tag,
            "away" if not self._here else "settles" if now_ns < SETTLES_NS else "watched",
            max(0.0, (now_ns - SETTLES_NS) / 1e9),
            max(0.0, (end_ns - now_ns) / 1e9) if self.asked.seconds else None,
            self._thinning.movements,
            self._disconnects,
            self.problem,
        )

    def close(self) -> None:
        """The program ends; it goes on at the next start."""
        self._gone("unwatched")
        self._save(self._seen_ns, last=True)

    def end(self, *, by_hand: bool) -> Ended:
        """It is over. What a hand did that came to end it does not count."""
        now_ns = self._clock_ns()
        self.tick()
        self._work_off(now_ns)
        end_ns = max(now_ns - HANDS_NS, SETTLES_NS) if by_hand else now_ns
        self._mark(end_ns, "end")
        self._save(now_ns)
        capture = self.capture()
        return Ended(self.asked, capture, assessed(capture, self._binding, self._limits))

    def forget(self) -> None:
        """Its result is stored."""
        self._ledger.remove()

    def capture(self) -> Capture:
        """The recording as far as it was saved; a mark that is behind the end of the try stays out."""
        block = replace(join_blocks(self._kept), lost=self._lost)
        return Capture(self.asked.descriptor, block, self.asked.meta, tuple(sorted(self._marks, key=_in_order)))

    # --- following --------------------------------------------------------------------------------------

    def _follow(self, source: Source, reports: Follower, now_ns: int) -> None:
        self._mind_the_clock(source, now_ns)
        live = source.status().state == "live"
        if live and not self._here:
            self._come_back(now_ns)
        while True:
            block, missed = reports.take()
            if missed:
                self._gone("unwatched")
            if not len(block):
                break
            if self._here:
                self._fresh.append(self._stamped(block))
        if not live:
            self._gone("away")
        elif now_ns - self._seen_ns >= SECOND_NS:
            self._work_off(now_ns)
            self._hear_the_cell(now_ns)

    def _mind_the_clock(self, source: Source, now_ns: int) -> None:
        """The computer slept, or nobody looked for long; and two clocks of one computer may part by a little."""
        late_ns = now_ns - (source.now_ns() + self._offset_ns)
        if late_ns > SLEPT_NS or now_ns - self._looked_ns > UNSEEN_NS:
            self._gone("unwatched")
        if abs(late_ns) > APART_NS:
            self._offset_ns += late_ns
        self._looked_ns = now_ns

    def _come_back(self, now_ns: int) -> None:
        self._here = True
        self._seen_ns = max(self._seen_ns, now_ns)
        last = self._marks[-1]
        if last.event in ("away", "unwatched"):
            self._mark(self._seen_ns, "back")
            self._disconnects += last.event == "away" and self._seen_ns - last.time_ns <= BRIEF_AWAY_NS

    def _stamped(self, block: ReportBlock) -> ReportBlock:
        """On the clock of the recording, never running back."""
        t_ns = np.maximum(block.t_ns + self._offset_ns, self._last_ns)
        self._last_ns = int(t_ns[-1])
        return replace(block, t_ns=t_ns)

    def _work_off(self, now_ns: int) -> None:
        if not self._here:
            return
        block, self._fresh = join_blocks(self._fresh), []
        self._thinning.second(block, self._seen_ns, now_ns)
        self._seen_ns = max(self._seen_ns, now_ns)

    def _gone(self, how: MarkEvent) -> None:
        """From here on nothing is known of it."""
        if not self._here:
            return
        at_ns = max(self._seen_ns, self._last_ns)
        self._work_off(at_ns)
        self._thinning.lose()
        self._mark(at_ns, how)
        self._here = False

    def _hear_the_cell(self, now_ns: int) -> None:
        """What the unit says of its charge, once a minute."""
        if self._cell is None:
            return
        self._cell.tick(now_ns, live=self._here, calm=True)
        told = self._thinning.power.completed(self._cell.told())
        if told.level_pct is not None and now_ns // MINUTE_NS > self._cell_said:
            self._cell_said = now_ns // MINUTE_NS
            self._add(Mark(now_ns, "cell", Alone.name, "", level_pct=told.level_pct, step_pct=told.step_pct))

    # --- keeping ----------------------------------------------------------------------------------------

    def _mark(self, at_ns: int, event: MarkEvent) -> None:
        self._add(Mark(at_ns, event, Alone.name, ""))

    def _add(self, mark: Mark) -> None:
        self._marks.append(mark)
        self._ledger.mark(mark)

    def _save(self, now_ns: int, *, last: bool = False) -> None:
        block = self._thinning.minute()
        if len(block):
            self._kept.append(block)
            self._ledger.add(block)
        self._saved_ns = now_ns
        self.problem = self._ledger.close() if last else self._ledger.save()

    def _take_up(self, before: Capture | None) -> None:
        """What was kept earlier; if the program was killed, the time since its last word was not watched, and where its
        first word is lost neither is the time from the beginning on."""
        if before is not None:
            self._kept, self._marks = [before.block], list(before.marks)
            self._last_ns = int(before.block.t_ns[-1]) if len(before.block) else 0
        if not any(m.event == "begin" for m in self._marks):
            later, self._marks = self._marks, []
            self._mark(SETTLES_NS, "begin")
            self._mark(SETTLES_NS, "unwatched")
            self._marks += later
        self._last_ns = self._seen_ns = max(self._last_ns, *(m.time_ns for m in self._marks))
        pairs = pairwise(self._marks)
        self._disconnects = sum(a.event == "away" and b.time_ns - a.time_ns <= BRIEF_AWAY_NS for a, b in pairs)
        if self._marks[-1].event not in ("away", "unwatched"):
            self._mark(self._seen_ns, "unwatched")
        self._saved_ns = self._clock_ns()


def _in_order(mark: Mark) -> int:
    return mark.time_ns


def assessed(capture: Capture, binding: Binding, limits: Limits | None = None) -> Assessment:
    """What the recording says, exactly as whoever reads it again will hear it."""
    from station.evidence.assess import assess_capture  # a window that is starting can do without

    (one,) = assess_capture(capture, binding.sheet, binding.layout, limits).checks
    return one.assessment


def held_by(reports: Follower, binding: Binding) -> ReportBlock:
    """The last reports so far: some controls report their changes only, so what they hold is known from before."""
    held = Held(binding)
    while len(block := reports.take()[0]):
        held.update(block)
    return held.block()
