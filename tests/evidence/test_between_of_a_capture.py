"""Statistics between two cursors against numpy, scipy and statsmodels on the same stretch of a recording, which is read
here by numpy alone: bytes at the places that the descriptor of the pad gives (HID 1.11, 6.2.2.4), no code of the bench.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import pytest
import scipy.stats
from statsmodels.stats.weightstats import DescrStatsW

from station import SAMPLE_UNITS
from station.capture.file import read_capture
from station.checks.types import Assessment, Outcome
from station.evidence.assess import assess_file
from station.evidence.between import between
from station.evidence.draw import evidence_of
from station.evidence.drawing import Evidence
from station.evidence.kept import take_from
from station.evidence.told import cursors_told
from station.judgement.limits import in_force
from station.records.types import Result
from station.words import figures

SEED, STRETCHES = 14, 12


@dataclass(frozen=True)
class Pad:
    """Where the first stick's horizontal axis stands in a report, and the range of its codes."""

    tag: str
    dtype: str
    first: int
    low: int
    high: int


PADS = (
    Pad("SM-07-04", "u1", 0, 0, 255),  # no report id; 8 bit, Logical Minimum 0, Maximum 255
    Pad("SM-07-01", "<i2", 1, -32768, 32767),  # report id 1, then 16 bit, -32768 to 32767
)


def _by_numpy(pad: Pad, check: str) -> tuple[np.ndarray, np.ndarray, int, int]:
    """Times in ns and values in % of all reports, and where the try at the left stick begins and ends."""
    with np.load(SAMPLE_UNITS / f"{pad.tag}.npz", allow_pickle=False) as file:
        t, raw, meta = file["time_ns"], file["report"], json.loads(str(file["meta"]))
    size = np.dtype(pad.dtype).itemsize
    codes = np.ascontiguousarray(raw[:, pad.first : pad.first + size]).view(pad.dtype)[:, 0].astype(float)
    middle, half = (pad.low + pad.high) / 2.0, (pad.high - pad.low) / 2.0
    marks = [m for m in meta["marks"] if (m["check"], m["control"]) == (check, "left_stick")]
    begin, end = (next(m["time_ns"] for m in marks if m["event"] == event) for event in ("begin", "end"))
    return t, 100.0 * (codes - middle) / half, begin, end


def _shown(pad: Pad, check: str) -> Evidence:
    path = SAMPLE_UNITS / f"{pad.tag}.npz"
    sheet = assess_file(path).sheet
    result = Result("r", "v", check, "left_stick", 1, "2026-11-28T10:00:00Z", Assessment(Outcome.PASS))
    return evidence_of(take_from(read_capture(path), result, sheet), in_force(sheet), looked=False)


@pytest.mark.parametrize("check", ["rest", "sweep"])
@pytest.mark.parametrize("pad", PADS, ids=lambda pad: pad.tag)
def test_what_lies_between_two_cursors_is_what_numpy_and_scipy_say_of_the_capture(pad: Pad, check: str):
    t, values, begin, end = _by_numpy(pad, check)
    shown = _shown(pad, check)
    line = shown.over_time.lines[0]
    assert (shown.begin_ns, shown.end_ns) == (begin, end)
    rng = np.random.default_rng(SEED)
    for _ in range(STRETCHES):
        one, other = sorted(rng.integers(begin + 50_000_000, end - 50_000_000, 2).tolist())
        found = between(line, one, other)
        assert found is not None
        held = np.flatnonzero((t < other) & (np.append(t[1:], np.iinfo(np.int64).max) > one))
        weights = np.minimum(np.append(t[1:], other)[held], other) - np.maximum(t[held], one)
        part = values[held]
        told = DescrStatsW(part, weights=weights.astype(float))
        assert found.reports == np.count_nonzero((t >= one) & (t <= other))
        assert found.mean == pytest.approx(np.average(part, weights=weights), abs=1e-9)
        assert found.mean == pytest.approx(told.mean, abs=1e-9)
        assert found.rms == pytest.approx(told.std, abs=1e-6)
        assert found.median == pytest.approx(told.quantile(0.5, return_pandas=False)[0], abs=1e-9)
        assert (found.least, found.greatest) == pytest.approx((part.min(), part.max()), abs=1e-9)
        assert found.peak_to_peak == pytest.approx(np.ptp(part), abs=1e-9)
        assert found.change == pytest.approx(part[-1] - part[0], abs=1e-9)


def test_the_line_below_the_picture_says_these_values():
    """At even intervals the weights are alike: scipy on the plain values, to the digits that are shown."""
    pad = PADS[0]
    t, values, begin, _ = _by_numpy(pad, "sweep")
    inside = np.flatnonzero(t > begin + 2_000_000_000)[:400]
    one, other = int(t[inside[0]]), int(t[inside[-1]])
    plain = values[inside[:-1]]
    told = scipy.stats.describe(plain, ddof=0)
    shown = _shown(pad, "sweep")
    said = cursors_told(shown, (one - begin) / 1e9, (other - begin) / 1e9)[1]
    weighed = np.average(plain, weights=np.diff(t[inside]))
    assert weighed == pytest.approx(told.mean, abs=0.5), "the intervals are nearly even"
    least, greatest = told.minmax
    for value in (weighed, least, greatest):
        assert figures.with_unit(figures.number(float(value), 2), "%") in said
