"""Which digits of a certificate's own signature does a reader not look at? Each of them changed, one at a time.

    python tests/bench/signature_digits.py [--values 1]

What covers a file cannot cover its own digits. `verify` takes no other digit in their place, nor does the page;
poppler's `pdfsig` takes some. Here each digit in turn becomes a small letter where it is a capital, and `--values`
other digits; `pdfsig` is asked about each, and what it still calls valid is counted by the part of the signature (RFC
5652, RFC 5280) in which the digit stands. `tests/bench/edits.py` draws such edits among others; this one leaves none
out.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[2]))

from PySide6.QtGui import QGuiApplication

from station.certificate.verify import Verdict
from tests.bench.edits import _DIGITS, of_a_bench, valid_for_a_reader
from tests.certificate import signed

_CERTIFICATE, _SIGNER = (1, 0, 3, 0), (1, 0, 4, 0)
PARTS = {
    (*_CERTIFICATE, 0, 0): "certificate: version",
    (*_CERTIFICATE, 0, 1): "certificate: serial number",
    (*_CERTIFICATE, 0, 2): "certificate: algorithm",
    (*_CERTIFICATE, 0, 3): "certificate: issuer",
    (*_CERTIFICATE, 0, 4): "certificate: dates",
    (*_CERTIFICATE, 0, 5): "certificate: name",
    (*_CERTIFICATE, 0, 6): "certificate: key",
    (*_CERTIFICATE, 0, 7): "certificate: extensions",
    (*_CERTIFICATE, 1): "certificate: algorithm",
    (*_CERTIFICATE, 2): "certificate: its own signature",
    (*_SIGNER, 0): "signer: version",
    (*_SIGNER, 1): "signer: which certificate",
    (*_SIGNER, 2): "signer: algorithms",
    (*_SIGNER, 3): "signer: what is signed",
    (*_SIGNER, 4): "signer: algorithms",
    (*_SIGNER, 5): "signer: the signature",
}
AROUND, PADDING = "around them", "padding"


Way = tuple[int, ...]


def elements(data: bytes, begin: int, end: int, path: Way = ()) -> Iterator[tuple[Way, int, int]]:
    """The elements of DER (X.690, 8.1) within `data[begin:end]`, each with its place in the tree: path, begin, end."""
    number = 0
    while begin + 2 <= end:
        tag, length, body = data[begin], data[begin + 1], begin + 2
        if length & 0x80:
            body += length & 0x7F
            length = int.from_bytes(data[begin + 2 : body], "big")
        yield (*path, number), begin, body + length
        if tag & 0x20:
            yield from elements(data, body, body + length, (*path, number))
        begin, number = body + length, number + 1


def parts_of(data: bytes) -> list[str]:
    """For each byte of the signature what part it is of; the deepest that is named counts."""
    named = [PADDING] * len(data)
    for path, begin, end in elements(data, 0, 4 + int.from_bytes(data[2:4], "big")):
        inner = path[1:]  # all is in one element
        name = PARTS.get(inner) or (AROUND if not any(inner[: len(p)] == p for p in PARTS) else None)
        if name:
            named[begin:end] = [name] * (end - begin)
    return named


def changes(digit: str, values: int, draw: random.Random) -> Iterator[tuple[str, str]]:
    """The kind of change, and the digit that is put there."""
    if digit in "ABCDEF":
        yield "case", digit.lower()
    for other in draw.sample([d for d in "0123456789ABCDEF" if d != digit], values):
        yield "value", other


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--values", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    application = QGuiApplication.instance() or QGuiApplication([])
    data, draw = of_a_bench(signed.KEY), random.Random(args.seed)
    digits = _DIGITS.search(data)
    if digits is None:
        raise SystemExit("no signature: nothing that is found below would mean anything")
    named = parts_of(bytes.fromhex(digits.group(1).decode()))
    tried, valid, genuine = Counter[str](), Counter[str](), 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "certificate.pdf"
        for at, digit in enumerate(digits.group(1).decode()):
            for kind, other in changes(digit, args.values, draw):
                changed = data[: digits.start(1) + at] + other.encode() + data[digits.start(1) + at + 1 :]
                path.write_bytes(changed)
                what = kind if kind == "case" else named[at // 2]
                tried[what] += 1
                valid[what] += valid_for_a_reader(path)
                genuine += signed.judged(changed).verdict is Verdict.GENUINE
    del application
    for what, count in sorted(tried.items()):
        print(f"  {what}: {valid[what]} of {count} still valid for pdfsig")
    told = {"digits": len(named) * 2, "tried": tried.total(), "valid": valid.total(), "genuine": genuine}
    print(json.dumps(told))
    return 1 if genuine else 0


if __name__ == "__main__":
    raise SystemExit(main())
