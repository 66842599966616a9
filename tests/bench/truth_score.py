"""One simulated unit worked through and compared with the truth: rows for the scoreboard."""

from __future__ import annotations

import math
from typing import Any

from truth_kinds import Case, Kind, case
from truth_try import true_values
from truth_units import Drawn, draw
from truth_visit import Bench, Done

from station.checks.registry import CHECKS
from station.checks.types import Finding, Outcome, Reading
from station.sources.simulated.faults import BEARINGS, Expected, Fault, expected
from station.sources.simulated.naming import told
from station.words.grammar import spoken_name

Row = dict[str, Any]
WITHIN_DEG = 15.0
SOUND_BUTTONS = ("left_shoulder",)
ALWAYS = ("left_stick", "right_stick", "left_trigger", *SOUND_BUTTONS, "hat", "")
_HAT_WORDS = ("up", "up-right", "right", "down-right", "down", "down-left", "left", "up-left")
BOUND = " (bound)"
ONE_SIDED, LEAST_SHARE = ("gap", "largest_spike"), 0.5
"""readings of what a sound unit does not have; those whose band is half of the value and more are bounds"""
AT_ZERO, NEVER_BELOW = " (truly 0)", ("creep", "two_way_difference")
"""readings that cannot be below 0: where the true value is 0, U can be missed on one side only"""
SILENT = ("wait_mean", "wait_most", "wait_extra", "interval_p99")
"""of coarse codes on change, nobody knows whether a silence was a lost report: what is open counts whole in U"""
ANGLES = ("offset_angle", "least_reach_bearing")


def score(seed: int, number: int) -> list[Row]:
    """All rows of one unit: its faults, its sound controls, its readings, its tries."""
    drawn = draw(seed, number)
    bench = Bench(drawn)
    faulty = {name for f in drawn.spec.faults for name in (f.control, f.other) if name or f.kind.startswith("link")}
    faulty |= {""} if any(not f.control for f in drawn.spec.faults) else set()
    kinds = {c.id: c.kind for c in drawn.spec.design.controls}
    if any(kinds.get(f.control) in ("button", "hat") for f in drawn.spec.faults):
        faulty |= {""}  # a contact that fails is not seen together with others either
    if any(f.kind == "slow_rate" for f in drawn.spec.faults):
        faulty |= {
            c.id for c in drawn.spec.design.controls
        }  # a slow link slows every control: what it hides is unknown
    tested = tuple(dict.fromkeys((*ALWAYS, *(f.control for f in drawn.spec.faults))))
    done = bench.visit(tested)
    rows = [_fault_row(drawn, fault, grade, done) for fault, grade in zip(drawn.spec.faults, drawn.grades, strict=True)]
    rows += [_sound_row(drawn, control, done) for control in tested if control not in faulty]
    rows += [row for one in done for row in reading_rows(drawn, one)]
    rows += [
        {
            "row": "try",
            "check": one.check,
            "tries": one.tries,
            "given_up": bool(one.assessment.again),
            "sound": one.control not in faulty,
            "unit": _unit(drawn),
            "what": f"{one.check} {one.control}: {one.assessment.again}",
        }
        for one in done
    ]
    rows += [
        {"row": "light", "failed": one.assessment.outcome is Outcome.FAIL, "beats": one.beats}
        for one in done
        if one.check == "light" and one.control not in faulty
    ]
    return rows


def score_case(seed: int, kind: Kind, number: int) -> list[Row]:
    """A row for each control of a harder case that is looked at."""
    one = case(seed, kind, number)
    bench = Bench(one.drawn)
    done = bench.visit(one.tested)
    return [_case_row(one, kind, control, done) for control in one.looked_at]


