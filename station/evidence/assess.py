"""Measuring recordings again: one capture in, the outcome of every check that its marks bracket out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from station.capture.file import read_capture
from station.capture.regular import open_regular
from station.capture.types import Capture
from station.checks.ask import AskCheck
from station.checks.base import spoken
from station.checks.decide import worst
from station.checks.light import LightCheck
from station.checks.registry import check_named
from station.checks.strengths import contrast, strength_of
from station.checks.types import Assessment, Check, Limits, Outcome, Take
from station.errors import CaptureError, StationError
from station.evidence.fitting import find_sheet, layout_of
from station.evidence.tries import Try, take_of, tries_of
from station.hid.types import Layout
from station.judgement.limits import in_force
from station.judgement.pooled import measured
from station.judgement.tries import shown, tells
from station.sheets.bind import bind
from station.sheets.model import Sheet
from station.words import captures as words


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


def assess_capture(
    capture: Capture, sheet: Sheet, layout: Layout | None = None, limits: Limits | None = None
) -> CaptureAssessment:
    """Measure a recording. Of several tries at a check the one that counts is taken, else the last.

    The reports are decoded once, and every try is a cut of that. Checks that a person answers are left out, and those
    that are judged from the whole visit: answer and visit are not in a recording. CaptureError or SheetError if capture
    and sheet do not fit each other. `limits`: those in force (None: those that ship, with the sheet's in place).
    """
    limits = in_force(sheet) if limits is None else limits
    signals = bind(sheet, layout_of(capture) if layout is None else layout).signals(capture.block)
    tries: dict[tuple[str, str], list[Assessment]] = {}
    any_report, nothing = len(capture.block.t_ns) > 0, Assessment(Outcome.NOT_DONE, again=words.NOTHING_CAME)
    for one in tries_of(capture.marks):
        take = take_of(one, capture, sheet, signals)
        check = _measuring(one, sheet)
        if check is not None:
            done = tries.setdefault(one.key, [])
            if isinstance(check, LightCheck):
                check = check.going_on([a for a in done if measured(a)], limits)
            still = (
                any_report or check.about.left_alone
            )  # one that reports changes only is silent while it is left alone
            done.append(_assessed(one, check, take, limits) if still else nothing)
    found = {key: CheckAssessment(*key, shown(done, tells), len(done)) for key, done in tries.items()}
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
        capture = read_capture(path)
        with open_regular(path) as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        layout = layout_of(capture)
        sheet = find_sheet(capture, path.parent, layout, sheet_path)
        done = assess_capture(capture, sheet, layout)
    except MemoryError:
        raise CaptureError(words.NO_MEMORY.format(name=path.name)) from None
    except OSError as error:
        reason = error.strerror or words.UNREADABLE
        raise CaptureError(words.CANNOT_OPEN.format(name=path.name, reason=reason)) from error
    except StationError as error:
        if path.name in str(error):
            raise
        raise CaptureError(words.IN_FILE.format(name=path.name, message=error)) from error
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


def _measuring(one: Try, sheet: Sheet) -> Check | None:
    check = check_named(one.check, sheet)
    if isinstance(check, LightCheck):
        return check.weighing(one.mass_g)
    return None if isinstance(check, AskCheck) or (check is not None and check.about.watches) else check


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
