"""The sample units that ship: `assess` names each one's fault, and finds nothing where there is none."""

from __future__ import annotations

import json

import pytest

from station import SAMPLE_UNITS
from station.app.main import main
from station.sources.simulated.faults import expected
from station.sources.simulated.samples import SAMPLES, SampleUnit


def measured(one: SampleUnit, capsys: pytest.CaptureFixture[str]) -> dict:
    assert main(["assess", str(SAMPLE_UNITS / f"{one.tag}.npz"), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def named(answer: dict) -> set[tuple[str, str, str]]:
    return {(c["check"], c["control"], f["code"]) for c in answer["checks"] for f in c["findings"]}


@pytest.mark.parametrize("one", SAMPLES, ids=lambda one: f"{one.tag} {one.title}")
def test_every_fault_is_named_and_no_sound_control_is_blamed(one, capsys):
    answer = measured(one, capsys)
    wanted = {expected(fault) for fault in one.spec.faults}
    assert {(w.check, w.control, w.code) for w in wanted} <= named(answer)
    assert answer["outcome"] == ("fail" if one.spec.faults else "pass")
    ailing = {w.control for w in wanted}
    blamed = {c["control"] for c in answer["checks"] if c["outcome"] in ("fail", "borderline")}
    assert blamed == ailing


@pytest.mark.parametrize("one", SAMPLES, ids=lambda one: one.tag)
def test_axis_and_direction_are_named_too(one, capsys):
    answer = measured(one, capsys)
    for fault in one.spec.faults:
        want = expected(fault)
        found = [
            f
            for c in answer["checks"]
            for f in c["findings"]
            if (c["check"], c["control"], f["code"]) == (want.check, want.control, want.code)
        ]
        if want.axis is not None:
            assert want.axis in {f["axis"] for f in found}
        if isinstance(want.direction, str) and want.check == "travel":
            assert want.direction in {f["direction"] for f in found}


def test_the_samples_cover_layouts_and_rates():
    designs = [one.spec.design for one in SAMPLES]
    assert {d.kit for d in designs} == {"8bit", "16bit", "packed"}
    assert {125, 1000} <= {d.rate_hz for d in designs}
    assert {d.on_change for d in designs} == {True, False}
    assert len(SAMPLES) >= 8
    assert any(len(one.spec.faults) == 2 for one in SAMPLES)
