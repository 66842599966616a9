"""The last seconds of a check that runs, to be looked at as evidence is: nothing of it is recorded here."""

from __future__ import annotations

from station.checks.takes import take_between
from station.checks.types import Assessment, Outcome
from station.errors import CaptureError
from station.evidence.kept import Kept
from station.hid.types import ReportBlock
from station.judgement.tries import Key
from station.measure.arrays import NS_PER_S
from station.records.types import Result
from station.sheets.bind import Binding
from station.words import evidence_room as words
from station.words import figures

FROZEN_S = 30.0


def frozen_result(result_id: str, visit_id: str, key: Key, at: str) -> Result:
    """What stands in the place of a result; it is in no records. `key`: of the check that runs."""
    return Result(result_id, visit_id, *key, 0, at, Assessment(Outcome.NOT_DONE))


def frozen_kept(result: Result, block: ReportBlock, binding: Binding, now_ns: int) -> Kept:
    """The reports of the last `FROZEN_S` seconds, or as many as the ring still has. `now_ns`: on their clock.
    CaptureError where none came."""
    since = now_ns - round(FROZEN_S * NS_PER_S)
    sheet, signals = binding.sheet, binding.signals(block)
    begin = max(since, int(block.t_ns[0])) if len(block) else now_ns
    if not len(block) or block.t_ns[-1] < since:
        raise CaptureError(words.NOTHING_TO_FREEZE)
    control = next((c for c in sheet.controls if c.id == result.control), None)
    take = take_between(sheet, signals, begin, now_ns, block.t_ns, control=control)
    seconds = figures.number((now_ns - begin) / NS_PER_S, 0)
    return Kept(result, sheet, take, words.FROZEN.format(seconds=seconds, at=figures.when(result.at)))
