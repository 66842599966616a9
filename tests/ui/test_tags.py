"""Tags on shelf labels run in series."""

from __future__ import annotations

import pytest

from station.records.types import Unit
from station.ui.tags import lot_of, next_tag


@pytest.mark.parametrize(
    ("tags", "following"),
    [
        (["SM-07-03", "SM-07-04"], "SM-07-05"),
        (["SM-07-09"], "SM-07-10"),
        (["B12", "shelf"], "B13"),
        (["A-10", "A-2"], "A-11"),
        (["A-4", "A-²"], "A-5"),
        ([], ""),
    ],
)
def test_the_next_tag_goes_on_with_the_series(tags: list[str], following: str) -> None:
    assert next_tag(tags) == following


def test_a_new_unit_belongs_to_the_lot_of_its_series() -> None:
    units = [Unit("1", "SM-07-01", "m", "lot-7"), Unit("2", "B-3", "m", "lot-b"), Unit("3", "shelf", "m", None)]
    assert lot_of("SM-07-02", units) == "lot-7"
    assert lot_of("B-4", units) == "lot-b"
    assert lot_of("C-1", units) is None
    assert lot_of("no number", units) is None
