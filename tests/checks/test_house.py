"""The shop's own limits and grades: read, laid over what ships, or refused in a sentence."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from station.checks.house import GRADES_FILE, Grade, House, house_for, load_house, shipped_house
from station.checks.limits import LIMITS_FILE
from station.checks.types import Reading
from station.errors import InputError
from station.judgement.limits import Origin, came_from, in_force, origin
from station.sheets.model import Sheet

SHIPPED = shipped_house()


def written(folder: Path, text: str) -> Path:
    path = folder / "limits.toml"
    path.write_text(text, "utf-8")
    return path


def test_the_grades_that_ship_begin_with_the_best_and_end_with_faults():
    assert [g.name for g in SHIPPED.grades] == ["as new", "good", "fair", "sold with faults"]
    assert [g.faults for g in SHIPPED.grades] == [False, False, False, True]
    assert not SHIPPED.grades[1].limits, "good: what the checks ask, no more and no less"


def test_without_a_file_what_ships_is_in_force(tmp_path: Path):
    assert house_for(tmp_path, SHIPPED) is SHIPPED


def test_a_shops_limits_stand_over_those_that_ship_and_the_others_stay(tmp_path: Path):
    house = load_house(written(tmp_path, "[rest]\noffset = [4, 8]\n"), SHIPPED)
    assert house.limits["rest"]["offset"] == (4.0, 8.0)
    assert house.limits["rest"]["noise_rms"] == SHIPPED.limits["rest"]["noise_rms"]
    assert not house.own_grades
    assert house.problem == ""


GRADES = """
[rest]
offset = [4, 8]
[[grade]]
name = "A"
second_test = true
[grade.limits.rest]
offset = [2, 4]
[grade.limits.letgo]
still_within = [5, 9]
[[grade]]
name = "B"
[[grade]]
name = "für Bastler"
faults = true
"""


def test_a_shops_grades_take_the_place_of_those_that_ship(tmp_path: Path):
    house = load_house(written(tmp_path, GRADES), SHIPPED)
    assert house.own_grades
    assert [(g.name, g.second_test, g.faults) for g in house.grades] == [
        ("A", True, False), ("B", False, False), ("für Bastler", False, True),
    ]  # fmt: skip
    assert house.grades[0].limits == {"rest": {"offset": (2.0, 4.0)}, "letgo": {"still_within": (5.0, 9.0)}}


FITTED = {
    "a stricter shop: as new asks no less": ("[rest]\noffset = [2.5, 5]", "as new", (2.5, 5.0)),
    "a shop between: as new stays": ("[rest]\noffset = [4, 8]", "as new", (3.0, 6.0)),
    "a stricter shop: fair stays": ("[rest]\noffset = [4, 8]", "fair", (10.0, 15.0)),
    "a looser shop: fair asks no more": ("[rest]\noffset = [12, 20]", "fair", (12.0, 20.0)),
}


@pytest.mark.parametrize(("text", "grade", "pair"), FITTED.values(), ids=FITTED)
def test_grades_that_ship_stay_in_order_beside_a_shops_limits(tmp_path: Path, text: str, grade: str, pair):
    house = load_house(written(tmp_path, text), SHIPPED)
    assert next(g for g in house.grades if g.name == grade).limits["rest"]["offset"] == pair


ONE = '[[grade]]\nname = "A"\n'
WRONG = {
    "no TOML": ("[rest\noffset = 1", "not valid TOML: .*line 1.*; mend that line"),
    "unknown check": ("[rust]\noffset = [4, 8]", r"\[rust\]: no check of that name has limits; use one of contact"),
    "unknown reading": ("[rest]\noffsett = [4, 8]", r"\[rest\].offsett: that reading has no limit; use one of offset"),
    "no table": ("rest = 3", "rest: a table of readings is expected; mend that entry"),
    "400 digits": (f"[rest]\noffset = [{'9' * 400}, 8]", r"\[rest\].offset: 9+ is not a finite number"),
    "5,000 digits": (f"[rest]\noffset = [{'9' * 5000}, 8]", "not valid TOML: .*; mend that line"),
    "5,000 digits in hex": (f"[rest]\noffset = [0x{'f' * 5000}, 8]", "a number of thousands of digits is not a finite"),
    "too large": ("#" * 70_000, "larger than 64 KiB"),
    "many grades": ("".join(f'[[grade]]\nname = "{n}"\n' for n in range(21)), "21 grades are more than the 20"),
    "key of many dots": ("a" + ".a" * 20_000 + " = 1", "line 1 has more than 200 dots"),
    "nested": ("a = " + "[" * 20_000, "brackets stand in brackets without end"),
    "key that cannot be seen": ('["re\\u202Est"]\noffset = [4, 8]', r"\[re‹202E›st\]: no check of that name"),
    "key of two lines": ('["a\\nb"]\noffset = [4, 8]', r"\[a‹000A›b\]: no check of that name"),
    "long key": (f"{'k' * 5000} = 3", r"limits.toml, k{40}…: a table of readings is expected"),
    "reading that cannot be seen": ('[rest]\n"\\u200b" = [4, 8]', r"\[rest\].‹200B›: that reading has no limit"),
    "key of a grade that cannot be seen": ('[[grade]]\nname = "A"\n"\\u200b" = 1', "there is no key ‹200B›"),
    "name that cannot be seen": ('[[grade]]\nname = "\u3164\u2800"', "nothing of the name can be seen"),
    "names alike by case": (
        '[[grade]]\nname = "As new"\n[[grade]]\nname = "as NEW"',
        "differs from another only by case",
    ),
    "names alike by width": ('[[grade]]\nname = "A"\n[[grade]]\nname = "Ａ"', "differs from another only by case"),
    "one number": ("[rest]\noffset = 4", r"\[rest\].offset: two numbers are expected; write \[pass, fail beyond\]"),
    "text": ('[rest]\noffset = ["4", 8]', r'\[rest\].offset: "4" is not a finite number'),
    "not finite": ("[rest]\noffset = [4, inf]", r"\[rest\].offset: inf is not a finite number"),
    "turned round": ("[rest]\noffset = [8, 4]", r"\[rest\].offset: the second number must be at least the first"),
    "rates": ("[light]\nfaulty_rate = [10, 1]", r"\[light\].faulty_rate: "),
    "no list of grades": ('grade = "A"', r"grade: grades are written as \[\[grade\]\]"),
    "grades as one table": ('[grade]\nname = "A"', r"grade: grades are written as \[\[grade\]\]"),
    "none": ("grade = []", r"there is no \[\[grade\]\]"),
    "no name": ("[[grade]]\nfaults = true", r"grade 1 \(\?\): a name of at most 40 letters is missing"),
    "long name": (f'[[grade]]\nname = "{"x" * 41}"', "a name of at most 40 letters is missing"),
    "name of two lines": ('[[grade]]\nname = "a\\nb"', "a name of at most 40 letters is missing"),
    "same name": (ONE + ONE, r"grade 1 \(A\): the name is there twice"),
    "unknown key": (ONE + "rest = true", r"grade 1 \(A\): there is no key rest; use name, limits"),
    "no flag": (ONE + "faults = 1", r"grade 1 \(A\): faults is true or false"),
    "faults too early": (ONE + 'faults = true\n[[grade]]\nname = "B"', r"grade 1 \(A\): only the last grade"),
    "faults with limits": (ONE + "faults = true\n[grade.limits.rest]\noffset = [4, 8]", "limits of its own do nothing"),
    "limits no table": (ONE + "limits = 4", r"grade 1 \(A\): a table of readings is expected"),
    "limits of a check no table": (ONE + "limits = { rest = 4 }", "rest: a table of readings is expected"),
    "unknown in a grade": (
        ONE + "[grade.limits.rest]\nx = [1, 2]",
        r"grade 1 \(A\), limits.rest.x: that reading has no",
    ),
    "of the test": (ONE + "[grade.limits.light]\nfaulty_rate = [1, 10]", "faulty_rate belongs to the test itself"),
    "asks more than the better": (
        ONE + '[[grade]]\nname = "B"\n[grade.limits.rest]\noffset = [4, 8]',
        r"grade 2 \(B\): it asks more of rest.offset than “A”",
    ),
    "better asks less than the check": (
        ONE + '[grade.limits.travel]\nreach = [90, 80]\n[[grade]]\nname = "B"',
        r"grade 2 \(B\): it asks more of travel.reach than “A”",
    ),
}


@pytest.mark.parametrize(("text", "said"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_said_in_one_sentence_and_what_ships_stays_in_force(tmp_path: Path, text: str, said: str):
    path = written(tmp_path, text)
    with pytest.raises(InputError, match=said) as caught:
        load_house(path, SHIPPED)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)
    house = house_for(tmp_path, SHIPPED)
    assert house.problem.startswith(str(caught.value))
    assert "the limits that ship are in force" in house.problem
    assert (house.limits, house.grades) == (SHIPPED.limits, SHIPPED.grades)


def test_a_copy_of_what_ships_changes_nothing(tmp_path: Path):
    copy = "\n".join(path.read_text("utf-8") for path in (LIMITS_FILE, GRADES_FILE))
    house = load_house(written(tmp_path, copy), SHIPPED)
    assert (house.limits, house.grades) == (SHIPPED.limits, SHIPPED.grades)


def test_a_file_that_is_no_text_is_refused(tmp_path: Path):
    (tmp_path / "limits.toml").write_bytes(b"\xff\xfe\x00")
    assert "cannot be read" in house_for(tmp_path, SHIPPED).problem


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
@pytest.mark.parametrize("make", [os.mkfifo, lambda path: path.symlink_to("/dev/zero")], ids=["pipe", "endless"])
def test_what_is_no_ordinary_file_is_refused_at_once(tmp_path: Path, make: Callable[[Path], None]):
    make(tmp_path / "limits.toml")
    assert "cannot be read" in house_for(tmp_path, SHIPPED).problem


def test_a_folder_in_its_place_is_refused(tmp_path: Path):
    (tmp_path / "limits.toml").mkdir()
    assert "cannot be read" in house_for(tmp_path, SHIPPED).problem


# --- which stands over which ----------------------------------------------------------------------------

SHEET = Sheet("x", limits={"rest": {"offset": (7.0, 14.0)}})
SHOP = House(
    {**SHIPPED.limits, "rest": {"offset": (4.0, 8.0), "noise_rms": (0.4, 1.0)}},
    SHIPPED.grades,
    {"rest": {"offset": (4.0, 8.0), "noise_rms": (0.4, 1.0)}},
)
GRADE = Grade("A", {"rest": {"offset": (2.0, 3.0), "noise_rms": (0.3, 0.8)}})
ORDER: tuple[tuple[Sheet, House, Grade | None, str, tuple[float, float], Origin], ...] = (
    (Sheet("x"), SHIPPED, None, "offset", (5.0, 10.0), "shipped"),
    (Sheet("x"), SHOP, None, "offset", (4.0, 8.0), "shop"),
    (Sheet("x"), SHOP, GRADE, "offset", (2.0, 3.0), "grade"),
    (SHEET, SHOP, GRADE, "offset", (7.0, 14.0), "sheet"),
    (SHEET, SHOP, GRADE, "noise_rms", (0.3, 0.8), "grade"),
    (SHEET, SHOP, None, "noise_rms", (0.4, 1.0), "shop"),
)


@pytest.mark.parametrize(("sheet", "house", "grade", "name", "pair", "where"), ORDER)
def test_shipped_then_shop_then_grade_then_sheet(sheet, house, grade, name, pair, where):
    assert in_force(sheet, house, grade)["rest"][name] == pair
    assert origin("rest", name, sheet, house, grade) == where
    assert came_from("rest", Reading(name, 1.0, "%", 0.1, *pair), sheet, house, grade) == where


def test_where_a_recorded_limit_came_from():
    assert came_from("rest", Reading("offset", 1.0, "%", 0.1, 9.0, 9.5), SHEET, SHOP) == "earlier"
    assert came_from("rest", Reading("offset", 1.0, "%", 0.1, 5.0, 10.0), SHEET, SHOP) == "shipped"
    assert came_from("travel", Reading("reach_up", 99.0, "%", 0.1, 95.0, 88.0, ">="), SHEET, SHOP) == "shipped"
    assert came_from("rest", Reading("offset_x", 1.0, "%"), SHEET, SHOP) is None
