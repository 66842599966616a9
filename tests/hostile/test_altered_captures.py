"""A recording that was altered after it was recorded is no evidence: it is told of, and nothing is drawn from it."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from station.app.certify import certificate_of, steps_of
from station.app.commands.demo import _unit
from station.app.main import main
from station.app.opening import open_records
from station.app.samples import work_through
from station.app.shop import Shop
from station.capture.file import read_capture, write_capture
from station.certificate.types import Certificate
from station.errors import CaptureAltered
from station.judgement.limits import standard
from station.records.store import Store
from station.sheets.model import Sheet


def dial_reads(made: Certificate, control: str) -> bool:
    dial = next(d for d in made.dials if d.control == control)
    return any(not math.isnan(reach) for reach in dial.sector_reach_pct)


def certificate(store: Store, unit_id: str, sheet: Sheet) -> Certificate:
    steps = steps_of(store.history(unit_id), sheet)
    return certificate_of(
        store, unit_id, sheet, steps, standard(), number="B-00001", now=store.now(), shop=Shop("b", "", "p")
    )


def alter(path: Path) -> None:
    """A whole recording still, and another one."""
    capture = read_capture(path)
    path.write_bytes(write_capture(replace(capture, meta=replace(capture.meta, product="another"))))


def test_no_dial_is_drawn_from_an_altered_capture_and_the_certificate_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))
    with open_records() as store:
        unit = _unit(store, "SM-07-06")
        sheet = work_through(store, unit).sheet
        before = certificate(store, unit.id, sheet)
        assert dial_reads(before, "left_stick")
        sweep = next(r for r in store.history(unit.id).results if (r.check, r.control) == ("rim", "left_stick"))
        path = store.capture_path(sweep.capture_sha256)
        alter(path)
        after = certificate(store, unit.id, sheet)
    assert not dial_reads(after, "left_stick")
    (said,) = set(after.deviations) - set(before.deviations)
    assert "its recording is not the one that was made" in said
    with pytest.raises(CaptureAltered, match="altered since"):
        read_capture(path)
    assert main(["assess", str(path)]) == 2
    assert "altered since" in capsys.readouterr().err
