"""Today's measure on the reports that were kept: what it comes to, and where and why it differs from what is recorded.

What is recorded stays as it is; this is only told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from station import __version__
from station.checks.light import LightCheck
from station.checks.registry import check_named
from station.checks.said import limits_text, reading_name, sentence, value_text
from station.checks.strengths import of_several_tries
from station.checks.types import Assessment, Limits, Reading
from station.errors import CaptureError
from station.evidence.kept import Kept
from station.evidence.laid_over import same_value
from station.evidence.tries import Try
from station.judgement.tries import tells
from station.words import common
from station.words import evidence_room as words


def measured_again(kept: Kept, limits: Limits, before: Sequence[Assessment] = ()) -> Assessment:
    """What today's measure makes of the reports. `limits`: those in force; `before`: earlier tries of the visit at the
    same check, oldest first, which a press on beats goes on from. CaptureError where no recording tells it."""
    check = check_named(kept.result.check, kept.sheet)
    if check is None or check.about.person_answers or check.about.watches or not kept.whole:
        raise CaptureError(words.NOT_FROM_REPORTS)
    if isinstance(check, LightCheck):
        check = check.weighing(_mass(kept)).going_on([a for a in before if tells(a)], limits)
    return check.assess(kept.take, limits)


def with_doubt(kept: Kept, limits: Limits, before: Sequence[Assessment] = ()) -> Kept:
    """The reports with a remark where today's measure reads something else in them than what is recorded: a sheet or a
    measure that was changed since still fits them, and what is drawn is then not what was judged. Arguments as
    `measured_again`; what no report tells again is left without a remark."""
    try:
        now = measured_again(kept, limits, before)
    except CaptureError:
        return kept
    if not _reads_otherwise(kept.result.assessment, now):
        return kept
    return replace(kept, remark=" ".join(filter(None, (kept.remark, words.READS_OTHERWISE))))


def _mass(kept: Kept) -> float | None:
    one: Try | None = kept.one
    return None if one is None else one.mass_g


def _reads_otherwise(recorded: Assessment, now: Assessment) -> bool:
    """Whether a reading that both have has another value."""
    was = {r.name: r for r in recorded.readings}
    return any(r.name in was and not same_value(was[r.name], r) for r in now.readings)


def differences(recorded: Assessment, now: Assessment, check: str) -> tuple[str, ...]:
    """A line for all of it, and one for each reading, limit or finding that differs, with why."""
    was = {r.name: r for r in recorded.readings}
    lines = [line for r in now.readings for line in _of_reading(check, was.get(r.name), r)]
    if _reads_otherwise(recorded, now):
        lines.append(words.WHY_OTHER)
    lines += [
        words.NOT_AGAIN.format(name=reading_name(check, name))
        for name in was
        if name not in {r.name for r in now.readings}
    ]
    findings = ([f for f in done.findings if not of_several_tries(f)] for done in (recorded, now))
    told, anew = ([sentence(check, f) for f in mine] for mine in findings)
    lines += [words.FOUND_NO_MORE.format(finding=text) for text in told if text not in anew]
    lines += [words.FOUND_ANEW.format(finding=text) for text in anew if text not in told]
    outcomes = [common.OUTCOMES[done.outcome.value] for done in (recorded, now)]
    head = words.AGAIN_SAME if not lines and outcomes[0] == outcomes[1] else words.AGAIN_OTHER
    return (head.format(version=__version__, was=outcomes[0], now=outcomes[1]), *lines)


def _of_reading(check: str, was: Reading | None, now: Reading) -> list[str]:
    name, value = reading_name(check, now.name), value_text(check, now)
    if was is None:
        return [words.READ_ANEW.format(name=name, now=value)]
    lines = []
    if not same_value(was, now):
        lines.append(words.READ_OTHER.format(name=name, was=value_text(check, was), now=value))
    if (was.limit, was.fail_beyond) != (now.limit, now.fail_beyond):
        limits = limits_text(was) or words.NO_LIMIT, limits_text(now) or words.NO_LIMIT
        lines.append(words.LIMIT_OTHER.format(name=name, was=limits[0], now=limits[1]))
    return lines
