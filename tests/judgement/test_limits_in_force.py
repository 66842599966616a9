"""The limits in force, asked for by check and reading."""

from __future__ import annotations

import tomllib

import pytest

from station.checks.limits import LIMITS_FILE
from station.errors import InputError
from station.judgement.limits import in_force, limit
from station.sheets.model import Sheet

SHIPPED = tomllib.loads(LIMITS_FILE.read_text("utf-8"))
OWN = Sheet("x", limits={"rest": {"offset": (7.0, 14.0)}})


@pytest.mark.parametrize(("check", "reading"), [(c, r) for c, table in SHIPPED.items() for r in table])
def test_every_limit_that_ships_is_found(check: str, reading: str):
    assert limit(check, reading) == tuple(map(float, SHIPPED[check][reading]))


def test_a_reading_of_a_direction_has_the_limit_of_its_base_name():
    assert limit("travel", "reach_up") == limit("travel", "reach")


def test_the_sheets_own_limit_is_in_force_and_the_others_stay():
    assert limit("rest", "offset", in_force(OWN)) == (7.0, 14.0)
    assert limit("rim", "least_reach", in_force(OWN)) == limit("rim", "least_reach")
    assert limit("rest", "offset", {}) == limit("rest", "offset", in_force()) == (5.0, 10.0)


def test_a_limit_that_there_is_not_is_told_in_a_sentence():
    with pytest.raises(InputError, match="no limit for rest, colour"):
        limit("rest", "colour")
