"""Is a certificate that was changed anywhere ever called genuine: by the program, by the page for buyers, by a reader?

    python tests/bench/edits.py [--edits 10000] [--seed 1]

Each edit is one random change of a genuine file: a bit, a byte, a run of bytes, a piece cut or put in, a number, a text
of a page, an attachment, a drawing or a picture, the signature of another certificate, pages in another order, an
incremental update (a note, other words on a page, another attachment, another value of the signature's field, a second
signature by a stranger), the file saved again. `verify` and the page must never say genuine; poppler's `pdfsig` must
never say of the whole document that the signature of the bench is valid.

A reader does not look at all of the signature's own digits, which nothing can sign: the padding, a small letter for a
capital, and of the certificate in it only what names the key. Where nothing but these digits was changed, all that a
person reads is still what the bench signed, and `pdfsig` says so; such edits are counted apart, by what they touch.
`verify` and the page take none of them.

`verify` reads a file in a process of its own; here two processes that stay read one after the other, with the same
limit of time, and what they parsed of a page they need not parse again where its bytes are the same. Every hundredth
file goes the whole way as well, which must say the same.
"""

from __future__ import annotations

import argparse
import base64
import io
import json
import logging
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import islice
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[2]))

from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import signers
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText
from pypdf.generic import ContentStream, DecodedStreamObject, NameObject, NumberObject, TextStringObject
from PySide6.QtGui import QGuiApplication

from station.app.commands import verify
from station.certificate import unpack
from station.certificate.page import render_pdf
from station.certificate.signature import BenchKey
from station.certificate.types import Certificate, Dial
from station.certificate.verify import Verdict
from station.errors import InputError, StationError
from tests.certificate import signed
from tests.certificate.browser import BROWSER, opened, started
from tests.certificate.test_content import certificate

Edit = Callable[[bytes, random.Random], bytes]
Change = Callable[[PdfWriter, random.Random], None]
BATCH, WHOLE_WAY, MOST_KEPT = 40, 100, 100
_DIGITS = re.compile(rb"/Contents <([0-9A-Fa-f]+)>")
DIALS = tuple(
    Dial(f"{side.lower()}_stick", f"{side} stick", (1.2, -0.4), 5.0, 95.0, (99.0,) * 72, ((0.5, 0.5),), "centred")
    for side in ("Left", "Right")
)
STRANGER = "bench 2"
"""the name of the key `signed.OTHER`"""
WHOLE: list[bytes] = []
"""the genuine file"""
OTHERS: list[bytes] = []
ATTACHED: list[dict[str, bytes]] = []


def of_a_bench(key: BenchKey, **changes: object) -> bytes:
    written: Certificate = replace(certificate(), dials=DIALS, **changes)
    return render_pdf(written, key)


# --- bytes --------------------------------------------------------------------------------------------


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


# --- the signature ------------------------------------------------------------------------------------


def signature_of_another(data: bytes, draw: random.Random) -> bytes:
    digits = _DIGITS.search(draw.choice(OTHERS)).group()  # type: ignore[union-attr]
    return _DIGITS.sub(digits, data, count=1)


def body_of_another(data: bytes, draw: random.Random) -> bytes:
    return _DIGITS.sub(_DIGITS.search(data).group(), draw.choice(OTHERS), count=1)  # type: ignore[union-attr]


def a_digit_of_the_signature(data: bytes, draw: random.Random) -> bytes:
    """Within the signature itself: a random byte of the file seldom falls into it."""
    digits = _DIGITS.search(data)
    used = 2 * len(_used(digits.group(1)))  # type: ignore[union-attr]
    at = digits.start(1) + draw.randrange(used)  # type: ignore[union-attr]
    return data[:at] + draw.choice([b"%X" % n for n in range(16) if b"%X" % n != data[at : at + 1]]) + data[at + 1 :]


# --- what a person reads ------------------------------------------------------------------------------


def other_words(writer: PdfWriter, draw: random.Random) -> None:
    page = draw.randrange(len(writer.pages))
    stream, shows = signed.text_operators(writer, page)
    operands, operator = stream.operations[at := draw.choice(shows)]
    letters = sorted({stream.operations[i][0][0] for i in shows} - {operands[0]})
    stream.operations[at] = ([draw.choice(letters)], operator)
    signed.put_content(writer, page, stream)


def other_drawing(writer: PdfWriter, draw: random.Random) -> None:
    """A line or a curve of a page goes elsewhere, as of a dial or the code."""
    page = draw.randrange(len(writer.pages))
    stream, _ = signed.text_operators(writer, page)
    lines = [i for i, (_, operator) in enumerate(stream.operations) if operator in (b"l", b"c", b"re", b"m")]
    operands, operator = stream.operations[at := draw.choice(lines)]
    moved = [NumberObject(round(float(operands[0])) + draw.randint(1, 90)), *operands[1:]]
    stream.operations[at] = (moved, operator)
    signed.put_content(writer, page, stream)


