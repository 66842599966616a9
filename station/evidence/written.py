"""What came of recordings, written down: a line of JSON for a program, a few lines for a person."""

from __future__ import annotations

import json
import math
from pathlib import Path

from station.checks.base import spoken
from station.checks.decide import reading_outcome
from station.checks.registry import check_named
from station.checks.types import Assessment, Outcome, Reading
from station.evidence.assess import CaptureAssessment, CheckAssessment
from station.sheets.model import Sheet


def to_json_line(path: Path, done: CaptureAssessment) -> str:
    """One line of JSON for a recording (docs/METHOD.md says what each reading is)."""
    checks = [
        {
            "check": c.check,
            "control": c.control,
            "outcome": c.assessment.outcome.value,
            "readings": [_reading_object(r) for r in c.assessment.readings],
            "findings": [
                {"code": f.code, "text": f.text, "axis": f.axis, "direction": f.direction}
                for f in c.assessment.findings
            ],
        }
        for c in done.checks
    ]
    line = {"capture": str(path), "sha256": done.sha256, "outcome": done.outcome.value, "checks": checks}
    return json.dumps(line, ensure_ascii=False, allow_nan=False)


def to_text(path: Path, done: CaptureAssessment) -> str:
    """A few lines for a person: the outcome, every finding, and every check that did not simply pass."""
    lines = [f"{path.name}: {done.outcome.value} ({_counted(done)})"]
    for c in done.checks:
        if c.assessment.outcome is Outcome.PASS:
            continue
        lines.append(f"  {_title(c, done.sheet)}: {c.assessment.outcome.value}{_remark(c.assessment)}")
        lines += [f"    {f.text}" for f in c.assessment.findings]
        lines += [f"    {_reading_text(r)}" for r in c.assessment.readings if _bad(r)]
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


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _counted(done: CaptureAssessment) -> str:
    if not done.checks:
        return "its marks bracket no check"
    order = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL, Outcome.INTERRUPTED, Outcome.NOT_DONE)
    counts = [(sum(c.assessment.outcome is o for c in done.checks), o.value) for o in order]
    return ", ".join(f"{n} {word}" for n, word in counts if n)


def _title(done: CheckAssessment, sheet: Sheet) -> str:
    check = check_named(done.check, sheet)
    title = (check.title if check else done.check).lower()
    control = next((c for c in sheet.controls if c.id == done.control), None)
    return f"{spoken(control)}, {title}"


def _remark(assessment: Assessment) -> str:
    return f" ({assessment.again})" if assessment.again else ""


def _bad(reading: Reading) -> bool:
    return reading.value is not None and reading_outcome(reading) in (Outcome.FAIL, Outcome.BORDERLINE)


def _reading_text(r: Reading) -> str:
    unit = f" {r.unit}" if r.unit else ""
    spread = f" ± {r.uncertainty:.2g}" if r.uncertainty else ""
    rule = {"<=": "at most", ">=": "at least"}[r.rule]
    return f"{r.name.replace('_', ' ')} {r.value:.4g}{spread}{unit}, should be {rule} {r.limit:g}{unit}"
