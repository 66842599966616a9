"""A saved sheet reads back as the same sheet, and a save that fails leaves the old file."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from station.errors import SheetError
from station.sheets.load import load_sheet, parse_sheet, save_sheet, sheet_text
from station.sheets.model import GATES, ZONES, Ask, Control, ExplicitField, Part, Place, Sheet
from station.sources.conversation import Conversation, KeepAlive, Reply, Step

NAMES = st.text(min_size=1, max_size=40).filter(lambda text: text.isprintable() and bool(text.strip()))
WORDS = st.from_regex(r"[a-z][a-z0-9_]{0,10}", fullmatch=True)
USAGES = st.builds(lambda page, usage: page << 16 | usage, st.integers(1, 0xFFFF), st.integers(1, 0xFFFF))


@st.composite
def explicit_fields(draw: st.DrawFn) -> ExplicitField:
    bits, signed = draw(st.integers(1, 32)), draw(st.booleans())
    low, high = (-(1 << bits - 1), (1 << bits - 1) - 1) if signed else (0, (1 << bits) - 1)
    least = draw(st.integers(low, high - 1))
    report = draw(st.integers(0, 255))
    begins = b"" if report else draw(st.binary(max_size=8))
    bit, high = draw(st.integers(8, 500)), draw(st.integers(least + 1, high))
    length = draw(st.one_of(st.just(0), st.integers((bit + bits + 7) // 8, 4096)))
    return ExplicitField(report, bit, bits, signed, least, high, begins=begins, length=length)


BIG_ENDIAN = st.builds(
    lambda byte, bits: ExplicitField(0, 8 * byte, bits, False, 0, 4095, True),
    st.integers(0, 60),
    st.sampled_from([16, 32]),
)


def places(turned: bool, across: bool = False) -> st.SearchStrategy[Place]:
    up = st.sampled_from(["low", "high"]) if turned else st.just("low")
    right = st.sampled_from(["low", "high"]) if across else st.just("high")
    fields = st.one_of(explicit_fields(), BIG_ENDIAN)
    return st.one_of(
        st.builds(Place, usage=USAGES, up=up, right=right), st.builds(Place, field=fields, up=up, right=right)
    )


@st.composite
def controls(draw: st.DrawFn, identity: str) -> Control:
    kind = draw(st.sampled_from(["stick", "button", "trigger", "hat", "battery"]))
    name, zone = draw(NAMES), draw(st.sampled_from(ZONES))
    if kind == "stick":
        x, y = draw(places(False, across=True)), draw(places(True))
        return Control(identity, "stick", name, zone, gate=draw(st.sampled_from(GATES)), x=x, y=y)
    return Control(identity, kind, name, zone, at=draw(places(kind in ("trigger", "button"))))  # type: ignore[arg-type]


OFF = b"\x02\x00"
ON = st.binary(min_size=1, max_size=8).filter(lambda data: data != OFF)
MOTORS = st.dictionaries(st.sampled_from(["left", "right", "both"]), ON, min_size=1)
RUMBLE = st.one_of(st.just({}), MOTORS.map(lambda found: {**found, "off": OFF}))


SOME_BYTES = st.binary(min_size=1, max_size=8)
STEPS = st.one_of(
    st.builds(Step, SOME_BYTES, go_on=st.just(True)),
    st.builds(Step, SOME_BYTES, st.sampled_from([None, True, False]), go_on=st.booleans()),
    st.builds(
        Step, st.one_of(st.just(b""), SOME_BYTES), expect=SOME_BYTES, within_ms=st.integers(1, 500),
        tries=st.integers(1, 10), go_on=st.booleans(),
    ),
)  # fmt: skip
REPLIES = st.builds(
    lambda to, send, copy: Reply(to, send, tuple(at for at in copy if at < len(send))),
    SOME_BYTES, SOME_BYTES, st.lists(st.integers(0, 7), max_size=3, unique=True),
)  # fmt: skip


@st.composite
def talks(draw: st.DrawFn) -> Conversation:
    return Conversation(
        tuple(draw(st.lists(STEPS, max_size=3))),
        tuple(draw(st.lists(REPLIES, max_size=2))),
        draw(st.one_of(st.none(), st.builds(KeepAlive, SOME_BYTES, st.integers(20, 10_000)))),
        draw(st.one_of(st.none(), st.integers(0, 63))),
    )


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    made = [draw(controls(identity)) for identity in draw(st.lists(WORDS, max_size=5, unique=True))]
    limit = st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
    return Sheet(
        name=draw(NAMES),
        match=tuple(draw(st.lists(st.tuples(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF)), max_size=3))),
        interfaces=tuple(f"ff{b.hex()}" for b in draw(st.lists(st.binary(min_size=2, max_size=2), max_size=2))),
        talk=draw(talks()),
        controls=tuple(made),
        asks=tuple(Ask(f"ask_{i}", text, ("V",) * (i % 2)) for i, text in enumerate(draw(st.lists(NAMES, max_size=3)))),
        parts=tuple(Part(f"part_{c.id}", c.name, (c.id,)) for c in made),
        limits=draw(st.dictionaries(st.sampled_from(["rest", "rim"]), st.dictionaries(WORDS, limit, min_size=1))),
        rumble=draw(RUMBLE),
    )


@given(sheets())
def test_any_sheet_survives_being_written_and_read(sheet: Sheet) -> None:
    assert parse_sheet(sheet_text(sheet), "again") == sheet


def test_a_sheet_is_saved_with_its_folder_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "own" / "pad.toml"
    sheet = Sheet("Pad", ((0x1209, 1),), controls=(Control("a", "button", "A", at=Place(0x90001)),))
    save_sheet(path, sheet)
    save_sheet(path, sheet)
    assert load_sheet(path) == sheet
    assert [p.name for p in path.parent.iterdir()] == ["pad.toml"]


def test_a_save_that_fails_says_so_and_keeps_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "pad.toml"
    path.mkdir()  # a folder in the way: the last step cannot succeed
    with pytest.raises(SheetError, match=r"the sheet was not saved: .*; choose another folder"):
        save_sheet(path, Sheet("Pad"))
    assert [p.name for p in tmp_path.iterdir()] == ["pad.toml"]
