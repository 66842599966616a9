"""The limits that ship, and a sheet's own."""

from __future__ import annotations

import re

import pytest

from station.checks.light import plan_of
from station.checks.limits import LIMITS_FILE, limits_for, load_limits
from station.checks.registry import described
from station.checks.tracks import track_limits
from station.errors import InputError, SheetError
from station.measure.decision import rule_of
from station.sheets.model import Ask, Sheet

BASE = load_limits()

NAMES = [f"{check}.{name}" for check, table in BASE.items() for name in table]


def test_the_limits_that_ship_are_those_that_the_checks_ask_for():
    """Neither a limit that judges nothing nor one that is missing; its numbers stand in the file alone."""
    asked = {f"{check}.{name}" for check, about in described().items() for name in about.limits}
    assert set(NAMES) == asked


def test_the_limits_of_the_supply_are_those_of_usb():
    """USB 2.0, 7.2.2 and table 7-7: VBUS is 4.40 V … 5.25 V at a low-power port (read)."""
    assert (BASE["charge"]["vbus_low"][0], BASE["charge"]["vbus_high"][0]) == (4.40, 5.25)


def test_every_limit_that_ships_says_where_it_comes_from():
    for line in LIMITS_FILE.read_text(encoding="utf-8").splitlines():
        if re.match(r"\w+ = ", line):
            assert "#" in line, line
            assert re.search(r"customary|USB 2\.0|complete|return to", line), line


def test_a_sheet_moves_a_limit_and_leaves_the_others():
    found = limits_for(Sheet("x", limits={"rest": {"offset": (7.0, 14.0)}}), BASE)
    assert found["rest"] == {"offset": (7.0, 14.0), "noise_pp": (1.5, 4.0)}
    assert found["letgo"] == BASE["letgo"]
    assert BASE["rest"]["offset"] == (5.0, 10.0)


def test_limits_cannot_be_changed_by_accident():
    with pytest.raises(TypeError):
        BASE["rest"]["offset"] = (1.0, 2.0)  # type: ignore[index]
    with pytest.raises(TypeError):
        limits_for(Sheet("x"), BASE)["rest"]["offset"] = (1.0, 2.0)  # type: ignore[index]


WRONG_SHEET = {
    "a check without limits": ({"look": {"x": (1.0, 2.0)}}, 'Sheet "x", limits.look: no check of that name'),
    "a reading that has none": ({"rest": {"ofset": (1.0, 2.0)}}, "has no limit; use one of offset, noise_pp."),
    "one number": ({"rest": {"offset": (1.0,)}}, "limits.rest.offset: two numbers are expected"),
    "not a number": ({"rest": {"offset": (1.0, float("nan"))}}, "nan is not a finite number"),
    "turned round": ({"rest": {"offset": (5.0, 2.0)}}, "the second number must be at least the first"),
    "turned round where more is better": ({"travel": {"reach": (90.0, 95.0)}}, "must be less than the first"),
    "equal where more is better": ({"travel": {"reach": (90.0, 90.0)}}, "must be less than the first"),
    "shares that cannot be told apart": ({"light": {"faulty_rate": (0.0, 10.0)}}, "two shares between 0 and 100 %"),
    "an ask without that reading": ({"smell": {"voltage": (1.0, 2.0)}}, "the ask has no such reading"),
}


@pytest.mark.parametrize(("limits", "words"), WRONG_SHEET.values(), ids=WRONG_SHEET)
def test_a_wrong_limit_of_a_sheet_gets_one_clear_sentence(limits, words):
    sheet = Sheet("x", asks=(Ask("smell", "No burnt smell", ("A",)),), limits=limits)
    with pytest.raises(SheetError) as caught:
        limits_for(sheet, BASE)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_ask_of_the_sheets_own_can_have_limits():
    sheet = Sheet("x", asks=(Ask("smell", "No burnt smell", ("A",)),), limits={"smell": {"current": (0.5, 0.9)}})
    assert limits_for(sheet, BASE)["smell"] == {"current": (0.5, 0.9)}


WRONG_FILE = {
    "not TOML": ("[rest", "is not valid TOML"),
    "a number where a table should be": ("rest = 5", "rest: a table of readings is expected"),
    "three numbers": ("[rest]\noffset = [1, 2, 3]", "rest.offset: two numbers are expected"),
    "a truth value": ("[rest]\noffset = [true, 2]", "rest.offset: True is not a finite number"),
    "infinity": ("[rest]\noffset = [1, inf]", "rest.offset: inf is not a finite number"),
    "shares the wrong way round": ("[light]\nfaulty_rate = [10, 1]", "light.faulty_rate: two shares between"),
}


@pytest.mark.parametrize(("text", "words"), WRONG_FILE.values(), ids=WRONG_FILE)
def test_a_wrong_limits_file_gets_one_clear_sentence(tmp_path, text, words):
    path = tmp_path / "limits.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_limits(path)
    assert words in str(caught.value)
    assert "limits.toml" in str(caught.value)


def test_a_missing_limits_file_says_so(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        load_limits(tmp_path / "none.toml")


AT_LEAST = (
    "contact.registered", "contact.released", "travel.reach", "rim.sectors", "rim.least_reach", "trigger.full",
    "hat.directions", "hat.null_returns", "charge.vbus_low",
)  # fmt: skip
AT_MOST = ("contact.others", "hold.dropouts", "rest.offset", "trigger.released", "link.gaps", "charge.vbus_high")


@pytest.mark.parametrize(("names", "rule"), [(AT_LEAST, ">="), (AT_MOST, "<=")], ids=["at least", "at most"])
def test_the_two_numbers_say_on_which_side_a_value_should_be(names, rule):
    assert {rule_of(*BASE[check][name]) for check, name in (n.split(".") for n in names)} == {rule}


def test_no_check_knows_numbers_of_its_own_beside_the_limits_that_are_given():
    other = {"light": {"faulty_rate": (2.0, 20.0)}, "sweep": {"largest_spike": (1.0, 2.0), "gap": (4.0, 8.0)}}
    assert (plan_of(other).p0, plan_of(other).p1) == (0.02, 0.2)
    assert track_limits("sweep", other) == (1.0, 4.0)
    with pytest.raises(KeyError):
        plan_of({})


def test_a_limit_that_is_missing_from_the_file_is_named(tmp_path):
    path = tmp_path / "limits.toml"
    text = LIMITS_FILE.read_text(encoding="utf-8")
    path.write_text(re.sub(r"^least_reach = .*$", "", text, flags=re.MULTILINE), encoding="utf-8")
    with pytest.raises(InputError, match=r"has no rim\.least_reach; restore it from the package"):
        load_limits(path)
