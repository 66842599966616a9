"""The limits that ship, and a sheet's own."""

from __future__ import annotations

import re

import pytest

from station.checks.light import plan_of
from station.checks.limits import LIMITS_FILE, limits_for, load_limits
from station.checks.registry import CHECKS
from station.checks.tracks import track_limits
from station.errors import InputError, SheetError
from station.measure.decision import rule_of
from station.sheets.model import Ask, Sheet

BASE = load_limits()

# The customary limits of the trade that the checks are built on; common practice, no source (VBUS: USB 2.0).
CUSTOMARY = {
    "contact.registered": (3, 2.5), "contact.released": (3, 2.5), "contact.others": (0, 0),
    "light.faulty_rate": (1, 10), "hold.dropouts": (0, 0),
    "rest.offset": (5, 10), "rest.noise_rms": (0.45, 1.2),
    "letgo.return_offset": (6, 12), "letgo.repeatability": (5, 10), "letgo.settle_time": (150, 400),
    "travel.reach": (95, 88), "travel.creep": (120, 300),
    "rim.sectors": (72, 71.5), "rim.least_reach": (92, 85), "rim.two_way_difference": (4, 8),
    "sweep.spikes": (0, 2), "sweep.largest_spike": (2, 5), "sweep.gap": (3, 8), "sweep.reversals": (0, 2),
    "trigger.released": (2, 5), "trigger.full": (97, 90),
    "trigger.spikes": (0, 2), "trigger.largest_spike": (2, 5), "trigger.gap": (3, 8), "trigger.reversals": (0, 1),
    "hat.directions": (8, 7.5), "hat.null_returns": (1, 0.5),
    "link.gaps": (0, 2), "link.disconnects": (0, 0),
    "charge.vbus_low": (4.40, 4.20), "charge.vbus_high": (5.25, 5.50),
}  # fmt: skip


def test_the_limits_that_ship_are_the_customary_ones():
    assert {f"{check}.{name}": pair for check, table in BASE.items() for name, pair in table.items()} == CUSTOMARY


def test_every_limit_belongs_to_a_check():
    assert set(BASE) <= set(CHECKS)


def test_every_limit_that_ships_says_where_it_comes_from():
    for line in LIMITS_FILE.read_text(encoding="utf-8").splitlines():
        if re.match(r"\w+ = ", line):
            assert "#" in line, line
            assert re.search(r"customary|USB 2\.0|complete|return to", line), line


def test_a_sheet_moves_a_limit_and_leaves_the_others():
    found = limits_for(Sheet("x", limits={"rest": {"offset": (7.0, 14.0)}}), BASE)
    assert found["rest"] == {"offset": (7.0, 14.0), "noise_rms": (0.45, 1.2)}
    assert found["letgo"] == BASE["letgo"]
    assert BASE["rest"]["offset"] == (5.0, 10.0)


def test_limits_cannot_be_changed_by_accident():
    with pytest.raises(TypeError):
        BASE["rest"]["offset"] = (1.0, 2.0)  # type: ignore[index]
    with pytest.raises(TypeError):
        limits_for(Sheet("x"), BASE)["rest"]["offset"] = (1.0, 2.0)  # type: ignore[index]


WRONG_SHEET = {
    "a check without limits": ({"look": {"x": (1.0, 2.0)}}, 'Sheet "x", limits.look: no check of that name'),
    "a reading that has none": ({"rest": {"ofset": (1.0, 2.0)}}, "has no limit; use one of offset, noise_rms."),
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


def test_counts_that_should_be_zero_or_many_have_the_right_rule():
    rules = {name: rule_of(*BASE[check][name]) for check, name in (n.split(".") for n in CUSTOMARY)}
    more_is_better = {"registered", "released", "reach", "sectors", "least_reach", "full", "directions", "null_returns",
                      "vbus_low"}  # fmt: skip
    assert {name for name, rule in rules.items() if rule == ">="} - {"released"} == more_is_better - {"released"}
    assert rule_of(*BASE["contact"]["released"]) == ">="
    assert rule_of(*BASE["trigger"]["released"]) == "<="


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
