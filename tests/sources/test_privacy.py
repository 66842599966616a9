"""What is private, how wide the rows are, and how a report is sent: told from the descriptor alone."""

from __future__ import annotations

import pytest

from station.sources.privacy import private_report_ids, records_keys, report_width, sent_as_feature
from station.sources.usages import is_game, is_private
from tests.rig import pad


@pytest.mark.parametrize(
    ("usage", "game", "private"),
    [
        (0x10004, True, False),
        (0x10005, True, False),
        (0x10008, True, False),
        (0x10001, False, True),
        (0x10002, False, True),
        (0x10006, False, True),
        (0x10007, False, True),
        (0xD0005, False, True),
        (0xFF000001, False, False),
    ],
)
def test_usages(usage: int, game: bool, private: bool) -> None:
    assert (is_game(usage), is_private(usage)) == (game, private)


@pytest.mark.parametrize(
    ("descriptor", "ids", "keys"),
    [
        pytest.param(pad.DESCRIPTOR, set(), False, id="a pad"),
        pytest.param(pad.PAD_WITH_KEYS, {4}, False, id="a pad with keys under another report id"),
        pytest.param(pad.KEYBOARD, set(), True, id="a keyboard"),
        pytest.param(pad.MOUSE, set(), True, id="a mouse"),
        pytest.param(pad.UNNUMBERED + pad.KEYBOARD, set(), True, id="a pad with keys that cannot be told apart"),
        pytest.param(b"", set(), False, id="no descriptor"),
        pytest.param(b"\xff\xff", set(), False, id="a broken descriptor"),
    ],
)
def test_private_reports_are_known_before_reading(descriptor: bytes, ids: set[int], keys: bool) -> None:
    assert private_report_ids(descriptor) == ids
    assert records_keys(descriptor) is keys


def test_without_a_descriptor_the_usages_decide() -> None:
    assert records_keys(b"", (0x10006,))
    assert not records_keys(b"", (0x10006, 0x10005))


@pytest.mark.parametrize(
    ("report", "feature"), [(b"\x02\x00\x00", False), (b"\x03" + bytes(8), True), (b"\x09", False), (b"", False)]
)
def test_a_sheets_opening_report_goes_the_way_its_id_says(report: bytes, feature: bool) -> None:
    assert sent_as_feature(pad.DESCRIPTOR, report) is feature


def test_rows_are_never_narrower_than_64_bytes() -> None:
    assert report_width(pad.DESCRIPTOR) == 64
    long = bytes.fromhex("05 01 09 05 A1 01 09 30 15 00 26 FF 00 75 08 96 C8 00 81 02 C0")
    assert report_width(long) == 200
    assert report_width(b"") == 64
