"""Canonical JSON (RFC 8785): the one byte string that a value hashes to, whoever writes it."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from json.encoder import encode_basestring
from typing import Any

_WORDS = {None: "null", True: "true", False: "false"}


def number_text(value: float) -> str:
    """A finite double as ECMAScript prints it (RFC 8785 section 3.2.2.3). ValueError if it is not finite."""
    if not math.isfinite(value):
        raise ValueError("a number that is not finite has no JSON form")
    if value == 0:
        return "0"
    text = repr(value)  # the shortest digits that read back the same, as ECMAScript has them; only their place differs
    if "e" not in text:
        return text.removesuffix(".0")
    sign = "-" if value < 0 else ""
    mantissa, _, exponent = text.removeprefix("-").partition("e")
    whole, _, fraction = mantissa.partition(".")
    digits = (whole + fraction).rstrip("0")
    return sign + _placed(digits, len(whole) + int(exponent))


def _placed(digits: str, point: int) -> str:
    """`digits` with the decimal point after `point` of them, by the rules of ECMAScript's Number::toString."""
    if len(digits) <= point <= 21:
        return digits + "0" * (point - len(digits))
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    exponent = point - 1
    tail = f"e{'+' if exponent > 0 else '-'}{abs(exponent)}"
    return digits[0] + (f".{digits[1:]}" if len(digits) > 1 else "") + tail


def canonical_json(value: Any) -> str:
    """RFC 8785 text of None, bool, int within ±2⁵³, float, str, lists, tuples and mappings with text keys."""
    if isinstance(value, str):
        return encode_basestring(value)
    if value is None or isinstance(value, bool):
        return _WORDS[value]
    if isinstance(value, int):
        if abs(value) > 2**53:
            raise ValueError("an integer beyond 2⁵³ has no exact JSON form")
        return str(value)
    if isinstance(value, float):
        return number_text(value)
    if isinstance(value, Mapping):
        keys = sorted(value) if all(map(str.isascii, value)) else sorted(value, key=_utf16)
        return "{" + ",".join([f"{encode_basestring(k)}:{canonical_json(value[k])}" for k in keys]) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join([canonical_json(v) for v in value]) + "]"
    raise TypeError(f"{type(value).__name__} has no JSON form")


def _utf16(key: str) -> bytes:
    return key.encode("utf-16-be", "surrogatepass")


def sha256_text(text: str) -> str:
    """SHA-256 of the UTF-8 bytes, hexadecimal (FIPS 180-4). Lone surrogates are kept apart, not refused."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