def other_picture(writer: PdfWriter, draw: random.Random) -> None:
    """The pixels of a picture in the file; one more picture over a page where there is none."""
    pictures = [
        one.get_object()
        for page in writer.pages
        for one in (page["/Resources"].get("/XObject") or {}).values()
        if one.get_object().get("/Subtype") == "/Image"
    ]
    if pictures and draw.random() < 0.7:
        picture = draw.choice(pictures)
        picture._data = draw.randbytes(max(len(picture._data), 1))
        return
    made = DecodedStreamObject()
    made.set_data(draw.randbytes(3 * 16))
    made.update({NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Image")})
    made.update({NameObject(f"/{name}"): NumberObject(n) for name, n in (("Width", 4), ("Height", 4))})
    made.update({NameObject("/BitsPerComponent"): NumberObject(8), NameObject("/ColorSpace"): NameObject("/DeviceRGB")})
    page = draw.randrange(len(writer.pages))
    there = writer.pages[page]["/Resources"]
    there.setdefault(NameObject("/XObject"), type(there)())
    there["/XObject"][NameObject("/Over")] = writer._add_object(made)
    stream, _ = signed.text_operators(writer, page)
    numbers = [NumberObject(n) for n in (200, 0, 0, 60, 100, draw.randrange(700))]
    stream.operations += [([], b"q"), (numbers, b"cm"), ([NameObject("/Over")], b"Do"), ([], b"Q")]
    signed.put_content(writer, page, stream)


def other_attachment(writer: PdfWriter, draw: random.Random) -> None:
    name = draw.choice(["certificate.json", "signature.json"])
    match draw.randrange(4):
        case 0:
            writer.add_attachment("x.txt", draw.randbytes(9))
        case 1:
            signed.without_attachment(name)(writer)
        case 2:
            body = draw.choice(ATTACHED)[name]
            signed.with_attachment(name, body.replace(b'"', b'" ', draw.randint(1, 3)))(writer)
        case _:
            signed.with_attachment(name, draw.choice(ATTACHED)[name])(writer)


def other_order(writer: PdfWriter, draw: random.Random) -> None:
    kids = writer.root_object["/Pages"]["/Kids"]
    one, two = draw.sample(range(len(kids)), 2)
    kids[one], kids[two] = kids[two], kids[one]


def other_number_of_pages(writer: PdfWriter, draw: random.Random) -> None:
    if draw.random() < 0.5:
        writer.remove_page(draw.randrange(len(writer.pages)))
    else:
        writer.insert_page(writer.pages[draw.randrange(len(writer.pages))], 0)


def a_note(writer: PdfWriter, draw: random.Random) -> None:
    where = draw.randrange(500)
    writer.add_annotation(0, FreeText(text="passed", rect=(60, where, 300, where + 40)))


def other_value_of_the_field(writer: PdfWriter, draw: random.Random) -> None:
    """What the reader finds first of the signature is another object, or none."""
    field = writer.root_object["/AcroForm"]["/Fields"][0].get_object()
    match draw.randrange(3):
        case 0:
            del field["/V"]
        case 1:
            field[NameObject("/T")] = TextStringObject("Bench of another")
        case _:
            field["/V"].get_object()[NameObject("/Name")] = TextStringObject("another")


def saved_again(change: Change) -> Edit:
    """By another program, which keeps the digits of the signature."""

    def edit(data: bytes, draw: random.Random) -> bytes:
        return signed.rewritten(data, lambda writer: change(writer, draw))

    edit.__name__ = f"{change.__name__}, saved again"
    return edit


def updated(change: Change) -> Edit:
    """An incremental update (ISO 32000-1, 7.5.6): what was signed stays, byte for byte, and more follows."""

    def edit(data: bytes, draw: random.Random) -> bytes:
        writer = PdfWriter(io.BytesIO(data), incremental=True)
        change(writer, draw)
        out = io.BytesIO()
        writer.write(out)
        return out.getvalue()

    edit.__name__ = f"{change.__name__}, in an update"
    return edit


class _Forger(signers.PdfSigner):
    """Signs where the signature before forbids every change."""

    def _enforce_certification_constraints(self, reader: object) -> None: ...


def signed_over(data: bytes, draw: random.Random) -> bytes:
    """A note in an update, and a stranger's signature over all of it."""
    from asn1crypto import keys, x509
    from cryptography.hazmat.primitives import serialization
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    secret = signed.OTHER.secret.private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    signer = signers.SimpleSigner(
        signing_cert=x509.Certificate.load(signed.OTHER.certificate),
        signing_key=keys.PrivateKeyInfo.load(secret),
        cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
    )
    over = updated(a_note)(data, draw) if draw.random() < 0.5 else data
    how = signers.PdfSignatureMetadata(field_name=f"Bench {draw.randrange(9)}", md_algorithm="sha256")
    out = _Forger(how, signer).sign_pdf(IncrementalPdfFileWriter(io.BytesIO(over)), bytes_reserved=4096)
    return bytes(out.getvalue())


CHANGES: tuple[tuple[Change, int], ...] = (
    (other_words, 3), (other_drawing, 2), (other_picture, 2), (other_attachment, 3), (other_order, 2),
    (other_number_of_pages, 1), (a_note, 2), (other_value_of_the_field, 1),
)  # fmt: skip
EDITS: tuple[tuple[Edit, int], ...] = (
    (a_bit, 28), (a_byte, 16), (some_bytes, 10), (a_cut, 8), (an_insertion, 8), (a_number, 6),
    (signature_of_another, 2), (body_of_another, 2), (a_digit_of_the_signature, 4), (signed_over, 1),
    *((saved_again(change), weight) for change, weight in CHANGES),
    *((updated(change), weight) for change, weight in CHANGES),
)  # fmt: skip


# --- who is asked -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Answers:
    """An edited file, and what the program and the reader say of it; `apart`: what the program says the whole way, ""
    where it was not asked."""

    number: int
    edit: str
    changed: bytes
    program: str
    reader: bool
    apart: str
    program_s: float


def remember_pages() -> None:
    """Parsing the content of a page takes most of the time, and most edits leave it alone: the same bytes give the same
    operations."""
    parse, kept = ContentStream._parse_content_stream, dict[bytes, list[tuple[object, bytes]]]()

    def once(self: ContentStream, stream: io.BytesIO) -> None:
        data = stream.getvalue()
        if data in kept:
            self._operations = [(list(what) if isinstance(what, list) else what, how) for what, how in kept[data]]
            return
        parse(self, stream)
        if len(kept) < MOST_KEPT:
            kept[data] = [(list(what) if isinstance(what, list) else what, how) for what, how in self._operations]

    ContentStream._parse_content_stream = once  # type: ignore[method-assign]


def _read_here(data: bytes, *, text: bool = True) -> unpack.Unpacked:
    """As `unpack` does it, within this process; whatever goes wrong is one sentence there."""
    signal.alarm(round(unpack.TIMEOUT_S))
    try:
        return unpack.read_pdf(data, text=text)
    except Exception as error:
        raise InputError(str(error)) from error
    finally:
        signal.alarm(0)


def _too_late(*_: object) -> None:
    raise TimeoutError


def prepare(data: bytes, others: Sequence[bytes]) -> None:
    """What every process needs to make edits."""
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # it tells of each oddity of a file that was spoiled
    signal.signal(signal.SIGALRM, _too_late)
    remember_pages()
    WHOLE.append(data)
    OTHERS.extend(others)
    for one in others:
        found = PdfReader(io.BytesIO(one)).attachments
        ATTACHED.append({name: found[name][0] for name in ("certificate.json", "signature.json")})


def one_edit(given: tuple[int, int]) -> Answers:
    """The edit of that seed and number, and what is said of it."""
    seed, number = given
    draw, data = random.Random(f"{seed}/{number}"), WHOLE[0]
    (edit,) = draw.choices([e for e, _ in EDITS], [w for _, w in EDITS])
    changed = edit(data, draw)
    while changed == data:
        changed = edit(data, draw)
    return asked(number, edit.__name__, changed, whole_way=number % WHOLE_WAY == 0)


def asked(number: int, name: str, changed: bytes, *, whole_way: bool) -> Answers:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "certificate.pdf"
        path.write_bytes(changed)
        apart = verified(path) if whole_way else ""
        own, verify.unpack = verify.unpack, _read_here
        began = time.perf_counter()
        try:
            program = verified(path)
        finally:
            verify.unpack = own
        took = time.perf_counter() - began
        return Answers(number, name, changed, program, valid_for_a_reader(path), apart, took)


def verified(path: Path) -> str:
    try:
        return verify.check_file(path, signed.KNOWN).verdict.value
    except StationError:
        return "refused"


def valid_for_a_reader(path: Path) -> bool:
    """Whether a signature that is not shown as the stranger's is called valid, over the whole document."""
    said = subprocess.run(["pdfsig", path], capture_output=True, text=True, check=False, errors="replace").stdout
    return any(
        "Signature is Valid" in one and "Total document signed" in one
        for one in re.split(r"^Signature #", said, flags=re.MULTILINE)
        if f"Common Name: {STRANGER}\n" not in one
    )


PAGE_JUDGES = """async ([files, told]) => {
  const kinds = [];
  for (const data of files) {
    const text = atob(data), bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
    kinds.push((await judged(bytes, told)).kind);
  }
  return kinds;
}"""


def judged_by_the_page(page: object, files: Sequence[bytes]) -> list[str]:
    given = [base64.b64encode(data).decode() for data in files]
    return list(page.evaluate(PAGE_JUDGES, [given, signed.KEY.fingerprint]))  # type: ignore[attr-defined]


# --- what only touches the digits of the signature -----------------------------------------------------


def touches(data: bytes, changed: bytes) -> str:
    """What the change touches of the signature's own digits; "" where it touches anything that was signed."""
    one, two = _DIGITS.search(data), _DIGITS.search(changed)
    if one is None or two is None or one.span() != two.span():
        return ""
    if data[: one.start(1)] + data[one.end(1) :] != changed[: two.start(1)] + changed[two.end(1) :]:
        return ""
    return "how it is written" if _used(one.group(1)) == _used(two.group(1)) else "parts that a reader passes over"


def _used(digits: bytes) -> bytes:
    """The signature without the padding behind it."""
    value = bytes.fromhex(digits.decode().ljust(len(digits) + len(digits) % 2, "0"))
    return value[: 4 + int.from_bytes(value[2:4], "big")]


# --- the run ------------------------------------------------------------------------------------------


class Tally:
    """What was said of each edit, and which of them somebody called genuine."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self.done, self.only_digits = Counter[str](), Counter[str]()
        self.said = {"verify": Counter[str](), "page": Counter[str](), "pdfsig": Counter[str]()}
        self.wrong: list[tuple[object, ...]] = []
        self.program_s = self.page_s = 0.0

    def add(self, by: Answers, by_page: str) -> None:
        self.done[by.edit] += 1
        self.program_s += by.program_s
        self.said["verify"][by.program] += 1
        self.said["page"][by_page] += 1
        self.said["pdfsig"]["valid" if by.reader else "not valid"] += 1
        by_reader = by.reader
        if by_reader and (what := touches(self._data, by.changed)):
            self.only_digits[what] += 1
            by_reader = False
        if "genuine" in (by.program, by.apart, by_page) or by_reader:
            self.wrong.append((by.number, by.edit, by.program, by_page, by_reader))
        if by.apart and by.apart != by.program:
            self.wrong.append((by.number, by.edit, by.program, f"in a process apart: {by.apart}"))

    def tell(self) -> None:
        for name, count in sorted(self.done.items()):
            print(f"  {name}: {count}")
        for who, counts in self.said.items():
            print(f"{who}: {dict(counts)}")
        print(f"valid for pdfsig, all that was signed is as it was; of the signature's own digits: {self.only_digits}")
        for one in self.wrong[:20]:
            print("GENUINE:", one)
        edits = self.done.total()
        told = {
            "edits": edits,
            "genuine": len(self.wrong),
            "only_digits": self.only_digits.total(),
            "verify_ms": round(self.program_s / edits * 1000, 1),
            "page_ms": round(self.page_s / edits * 1000, 1),
        }
        print(json.dumps(told), flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--edits", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    application = QGuiApplication.instance() or QGuiApplication([])
    data = of_a_bench(signed.KEY)
    others = [of_a_bench(signed.KEY, tag="SM-07-05", failed=2, passed=1), of_a_bench(signed.OTHER)]
    tally = Tally(data)
    with (
        started() as browser,
        opened(browser) as page,
        ProcessPoolExecutor(2, get_context("spawn"), prepare, (data, others)) as pool,
    ):
        whole = pool.submit(asked, -1, "", data, whole_way=True).result()
        if {whole.program, whole.apart, *judged_by_the_page(page, [data])} != {Verdict.GENUINE.value}:
            raise SystemExit("the unedited file is not genuine: nothing that is found below would mean anything")
        if not whole.reader:
            raise SystemExit("a reader does not find the unedited file valid: its answers below would mean nothing")
        every = pool.map(one_edit, [(args.seed, number) for number in range(args.edits)], chunksize=5)
        while batch := list(islice(every, BATCH)):
            began = time.perf_counter()
            by_page = judged_by_the_page(page, [one.changed for one in batch])
            tally.page_s += time.perf_counter() - began
            for one, kind in zip(batch, by_page, strict=True):
                tally.add(one, kind)
            if tally.done.total() % 1000 == 0:
                print(tally.done.total(), f"edits, called genuine: {len(tally.wrong)}", flush=True)
    tally.tell()
    del application
    return 1 if tally.wrong else 0


if __name__ == "__main__":
    if BROWSER is None:
        raise SystemExit("chromium is not installed: apt-get install chromium")
    raise SystemExit(main())
