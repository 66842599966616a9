"""Loading a sheet: what is right is kept, what is wrong is said in one sentence that names the place."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.checks.registry import answered_by
from station.errors import SheetError
from station.sheets.load import load_sheet, parse_sheet
from station.sheets.model import Ask, Control, ExplicitField, Part, Place, Sheet
from station.sheets.write import sheet_text
from station.sources.conversation import plain

GOOD = """\
format = "restpoint-sheet"
version = 1
[model]
name = "Plover T2"
match = [{ vendor_id = 0x1209, product_id = 0x0001 }]
open = ["05 01 ff"]
[[control]]
id = "left_stick"
kind = "stick"
name = "Left stick"
zone = "left hand"
twin = "right_stick"
x = { usage = [0x01, 0x30] }
y = { usage = [0x01, 0x31], up = "high" }
[[control]]
id = "right_stick"
kind = "stick"
name = "Right stick"
zone = "right hand"
twin = "left_stick"
gate = "octagon"
x = { field = { report = 1, bit = 8, bits = 12, signed = true } }
y = { field = { report = 1, bit = 20, bits = 12, min = 0, max = 4000 } }
[[control]]
id = "shoulder"
kind = "button"
name = "Shoulder"
zone = "top"
at = { usage = [0x09, 5] }
[[control]]
id = "paddle"
kind = "button"
name = "Rear paddle"
zone = "back"
seen_as = "shoulder"
[[ask]]
id = "charge"
text = "Charge light on, and the meter's reading"
meter = ["V", "A"]
[[part]]
id = "left_stick_x_sensor"
name = "Left stick sensor, horizontal"
serves = ["left_stick.x"]
[limits.rest]
offset = [5.0, 10]
"""


def test_every_value_of_a_sheet_is_kept() -> None:
    assert parse_sheet(GOOD, "t2.toml") == Sheet(
        name="Plover T2",
        match=((0x1209, 1),),
        talk=plain(b"\x05\x01\xff"),
        controls=(
            Control(
                "left_stick", "stick", "Left stick", "left hand", "right_stick",
                x=Place(0x10030), y=Place(0x10031, up="high"),
            ),
            Control(
                "right_stick", "stick", "Right stick", "right hand", "left_stick", "octagon",
                x=Place(field=ExplicitField(1, 8, 12, True, -2048, 2047)),
                y=Place(field=ExplicitField(1, 20, 12, False, 0, 4000)),
            ),
            Control("shoulder", "button", "Shoulder", "top", at=Place(0x90005)),
            Control("paddle", "button", "Rear paddle", "back", seen_as="shoulder"),
        ),
        asks=(Ask("charge", "Charge light on, and the meter's reading", ("V", "A")),),
        parts=(Part("left_stick_x_sensor", "Left stick sensor, horizontal", ("left_stick.x",)),),
        limits={"rest": {"offset": (5.0, 10.0)}},
    )  # fmt: skip


WRONG = {
    "not TOML": ("[model]", "[model", "t2.toml: not valid TOML"),
    "another format": ('"restpoint-sheet"', '"other"', 't2.toml: format: this is not a model sheet; a sheet begins'),
    "a newer version": ("version = 1", "version = 2", "version: 2 is not known here; write version = 1, or use a"),
    "true as version": ("version = 1", "version = true", "version: True is not known"),
    "no model": ("[model]", "[other]", "t2.toml: model: is missing; add a [model] table"),
    "no name": ('name = "Plover T2"\n', "", "t2.toml: model, name: is missing"),
    "a name with a line break": ('"Plover T2"', '"a\\nb"', 'model, name: "a?b" is not one line'),
    "an endless name": ('"Plover T2"', f'"{"a" * 200}"', "model, name: "),
    "a misspelt key": ("gate =", "gaet =", 'control right_stick, gaet: this key is not known; remove or correct it'),
    "a table that nobody knows": ("[limits.rest]", "[limit.rest]", "limit: this key is not known"),
    "an unknown kind": ('kind = "button"', 'kind = "knob"', 'control shoulder, kind: "knob" is not known; write'),
    "an unknown zone": ('zone = "top"', 'zone = "left"', 'zone: "left" is not known; write top, left hand,'),
    "a gate on a button": ('zone = "top"', 'gate = "round"', "control shoulder, gate: this key is not known"),
    "an id that is no word": ('id = "shoulder"', 'id = "Shoulder 1"', 'control 3, id: "Shoulder 1" is not a word'),
    "an id twice": ('id = "paddle"', 'id = "shoulder"', "control shoulder: the id stands 2 times"),
    "a twin that is not there": ('twin = "right_stick"', 'twin = "stick"', 'twin: "stick" is not another control'),
    "a twin of another kind": ('twin = "right_stick"', 'twin = "shoulder"', "shoulder is a button, not a stick"),
    "itself as twin": ('twin = "right_stick"', 'twin = "left_stick"', 'left_stick, twin: "left_stick" is not another'),
    "seen as what is not there": ('seen_as = "shoulder"', 'seen_as = "x"', 'paddle, seen_as: "x" is not another'),
    "a usage that is no pair": ("[0x01, 0x30]", "[0x30]", "control left_stick, x.usage: [48] is not a pair; write"),
    "usage 0": ("[0x01, 0x30]", "[0x01, 0]", "left_stick, x.usage: 0 is out of range; give a whole number 1 to 65535"),
    "a usage as text": ("[0x01, 0x30]", '[1, "X"]', 'left_stick, x.usage: "X" is not a whole number'),
    "neither usage nor field": ("{ usage = [0x09, 5] }", "{ }", "control shoulder, at: it needs either usage or field"),
    "no place at all": ("at = { usage = [0x09, 5] }", "", "control shoulder, at: is missing; say where it is"),
    "a place that is no table": ("at = { usage = [0x09, 5] }", "at = 5", "shoulder, at: 5 is not a table"),
    "up on x": ("x = { usage = [0x01, 0x30] }", 'x = { usage = [1, 48], up = "low" }', "left_stick, x.up: it has a"),
    "right on a button": ("{ usage = [0x09, 5] }", '{ usage = [9, 5], right = "low" }', "shoulder, at.right: it has a"),
    "a big-endian field that is not whole bytes": (
        "{ usage = [0x09, 5] }",
        "{ field = { bit = 8, bits = 12, big_endian = true } }",
        "shoulder, at.field.big_endian: 12 bits from bit 8 on are not 2 or 4 whole bytes; give the whole bytes",
    ),
    "an unknown up": ('up = "high"', 'up = "left"', 'left_stick, y.up: "left" is not known; write low or high'),
    "half a stick": ("y = { usage", "z = { usage", "control left_stick, y: is missing"),
    "too many bits": ("bits = 12, signed", "bits = 33, signed", "right_stick, x.field.bits: 33 is out of range"),
    "a range that does not fit": ("max = 4000", "max = 5000", "right_stick, y.field.max: 5000 is out of range"),
    "an empty range": ("max = 4000", "max = 0", "right_stick, y.field.min: 0 is not below max, 0"),
    "a length too short": ("bit = 8", "length = 2, bit = 8", "field.length: the field ends beyond it; a report that"),
    "an absurd length": ("bit = 8", "length = 70000, bit = 8", "field.length: 70000 is out of range; give"),
    "a bit in the report id": ("bit = 8", "bit = 7", "x.field.bit: bit 7 lies in the report id; count from the id"),
    "a word for signed": ("signed = true", 'signed = "no"', 'x.field.signed: "no" is neither true nor false'),
    "a vendor id too large": ("0x1209", "0x12090", "model, match 1, vendor_id: 73872 is out of range"),
    "a match without product": (", product_id = 0x0001", "", "model, match 1, product_id: is missing"),
    "hex that is none": ('"05 01 ff"', '"05 0"', 'model, open: "05 0" is not a hex string'),
    "motors that nothing stops": (
        'open = ["05 01 ff"]', 'rumble = { both = "02 ff" }', "model, rumble: it needs off and at least one"
    ),
    "a motor report that is none": (
        'open = ["05 01 ff"]', 'rumble = { both = "2 f", off = "02" }', 'model, rumble.both: "2 f" is not a hex string'
    ),
    "a motor that is not known": (
        'open = ["05 01 ff"]', 'rumble = { low = "02", off = "02" }', "model, rumble.low: this key is not known"
    ),
    "an empty report": ('"05 01 ff"', '""', 'model, open: "" is not a hex string'),
    "an ask named like a measurement": ('id = "charge"', 'id = "rim"', "ask rim, id: rim is a check that measures"),
    "an ask named like a press of another strength": (
        'id = "charge"', 'id = "firm_press"', "ask firm_press, id: firm_press is a check that measures"
    ),
    "a meter twice": ('["V", "A"]', '["V", "V"]', "ask charge, meter: a reading stands twice"),
    "a part that serves nothing": ('"left_stick.x"', '"left_stick.z"', 'serves: "left_stick.z" is no control of this'),
    "limits of no check": ("[limits.rest]", "[limits.rset]", "limits.rset: there is no such check; write glance, "),
    "one limit": ("[5.0, 10]", "[5.0]", "limits.rest, offset: [5.0] is not a list of 2 numbers; write [pass, fail"),
    "a limit that is no number": ("[5.0, 10]", "[5.0, nan]", "limits.rest, offset: nan is not a finite number"),
    "true as a limit": ("[5.0, 10]", "[5.0, true]", "limits.rest, offset: True is not a finite number"),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_said_in_one_sentence(old: str, new: str, said: str) -> None:
    assert old in GOOD
    with pytest.raises(SheetError) as caught:
        parse_sheet(GOOD.replace(old, new, 1), "t2.toml", answered_by())
    message = str(caught.value)
    assert said in message
    assert message.startswith("t2.toml: ")
    assert message.endswith(".")
    assert "\n" not in message


def test_a_twin_that_has_another_twin_is_refused() -> None:
    third = '[[control]]\nid = "third"\nkind = "stick"\nname = "T"\ntwin = "left_stick"\nseen_as = "left_stick"\n'
    with pytest.raises(SheetError, match='control third, twin: left_stick names "right_stick" as its own twin'):
        parse_sheet(GOOD.replace("[[ask]]", third + "[[ask]]"), "t2.toml")


def test_a_twin_need_not_point_back() -> None:
    one_way = GOOD.replace('twin = "left_stick"\n', "")
    assert parse_sheet(one_way, "t2.toml").control("left_stick").twin == "right_stick"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 100_000, "not valid TOML"),
        ("#" * 300_000, "larger than 256 KiB"),
        (GOOD + "".join(f'[[part]]\nid = "p{i}"\nname = "p"\n' for i in range(300)), "part: it has 301 entries"),
    ],
    ids=["deep nesting", "a huge file", "too many parts"],
)
def test_sizes_are_bounded(text: str, said: str) -> None:
    with pytest.raises(SheetError, match=said):
        parse_sheet(text, "t2.toml")


def test_a_file_that_cannot_be_read_is_a_sheet_error(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"no\.toml: No such file or directory; check the name"):
        load_sheet(tmp_path / "no.toml")
    (tmp_path / "latin.toml").write_bytes(b'format = "\xe9"')
    with pytest.raises(SheetError, match="byte 10 is not UTF-8 text"):
        load_sheet(tmp_path / "latin.toml")


@given(st.text(max_size=200))
def test_no_text_raises_anything_but_a_sheet_error(text: str) -> None:
    with pytest.raises(SheetError):
        parse_sheet(text, "t2.toml")


@given(st.integers(0, len(GOOD) - 1), st.integers(0, 30), st.text(max_size=8))
def test_a_damaged_sheet_raises_nothing_but_a_sheet_error(at: int, length: int, put: str) -> None:
    damaged = GOOD[:at] + put + GOOD[at + length :]
    sheet, said = None, ""
    try:
        sheet = parse_sheet(damaged, "t2.toml")
    except SheetError as error:
        said = str(error)
    assert "t2.toml" in said if sheet is None else parse_sheet(sheet_text(sheet), "again.toml") == sheet