def _case_row(one: Case, kind: Kind, control: str, done: list[Done]) -> Row:
    mine = [d for d in done if d.control == control]
    who = spoken_name(one.drawn.spec.design.control(control).name) if control else ""
    for_unit = ("quiet", "together")  # checks of the whole unit that name a control
    mine += [d for d in done if d.check in for_unit and control and any(f.params["who"] == who for f in _findings(d))]
    if kind.group == "together":
        mine = [d for d in done if d.check == "together"]  # the unit is not watched for long enough to judge the rest
    outcomes = {d.assessment.outcome for d in mine if not d.assessment.again}
    again = any(d.assessment.again for d in mine)
    failed, borderline = Outcome.FAIL in outcomes, Outcome.BORDERLINE in outcomes
    said = [f for d in mine for f in d.assessment.findings]
    found = [f for f in one.drawn.spec.faults if f.control == control]
    named = all(any(names(s, expected(f), f, one.drawn) for s in said) for f in found) if found else None
    met = {
        "seen": failed or borderline,
        "not passed": failed or borderline or again,
        "named": failed and bool(named),
        "failed": not failed,
        "": True,
    }[kind.bar]
    return {
        "row": "case", "group": kind.group, "kind": kind.name, "bar": kind.bar, "bar_pct": kind.bar_pct,
        "failed": failed, "borderline": borderline and not failed, "again": again and not failed and not borderline,
        "passed": not (failed or borderline or again), "named": named, "met": met, "unit": _unit(one.drawn),
        "what": f"{control or 'link'} {[told(f) for f in found]} — {_said(done, control)}",
    }  # fmt: skip


def _findings(done: Done) -> tuple[Finding, ...]:
    return done.assessment.findings


def _unit(drawn: Drawn) -> str:
    design = drawn.spec.design
    change = " on change" if design.on_change else ""
    change += " by radio" if drawn.spec.by_radio else ""
    return f"{drawn.spec.tag} ({design.kit} {design.rate_hz} Hz{change}, {design.gate_shape}, skill {drawn.skill:.2f})"


def _said(done: list[Done], control: str) -> str:
    said = [
        f"{one.check} {one.assessment.outcome.value} {[f.code for f in one.assessment.findings]}{one.assessment.again}"
        for one in done
        if one.control == control and one.assessment.outcome is not Outcome.PASS
    ]
    return "; ".join(said) or "all passed"


def _fault_row(drawn: Drawn, fault: Fault, grade: str, done: list[Done]) -> Row:
    mine = [one for one in done if one.control == fault.control]
    wanted = expected(fault)
    asked = next(one for one in mine if one.check == wanted.check)
    outcomes = {one.assessment.outcome for one in mine}
    found = Outcome.FAIL in outcomes or (fault.kind == "slow_rate" and Outcome.BORDERLINE in outcomes)
    named = any(names(f, wanted, fault, drawn) for f in asked.assessment.findings)
    return {
        "row": "fault",
        "kind": fault.kind,
        "kit": drawn.spec.design.kit,
        "grade": grade,
        "failed": found,
        "named": named,
        "not_done": bool(asked.assessment.again),
        "unit": _unit(drawn),
        "what": f"{fault.kind} {fault.control} {fault.axis or ''} {fault.direction or ''} size {fault.size:.3g} "
        f"at {fault.at:.0f} ms {fault.ms:.0f} — {_said(done, fault.control)}",
    }


def names(finding: Finding, wanted: Expected, fault: Fault, drawn: Drawn) -> bool:
    """Whether a finding names the fault: code, axis and direction."""
    if fault.kind == "dropouts" and finding.code == "rocking_dropouts":
        return True  # they come at random, in either half of a hold
    if finding.code != wanted.code:
        return False
    if fault.kind == "off_centre":
        return _near(finding.direction, wanted.direction) and finding.axis in _axes_of_offset(fault)
    if wanted.axis is not None and finding.axis != wanted.axis:
        return False
    if fault.kind == "flat_rim":
        told = drawn.spec.truth()["rim", fault.control]["least_reach_bearing"]
        return _near(finding.direction, told) or _near(finding.direction, wanted.direction)
    return wanted.direction is None or _near(finding.direction, wanted.direction)


def _axes_of_offset(fault: Fault) -> tuple[str | None, ...]:
    """The axis that clearly carries the offset; where it is not clear, that or none."""
    angle = math.radians(float(fault.direction or 0.0))
    x, y = abs(math.sin(angle)), abs(math.cos(angle))
    axis = "x" if x > y else "y"
    return (axis,) if max(x, y) > 4.0 * min(x, y) else (axis, None)


def _bearing(direction: str | float | None) -> float | None:
    if isinstance(direction, str):
        return 45.0 * _HAT_WORDS.index(direction) if direction in _HAT_WORDS else BEARINGS.get(direction)
    return direction


