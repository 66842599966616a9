"""The numbers of a picture, read back by the csv module."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from station.checks.types import Outcome
from station.evidence.drawing import Contact, Evidence, Line, OverTime
from station.evidence.numbers import table

MS = 1_000_000


def _read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def _evidence(lines=(), contacts=()) -> Evidence:
    return Evidence("t", Outcome.PASS, 1000 * MS, 2000 * MS, 3, ("time",), OverTime(tuple(lines), tuple(contacts)))


def test_the_reports_of_the_stretch_with_the_value_that_held_at_its_beginning():
    line = Line("Left stick, horizontal", "%", np.arange(1000, 2000, 10) * MS, np.linspace(-1, 1, 100))
    rows = _read(table(_evidence([line]), 0.105, 0.2))
    assert [float(r["time_s"]) for r in rows] == pytest.approx(
        [0.10, 0.11, 0.12, 0.13, 0.14, 0.15, 0.16, 0.17, 0.18, 0.19, 0.2]
    )
    assert [float(r["value"]) for r in rows] == pytest.approx(line.values[10:21].tolist(), rel=1e-5)
    assert {(r["what"], r["unit"]) for r in rows} == {("Left stick, horizontal", "%")}


def test_a_contact_is_its_closings_and_openings():
    contact = Contact("A", np.array([1100, 1300]) * MS, np.array([1200, 1900]) * MS)
    rows = _read(table(_evidence([], [contact]), 0.0, 0.5))
    assert [(float(r["time_s"]), r["value"]) for r in rows] == [(0.1, "1"), (0.2, "0"), (0.3, "1")]


def test_a_name_that_looks_like_a_formula_does_no_harm():
    line = Line("=2+3", "%", np.array([1000 * MS]), np.array([1.0]))
    (row,) = _read(table(_evidence([line]), 0.0, 1.0))
    assert row["what"] == "'=2+3"
