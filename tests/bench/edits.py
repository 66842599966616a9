"""Is a certificate that was changed anywhere ever called genuine: by the program, by the page for buyers, by a reader?

    python tests/bench/edits.py [--edits 10000] [--seed 1]

Each edit is one random change of a genuine file: a byte, a run of bytes, a piece moved or cut, a text of the content,
the attachments of another certificate, the signature of another one, pages in another order, an incremental update
with a note, the file saved again. `verify` and the page must never say genuine; poppler's `pdfsig` must never say of
the whole document that the signature is valid. What `pdfsig` cannot see in the digits of the signature themselves (a
small letter for a capital, a byte of the padding) is counted apart; a reader takes it for the same signature.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[2]))

from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText
from PySide6.QtGui import QGuiApplication

from station.app.commands.verify import check_file
from station.certificate.page import render_pdf
from station.certificate.verify import Verdict
from station.errors import StationError
from tests.certificate import signed
from tests.certificate.browser import BROWSER, judged_by, opened, started
from tests.certificate.test_content import certificate

Edit = Callable[[bytes, random.Random], bytes]
_DIGITS = re.compile(rb"/Contents <([0-9A-Fa-f]+)>")


def other() -> bytes:
    return render_pdf(replace(certificate(), tag="SM-07-05", failed=2, passed=1), signed.KEY)


def a_bit(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << draw.randrange(8))]) + data[at + 1 :]


def a_byte(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data))
    return data[:at] + bytes([draw.choice([b for b in range(256) if b != data[at]])]) + data[at + 1 :]


def some_bytes(data: bytes, draw: random.Random) -> bytes:
    at, length = draw.randrange(len(data)), draw.randint(1, 200)
    return data[:at] + draw.randbytes(min(length, len(data) - at)) + data[at + length :]


def a_cut(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data))
    return data[:at] + data[at + draw.randint(1, 400) :]


def an_insertion(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data) + 1)
    return data[:at] + draw.choice([b"\n", b" ", b"% x\n", b"%%EOF\n", b"0", b"\0"]) + data[at:]


def a_number(data: bytes, draw: random.Random) -> bytes:
    found = draw.choice(list(re.finditer(rb"\d+", data)))
    return data[: found.start()] + str(int(found.group()[:9]) + 1).encode() + data[found.end() :]


def signature_of_another(data: bytes, draw: random.Random) -> bytes:
    digits = _DIGITS.search(OTHERS[draw.randrange(len(OTHERS))]).group()  # type: ignore[union-attr]
    return _DIGITS.sub(digits, data, count=1)


def body_of_another(data: bytes, draw: random.Random) -> bytes:
    found = OTHERS[draw.randrange(len(OTHERS))]
    return _DIGITS.sub(_DIGITS.search(data).group(), found, count=1)  # type: ignore[union-attr]


def saved_again(data: bytes, draw: random.Random) -> bytes:
    def change(writer: PdfWriter) -> None:
        match draw.randrange(5):
            case 0:
                writer.remove_page(draw.randrange(len(writer.pages)))
            case 1:
                writer.insert_page(writer.pages[-1], 0)
            case 2:
                where = draw.randrange(500)
                writer.add_annotation(0, FreeText(text="passed", rect=(60, where, 300, where + 40)))
            case 3:
                name = draw.choice(["certificate.json", "signature.json"])
                signed.with_attachment(name, draw.choice(ATTACHED)[name])(writer)
            case _:
                writer.add_attachment("x.txt", draw.randbytes(9))

    return signed.rewritten(data, change)


def laid_over(data: bytes, draw: random.Random) -> bytes:
    """An incremental update (ISO 32000-1, 7.5.6): what was signed stays, byte for byte."""
    writer = PdfWriter(io.BytesIO(data), incremental=True)
    where = draw.randrange(500)
    writer.add_annotation(0, FreeText(text="passed", rect=(60, where, 300, where + 40)))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


EDITS: tuple[tuple[Edit, int], ...] = (
    (a_bit, 30), (a_byte, 20), (some_bytes, 12), (a_cut, 10), (an_insertion, 10), (a_number, 8),
    (signature_of_another, 2), (body_of_another, 2), (saved_again, 4), (laid_over, 2),
)  # fmt: skip


def only_in_the_digits(data: bytes, changed: bytes) -> bool:
    """Whether the change touches nothing but how the digits of the signature are written."""
    one, two = _DIGITS.search(data), _DIGITS.search(changed)
    if one is None or two is None or one.span() != two.span():
        return False
    same = data[: one.start(1)] + data[one.end(1) :] == changed[: two.start(1)] + changed[two.end(1) :]
    return same and _used(one.group(1)) == _used(two.group(1))


def _used(digits: bytes) -> bytes:
    """The signature without the padding behind it."""
    value = bytes.fromhex(digits.decode().ljust(len(digits) + len(digits) % 2, "0"))
    return value[: 4 + int.from_bytes(value[2:4], "big")]


def verified(path: Path) -> str:
    try:
        return check_file(path, signed.KNOWN).verdict.value
    except StationError:
        return "refused"


def valid_for_a_reader(path: Path) -> bool:
    said = subprocess.run(["pdfsig", path], capture_output=True, text=True, check=False, errors="replace").stdout
    return "Signature is Valid" in said and "Total document signed" in said


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--edits", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    application = QGuiApplication.instance() or QGuiApplication([])
    data = signed.signed_pdf()
    OTHERS.extend([other(), signed.signed_pdf(signed.OTHER)])
    for one in OTHERS:
        found = PdfReader(io.BytesIO(one)).attachments
        ATTACHED.append({name: found[name][0] for name in ("certificate.json", "signature.json")})
    draw, said = random.Random(args.seed), {"verify": Counter[str](), "page": Counter[str](), "pdfsig": Counter[str]()}
    done, wrong, apart, took = Counter[str](), [], 0, Counter[str]()
    with tempfile.TemporaryDirectory() as folder, started() as browser, opened(browser) as page:
        path = Path(folder) / "certificate.pdf"
        path.write_bytes(data)
        whole = verified(path) == Verdict.GENUINE.value and valid_for_a_reader(path)
        if not whole or judged_by(page, data, signed.KEY.fingerprint)[0] != "genuine":
            raise SystemExit("the unedited file is not genuine: nothing that is found below would mean anything")
        for number in range(args.edits):
            (edit,) = draw.choices([e for e, _ in EDITS], [w for _, w in EDITS])
            changed = edit(data, draw)
            if changed == data:
                continue
            done[edit.__name__] += 1
            path.write_bytes(changed)
            began = time.perf_counter()
            by_program = verified(path)
            took["verify"] += time.perf_counter() - began
            began = time.perf_counter()
            by_page = judged_by(page, changed, signed.KEY.fingerprint)[0]
            took["page"] += time.perf_counter() - began
            by_reader = valid_for_a_reader(path)
            said["verify"][by_program] += 1
            said["page"][by_page] += 1
            said["pdfsig"]["valid" if by_reader else "not valid"] += 1
            if by_reader and only_in_the_digits(data, changed):
                apart, by_reader = apart + 1, False
            if by_program == "genuine" or by_page == "genuine" or by_reader:
                wrong.append((number, edit.__name__, by_program, by_page, by_reader))
    for name, count in sorted(done.items()):
        print(f"  {name}: {count}")
    for who, counts in said.items():
        print(f"{who}: {dict(counts)}")
    print(f"valid for pdfsig, changed only in how the digits of the signature are written: {apart}")
    for one in wrong[:20]:
        print("GENUINE:", one)
    edits = done.total()
    print(
        json.dumps(
            {
                "edits": edits,
                "genuine": len(wrong),
                "only_digits": apart,
                "verify_ms": round(took["verify"] / edits * 1000, 1),
                "page_ms": round(took["page"] / edits * 1000, 1),
            }
        )
    )
    del application
    return 1 if wrong else 0


OTHERS: list[bytes] = []
ATTACHED: list[dict[str, bytes]] = []

if __name__ == "__main__":
    if BROWSER is None:
        raise SystemExit("chromium is not installed: apt-get install chromium")
    raise SystemExit(main())
