"""Ids, hashes and canonical JSON against the examples that their standards print (`vector`).

SHA-256 itself is Python's: its examples show that our text is encoded and written as it should be.
"""

from __future__ import annotations

import struct
import time
from uuid import RFC_4122, UUID

import pytest

from station.records.canonical import canonical_json, number_text, sha256_text
from station.records.ids import IdMaker, unix_ms_of, uuid7_from

# RFC 9562, appendix A.6 "Example of a UUIDv7 Value" [read: public copies].
_RFC9562_MS = 1645557742000  # Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00
_RFC9562_BITS = 0xCC3 << 62 | 0x18C4DC0C0C07398F
_RFC9562_UUID = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@pytest.mark.vector
def test_the_worked_example_of_rfc_9562_comes_out():
    assert uuid7_from(_RFC9562_MS, _RFC9562_BITS) == _RFC9562_UUID
    assert unix_ms_of(_RFC9562_UUID) == _RFC9562_MS


def test_version_and_variant_bits_stand_where_rfc_9562_section_5_7_puts_them():
    made = UUID(IdMaker().new(int(time.time() * 1000)))
    assert (made.version, made.variant) == (7, RFC_4122)
    assert UUID(uuid7_from(0, (1 << 74) - 1)).version == 7
    assert UUID(uuid7_from((1 << 48) - 1, 0)).variant == RFC_4122


@pytest.mark.vector
@pytest.mark.parametrize(
    ("text", "digest"),
    [
        # FIPS 180-4 examples, NIST "SHA256.pdf" (from memory; hashlib agrees)
        pytest.param("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", id="one block"),
        pytest.param("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", id="empty"),
        pytest.param(
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            id="two blocks",
        ),
    ],
)
def test_sha256_of_the_fips_180_4_examples(text: str, digest: str):
    assert sha256_text(text) == digest


# RFC 8785, appendix B "Number Serialization Samples" [read: public copies].
_NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.vector
@pytest.mark.parametrize(("bits", "text"), _NUMBERS)
def test_numbers_are_written_as_rfc_8785_appendix_b_writes_them(bits: str, text: str):
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    assert number_text(value) == text


@pytest.mark.vector
@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_numbers_that_are_not_finite_have_no_form_in_rfc_8785(bits: str):
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(ValueError, match="not finite"):
        number_text(value)


@pytest.mark.vector
def test_keys_are_sorted_by_utf_16_units_as_in_rfc_8785_section_3_2_3():
    mixed = {"€": 1, "\r": 2, "\ufb33": 3, "1": 4, "😀": 5, "\u0080": 6, "ö": 7}
    assert canonical_json(mixed) == '{"\\r":2,"1":4,"\u0080":6,"ö":7,"€":1,"😀":5,"\ufb33":3}'


@pytest.mark.vector
def test_the_example_of_rfc_8785_section_3_2_2():
    value = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"\u002f",
        "literals": [None, True, False],
    }
    assert canonical_json(value) == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
