"""Measuring recordings again: one capture in, the outcome of every check that its marks bracket out."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from station import RESOURCES, SAMPLE_UNITS
from station.capture.file import read_capture
from station.capture.types import Capture
from station.checks.ask import AskCheck
from station.checks.base import spoken
from station.checks.decide import reading_outcome, worst
from station.checks.light import LightCheck
from station.checks.limits import limits_for, load_limits
from station.checks.registry import answered_by, check_named
from station.checks.said import sentence, verdict_text
from station.checks.strengths import contrast, strength_of
from station.checks.tries import Try, take_of, tries_of
from station.checks.types import Assessment, Check, Limits, Outcome, Reading, Take
from station.errors import CaptureError, DescriptorError, StationError
from station.hid.descriptor import parse_descriptor
from station.hid.types import Layout
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.library import match, sheets_in
from station.sheets.load import load_sheet
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo

NO_LAYOUT = Layout((), (), False)


@dataclass(frozen=True, slots=True)
class CheckAssessment:
    """The try that counts at one check of one control ("" for the whole unit), out of so many."""

    check: str
    control: str
    assessment: Assessment
    tries: int = 1


@dataclass(frozen=True, slots=True)
class CaptureAssessment:
    """All checks of a recording in the order they began; `outcome` is the worst of theirs."""

    checks: tuple[CheckAssessment, ...]
    outcome: Outcome
    sheet: Sheet
    sha256: str = ""


def assess_capture(capture: Capture, sheet: Sheet, layout: Layout | None = None) -> CaptureAssessment:
    """Measure a recording. Of several tries at a check the last one that counted is taken.

    The reports are decoded once, and every try is a cut of that. Checks that a person answers are left out: the
    answer is not in a recording. CaptureError or SheetError if capture and sheet do not fit each other.
    """
    limits = limits_for(sheet, load_limits())
    signals = bind(sheet, layout_of(capture) if layout is None else layout).signals(capture.block)
    found: dict[tuple[str, str], CheckAssessment] = {}
    for one in tries_of(capture.marks):
        take = take_of(one, capture, sheet, signals)
        check = _measuring(one, sheet)
        if check is None:
            continue
        before = found.get(one.key)
        assessment = _assessed(one, check, take, limits)
        if before is None:
            found[one.key] = CheckAssessment(*one.key, assessment)
        else:
            kept = before.assessment if assessment.again and not before.assessment.again else assessment
            found[one.key] = CheckAssessment(*one.key, kept, before.tries + 1)
    checks = tuple(_contrasted(c, found, sheet) for c in found.values())
    return CaptureAssessment(checks, worst(c.assessment.outcome for c in checks), sheet)


def takes_of(capture: Capture, sheet: Sheet) -> tuple[tuple[tuple[str, str], Take], ...]:
    """((check, control), take) of every try that was ended, in the order they began."""
    signals = bind(sheet, layout_of(capture)).signals(capture.block)
    ended = [one for one in tries_of(capture.marks) if one.end_ns is not None]
    return tuple((one.key, take_of(one, capture, sheet, signals)) for one in ended)


def assess_file(path: Path, sheet_path: Path | None = None) -> CaptureAssessment:
    """Measure the recording in a file. Any StationError names the file."""
    try:
        with path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        capture = read_capture(path)
        layout = layout_of(capture)
        sheet = find_sheet(capture, path.parent, layout, sheet_path)
        done = assess_capture(capture, sheet, layout)
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise CaptureError(f"{path.name}: the file cannot be opened ({reason}); check the path.") from error
    except StationError as error:
        if path.name in str(error):
            raise
        raise CaptureError(f"{path.name}: {error}") from error
    return CaptureAssessment(done.checks, done.outcome, done.sheet, sha256)


def assess_files(
    paths: Iterable[Path], sheet_path: Path | None = None
) -> Iterator[tuple[Path, CaptureAssessment | StationError]]:
    """Measure recordings one after the other; one that cannot be measured gives its error and stops no other."""
    for path in paths:
        try:
            yield path, assess_file(path, sheet_path)
        except StationError as error:
            yield path, error


def layout_of(capture: Capture) -> Layout:
    """The layout of the recording's own descriptor; an empty one where there is none or it cannot be read (a sheet's
    explicit fields can still be)."""
    try:
        return parse_descriptor(capture.descriptor) if capture.descriptor else NO_LAYOUT
    except DescriptorError:
        return NO_LAYOUT


def _no_layout_because(capture: Capture) -> str:
    try:
        parse_descriptor(capture.descriptor)
    except DescriptorError as error:
        return f"{error}" if capture.descriptor else "The device gave no report descriptor"
    return "Its report descriptor names no inputs"


def find_sheet(capture: Capture, folder: Path, layout: Layout, sheet_path: Path | None = None) -> Sheet:
    """The sheet for a recording: the one given, else the one it names, else one that matches its ids, else drawn up.

    Sheets are looked for beside the recording, then among those that ship.
    """
    if sheet_path is not None:
        return load_sheet(sheet_path, answered_by())
    meta = capture.meta
    sheets = sheets_in(folder, RESOURCES / "sheets", SAMPLE_UNITS, checks=answered_by())
    named = next((sheet for sheet in sheets if meta.sheet is not None and sheet.name == meta.sheet), None)
    found = named or match(sheets, meta.vendor_id, meta.product_id, meta.product)
    if found is not None:
        return found
    if not layout.input_fields():
        why = _no_layout_because(capture)
        raise CaptureError(f"{why}, and no sheet fits this device; give one with explicit fields (--sheet).")
    info = DeviceInfo("", meta.vendor_id, meta.product_id, meta.product, meta.serial, meta.bus, capture.descriptor)
    return draw_up(layout, info)


def _measuring(one: Try, sheet: Sheet) -> Check | None:
    check = check_named(one.check, sheet)
    if isinstance(check, LightCheck):
        return check.weighing(one.mass_g)
    return None if isinstance(check, AskCheck) else check


def _assessed(one: Try, check: Check, take: Take, limits: Limits) -> Assessment:
    if one.end_ns is not None:
        return check.assess(take, limits)
    return Assessment(Outcome.INTERRUPTED, check.progress(take, limits).readings)


def _contrasted(
    one: CheckAssessment, found: Mapping[tuple[str, str], CheckAssessment], sheet: Sheet
) -> CheckAssessment:
    """A press that passes where lighter ones fail has that as a finding."""
    if strength_of(one.check) is None or one.assessment.outcome is not Outcome.PASS:
        return one
    done = {check: c.assessment for (check, control), c in found.items() if control == one.control}
    finding = contrast(spoken(sheet.control(one.control)), one.check, done)
    if finding is None:
        return one
    return replace(one, assessment=replace(one.assessment, findings=(*one.assessment.findings, finding)))


# --- written down -----------------------------------------------------------------------------------


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
    lines = [f"{path.name}: {done.outcome.value} ({_counted(done)})"]
    for c in done.checks:
        if c.assessment.outcome is Outcome.PASS:
            continue
        lines.append(f"  {_title(c, done.sheet)}: {c.assessment.outcome.value}{_remark(c.assessment)}")
        lines += [f"    {sentence(c.check, f)}" for f in c.assessment.findings]
        lines += [f"    {verdict_text(c.check, r)}" for r in c.assessment.readings if _bad(r)]
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
