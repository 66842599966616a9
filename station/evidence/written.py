"""What came of recordings, written down: a line of JSON for a program, a few lines for a person."""

from __future__ import annotations

import json
import math
from pathlib import Path

from station.checks.decide import reading_outcome
from station.checks.said import marked, sentence, title_on, verdict_text
from station.checks.types import Outcome, Reading
from station.evidence.assess import CaptureAssessment
from station.judgement.limits import came_from, standard
from station.sheets.model import Sheet
from station.words import common, grammar
from station.words import evidence as words


def to_json_line(path: Path, done: CaptureAssessment) -> str:
    """One line of JSON for a recording (docs/METHOD.md says what each reading is)."""
    checks = [
        {
            "check": c.check,
            "control": c.control,
            "outcome": c.assessment.outcome.value,
            "readings": [_reading_object(r) for r in c.assessment.readings],
            "findings": [
                {
                    "code": f.code,
                    "text": sentence(c.check, f),
                    "params": dict(f.params),
                    "axis": f.axis,
                    "direction": f.direction,
                }
                for f in c.assessment.findings
            ],
        }
        for c in done.checks
    ]
    line = {"capture": str(path), "sha256": done.sha256, "outcome": done.outcome.value, "checks": checks}
    return json.dumps(line, ensure_ascii=False, allow_nan=False)


def to_text(path: Path, done: CaptureAssessment) -> str:
    """A few lines for a person: the outcome, every finding, and every check that did not simply pass."""
    lines = [words.CAPTURE.format(file=path.name, outcome=common.OUTCOMES[done.outcome.value], counts=_counted(done))]
    for c in done.checks:
        if c.assessment.outcome is Outcome.PASS:
            continue
        outcome, again = common.OUTCOMES[c.assessment.outcome.value], c.assessment.again
        line = words.CHECK_AGAIN if again else words.CHECK
        lines.append(line.format(title=title_on(c.check, c.control, done.sheet), outcome=outcome, again=again))
        lines += [words.DETAIL.format(text=sentence(c.check, f)) for f in c.assessment.findings]
        lines += [words.DETAIL.format(text=_verdict(c.check, r, done.sheet)) for r in c.assessment.readings if _bad(r)]
    return "\n".join(lines)


def _reading_object(reading: Reading) -> dict[str, object]:
    return {
        "name": reading.name,
        "value": _finite(reading.value),
        "unit": reading.unit,
        "uncertainty": _finite(reading.uncertainty),
        "limit": reading.limit,
        "rule": reading.rule,
    }


def _verdict(check: str, reading: Reading, sheet: Sheet) -> str:
    """The reading against its limit, and where that comes from if it does not ship."""
    return marked(verdict_text(check, reading), came_from(check, reading, sheet, standard()))


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _counted(done: CaptureAssessment) -> str:
    if not done.checks:
        return words.NO_CHECK
    order = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL, Outcome.INTERRUPTED, Outcome.NOT_DONE)
    counts = [(sum(c.assessment.outcome is o for c in done.checks), common.OUTCOMES[o.value]) for o in order]
    return grammar.COMMA.join(words.COUNT.format(count=n, outcome=word) for n, word in counts if n)


def _bad(reading: Reading) -> bool:
    return reading.value is not None and reading_outcome(reading) in (Outcome.FAIL, Outcome.BORDERLINE)
