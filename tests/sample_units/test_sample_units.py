"""The sample units in their folder: made by the script that stands there, sound by name, faulty by finding."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sample_units.make import SHEET_FILES, readme, sheet_of
from station import SAMPLE_UNITS
from station.capture.file import read_capture
from station.checks.types import Outcome
from station.evidence.assess import CaptureAssessment, assess_file
from station.sheets.load import load_sheet
from station.sources.simulated import PadDesign, expected, make_capture
from station.sources.simulated.samples import SAMPLES, SampleUnit, sample_hand, sample_plan

MOST_BYTES = 12_000_000
IDS = [f"{one.tag} {one.title}" for one in SAMPLES]


def path_of(one: SampleUnit) -> Path:
    return SAMPLE_UNITS / f"{one.tag}.npz"


@pytest.fixture(scope="module")
def assessed() -> dict[str, CaptureAssessment]:
    return {one.tag: assess_file(path_of(one)) for one in SAMPLES}


@pytest.mark.parametrize("one", SAMPLES, ids=IDS)
def test_each_unit_is_named_by_its_true_fault_and_by_nothing_on_sound_controls(
    one: SampleUnit, assessed: dict[str, CaptureAssessment]
) -> None:
    done = assessed[one.tag]
    said = {(c.check, c.control, f.code, f.axis) for c in done.checks for f in c.assessment.findings}
    for fault in one.spec.faults:
        wanted = expected(fault)
        assert any(
            (check, control, code) == (wanted.check, wanted.control, wanted.code) and axis in (wanted.axis, None)
            for check, control, code, axis in said
        ), f"{wanted} is not among {said}"
    faulty = {fault.control for fault in one.spec.faults}
    assert {control for _, control, _, _ in said} <= faulty
    failed = {c.control for c in done.checks if c.assessment.outcome is Outcome.FAIL}
    assert failed == faulty
    assert {c.control for c in done.checks if c.assessment.outcome is not Outcome.PASS} <= faulty


def test_the_sound_one_passes(assessed: dict[str, CaptureAssessment]) -> None:
    (sound,) = [one for one in SAMPLES if not one.spec.faults]
    assert assessed[sound.tag].outcome is Outcome.PASS


def test_every_control_is_tried_with_every_check_that_the_readme_tells(assessed: dict[str, CaptureAssessment]) -> None:
    for one in SAMPLES:
        tried = {(c.check, c.control) for c in assessed[one.tag].checks}
        assert tried == {(item.check, item.control) for item in sample_plan(one)}
        assert {control for _, control in tried} == {c.id for c in one.spec.design.controls} | {""}


@pytest.mark.parametrize("tag", ["SM-07-04", "SM-07-10"])
def test_a_capture_comes_out_as_it_stands_there(tag: str) -> None:
    (one,) = [s for s in SAMPLES if s.tag == tag]
    sheet = sheet_of(one.spec.design).name
    made = make_capture(one.spec, sample_hand(one), sample_plan(one), sheet=sheet)
    there = read_capture(path_of(one))
    np.testing.assert_array_equal(made.block.t_ns, there.block.t_ns)
    np.testing.assert_array_equal(made.block.raw, there.block.raw)
    assert (made.descriptor, made.meta, made.marks) == (there.descriptor, there.meta, there.marks)


def test_sheets_and_readme_are_as_the_script_makes_them() -> None:
    for kit, name in SHEET_FILES.items():
        assert load_sheet(SAMPLE_UNITS / name) == sheet_of(PadDesign(kit))
    blocks = {one.tag: read_capture(path_of(one)).block for one in SAMPLES}
    sizes = {tag: (float(block.t_ns[-1]) / 1e9, len(block)) for tag, block in blocks.items()}
    assert (SAMPLE_UNITS / "README.md").read_text(encoding="utf-8") == readme(sizes)


def test_the_folder_stays_small_and_all_layouts_and_rates_are_there() -> None:
    assert sum(p.stat().st_size for p in SAMPLE_UNITS.iterdir() if p.is_file()) < MOST_BYTES
    designs = [one.spec.design for one in SAMPLES]
    assert {d.kit for d in designs} == {"8bit", "16bit", "packed"}
    assert {125, 1000} <= {d.rate_hz for d in designs}
    assert {d.on_change for d in designs} == {True, False}