def _near(said: str | float | None, true: str | float | None) -> bool:
    a, b = _bearing(said), _bearing(true)
    return a is not None and b is not None and abs((a - b + 180.0) % 360.0 - 180.0) <= WITHIN_DEG


def _sound_row(drawn: Drawn, control: str, done: list[Done]) -> Row:
    mine = [one for one in done if one.control == control]
    failed = any(one.assessment.outcome is Outcome.FAIL for one in mine)
    unsure = any(one.assessment.outcome is Outcome.BORDERLINE for one in mine)
    return {
        "row": "sound",
        "failed": failed,
        "borderline": unsure and not failed,
        "not_done": any(one.assessment.again for one in mine),
        "unit": _unit(drawn),
        "what": f"sound {control or 'link'} — {_said(done, control)}",
    }


def _exact_row(drawn: Drawn, one: Done, reading: Reading, true: float) -> Row:
    """A value without ± is the end of the range: the true one lies no farther from it than half a code."""
    design = drawn.spec.design
    field = design.fields[design.control(one.control).usages[0]]
    half_code = 100.0 / min(field.logical_max - field.logical_min, (1 << design.adc_bits) - 1)
    right = abs((reading.value or 0.0) - true) <= half_code
    return {"row": "exact", "reading": f"{one.check}.{reading.name}", "right": right, "unit": _unit(drawn)}


def _sort(drawn: Drawn, one: Done, reading: Reading, true: float) -> str:
    """What is added to the name of a reading that is covered in another way than two-sided."""
    if reading.name in NEVER_BELOW and true == 0.0:
        return AT_ZERO
    design = drawn.spec.design
    silent = reading.name in SILENT and design.on_change and design.kit == "8bit"
    return BOUND if silent or _bound(reading) else ""


def _bound(reading: Reading) -> bool:
    """Whether it only says that the value is no greater than so much: its band reaches down to the least there is."""
    what = reading.name.removesuffix("_x").removesuffix("_y")
    one_sided = what in ONE_SIDED and reading.value is not None and reading.uncertainty > 0.0
    return one_sided and reading.uncertainty >= LEAST_SHARE * (reading.value or 0.0)


def reading_rows(drawn: Drawn, one: Done) -> list[Row]:
    """Of each reading of a check that counted, whether ±U holds the true value."""
    if one.assessment.again:
        return []
    true = true_values(drawn, one)
    rows = []
    for reading in one.assessment.readings:
        if reading.value is None:
            continue
        if reading.uncertainty <= 0.0:
            if reading.name in true and _at_an_end(reading):
                rows.append(_exact_row(drawn, one, reading, true[reading.name]))
            elif reading.name in true:
                right = math.isclose(reading.value, true[reading.name], abs_tol=1e-9)  # a stick without creep has 0 ± 0
                rows.append(_coverage_row(drawn, one, reading, (right, 0.0), true[reading.name]))
            continue
        if reading.name not in true:
            rows.append({"row": "unscored", "reading": _of_kind(one.check, reading.name)})
            continue
        error = reading.value - true[reading.name]
        if reading.name in ANGLES:
            error = (error + 180.0) % 360.0 - 180.0
        covered, error_in_u = abs(error) <= reading.uncertainty, error / reading.uncertainty
        rows.append(_coverage_row(drawn, one, reading, (covered, error_in_u), true[reading.name]))
    return rows


def _of_kind(check: str, name: str) -> str:
    """The axes and directions of one reading are cases of the same: reach_up and reach_left are `travel.reach_*`."""
    for kind in CHECKS[check].about.readings:
        if name in (f"{kind.name}_{part}" for part in kind.parts):
            return f"{check}.{kind.name}_*"
    return f"{check}.{name}"


def _at_an_end(reading: Reading) -> bool:
    """Whether a value in % is an end of the range, beyond which nothing is told."""
    return reading.unit == "%" and abs(reading.value or 0.0) in (0.0, 100.0)


def _coverage_row(drawn: Drawn, one: Done, reading: Reading, held: tuple[bool, float], true: float) -> Row:
    """`held`: whether ±U holds the true value, and the error over U."""
    covered, error_in_u = held
    return {
        "row": "reading",
        "reading": _of_kind(one.check, reading.name) + _sort(drawn, one, reading, true),
        "covered": covered,
        "error_in_u": error_in_u,
        "kit": drawn.spec.design.kit,
        "unit": _unit(drawn),
    }
