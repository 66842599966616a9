"""Files made to do harm: one sentence, in bounded time and memory."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

import pytest
from pypdf import PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, StreamObject, TextStringObject

from station.certificate.unpack import MEMORY_BYTES, unpack
from station.errors import InputError

ROOT = Path(__file__).resolve().parents[2]


def _pdf(build) -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(595, 842)
    build(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _encrypted(writer: PdfWriter) -> None:
    writer.encrypt("secret", algorithm="AES-256")


def _a_thousand_attachments(writer: PdfWriter) -> None:
    for number in range(1000):
        writer.add_attachment(f"{number}.txt", b"x")


def _zeros(size: int) -> StreamObject:
    """A stream that unfolds to `size` zeros, packed twice: some kilobytes in the file."""
    squeeze = zlib.compressobj(9)
    packed = b"".join(squeeze.compress(bytes(1 << 20)) for _ in range(size >> 20)) + squeeze.flush()
    stream = StreamObject()
    stream.set_data(zlib.compress(packed, 9))
    stream[NameObject("/Filter")] = ArrayObject([NameObject("/FlateDecode")] * 2)
    return stream


def _bomb_attached(writer: PdfWriter) -> None:
    stream = _zeros(600 << 20)
    stream[NameObject("/Type")] = NameObject("/EmbeddedFile")
    spec = DictionaryObject(
        {
            NameObject("/Type"): NameObject("/Filespec"),
            NameObject("/F"): TextStringObject("certificate.json"),
            NameObject("/EF"): DictionaryObject({NameObject("/F"): writer._add_object(stream)}),
        }
    )
    names = ArrayObject([TextStringObject("certificate.json"), writer._add_object(spec)])
    tree = DictionaryObject({NameObject("/Names"): names})
    writer.root_object[NameObject("/Names")] = DictionaryObject({NameObject("/EmbeddedFiles"): tree})


def _bomb_on_the_page(writer: PdfWriter) -> None:
    writer.pages[0][NameObject("/Contents")] = writer._add_object(_zeros(600 << 20))


def _pages_that_bite_their_tail(writer: PdfWriter) -> None:
    pages = writer.root_object["/Pages"]
    pages[NameObject("/Kids")] = ArrayObject([writer.root_object.raw_get("/Pages")] * 2)
    pages[NameObject("/Count")] = NumberObject(10**9)


def _names_that_bite_their_tail(writer: PdfWriter) -> None:
    tree = DictionaryObject()
    reference = writer._add_object(tree)
    tree[NameObject("/Kids")] = ArrayObject([reference] * 50)
    writer.root_object[NameObject("/Names")] = DictionaryObject({NameObject("/EmbeddedFiles"): reference})


def _a_thousand_pages(writer: PdfWriter) -> None:
    for _ in range(1000):
        writer.add_blank_page(595, 842)


READ_ALONE = """
import json, sys
from station.certificate.unpack import unpack
from station.errors import InputError
told = {"problem": "", "attached": 0, "peak": 0}
try:
    told["attached"] = len(unpack(sys.stdin.buffer.read(), timeout_s=20).attached)
except InputError as error:
    told["problem"] = str(error)
try:
    import resource
    told["peak"] = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
except ImportError:
    pass
print(json.dumps(told))
"""
"""Reads one file and nothing else, so that the greatest child is the one that read it. Linux counts the size of the
process that started a child as the child's own, and a test run grows large: so it is a small one that starts it."""


@dataclass(frozen=True, slots=True)
class _Told:
    """`peak`: the most that the process which read the file took, in bytes; 0 where the system does not tell."""

    problem: str
    attached: int
    peak: int


def _read_alone(data: bytes) -> _Told:
    done = subprocess.run(
        [sys.executable, "-c", READ_ALONE], input=data, capture_output=True, cwd=ROOT, timeout=30, check=True
    )
    return _Told(**json.loads(done.stdout))


@pytest.mark.parametrize(
    ("build", "said"),
    [
        pytest.param(_encrypted, "it is encrypted", id="encrypted"),
        pytest.param(_a_thousand_attachments, "more than a certificate does", id="a thousand attachments"),
        pytest.param(_a_thousand_pages, "more than 300 pages", id="a thousand pages"),
        pytest.param(_bomb_attached, "damaged or built to do harm", id="an attachment of 600 MB"),
        pytest.param(_pages_that_bite_their_tail, "damaged or built to do harm", id="pages in a circle"),
    ],
)
def test_a_hostile_file_costs_one_sentence(build, said):
    data = _pdf(build)
    assert len(data) < 1_000_000
    told = _read_alone(data)
    assert re.search(f"{said}.*as the bench wrote it.$", told.problem)
    assert told.peak < MEMORY_BYTES * 1.2


@pytest.mark.parametrize(
    "build",
    [
        pytest.param(_bomb_on_the_page, id="a page of 600 MB"),
        pytest.param(_names_that_bite_their_tail, id="names in a circle"),
    ],
)
def test_what_may_be_passed_over_in_a_hostile_file_costs_little_or_one_sentence(build):
    """Some versions of pypdf refuse these, others read them as empty."""
    told = _read_alone(_pdf(build))
    assert told.problem.endswith("as the bench wrote it.") or not told.attached
    assert told.peak < MEMORY_BYTES * 1.2


def test_the_memory_measured_is_that_of_the_process_that_reads_the_file():
    """Not that of the test run, which may have become larger than what is allowed, nor of other children of it."""
    ours = bytearray(400 << 20)
    for at in range(0, len(ours), 4096):
        ours[at] = 1  # every page is touched, so that it counts
    subprocess.run([sys.executable, "-c", "x = b'x' * (400 << 20)"], check=True)
    told = _read_alone(_pdf(lambda writer: None))
    assert (told.problem, told.attached) == ("", 0)
    assert told.peak < 300 << 20
    assert told.peak > 5 << 20 or not told.peak


@pytest.mark.parametrize("data", [b"%PDF-1.6\n", b"%PDF-1.6\n" + bytes(10_000), b"%PDF-1.6\nxref\n0 99999999\n"])
def test_a_torn_file_costs_one_sentence(data):
    with pytest.raises(InputError, match="as the bench wrote it"):
        unpack(data)


def test_a_file_that_takes_too_long_is_given_up():
    with pytest.raises(InputError, match="longer than 0 seconds"):
        unpack(_pdf(_a_thousand_pages), timeout_s=0.01)
