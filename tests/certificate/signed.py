"""A signed certificate for the tests, and the ways in which somebody might change its file."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pypdf import PdfWriter
from pypdf.generic import ContentStream, NameObject

from station.certificate.identity import self_signed
from station.certificate.keys import KnownKey
from station.certificate.page import render_pdf
from station.certificate.signature import BenchKey
from station.certificate.unpack import Unpacked, read_pdf
from station.certificate.verify import Checked, check
from tests.certificate.test_content import certificate


def made(number: int, name: str) -> BenchKey:
    """The key of a bench, the same at every run."""
    secret = ec.derive_private_key(number, ec.SECP256R1())
    return BenchKey(secret, self_signed(secret, name))


KEY = made(20261128, "bench 1")
OTHER = made(20261129, "bench 2")
FORMER = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
"""what the files in `signed_before` were signed with"""
KNOWN = {public: KnownKey("bench 1", public) for public in (KEY.public, FORMER.public_key().public_bytes_raw())}


@cache
def signed_pdf(key: BenchKey = KEY) -> bytes:
    """Needs a running QGuiApplication (the fixture `qapp`)."""
    return render_pdf(certificate(), key)


@cache
def unpacked() -> Unpacked:
    return read_pdf(signed_pdf())


def judged(data: bytes) -> Checked:
    """The verdict on a file, read in this process (only files made here)."""
    return check(data, read_pdf(data), KNOWN)


def rewritten(data: bytes, change: Callable[[PdfWriter], None] = lambda writer: None) -> bytes:
    """Saved again by another program, which keeps the digits of the old signature but not the bytes that it signed."""
    writer = PdfWriter(clone_from=io.BytesIO(data))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def text_operators(writer: PdfWriter, page: int) -> tuple[ContentStream, list[int]]:
    """The content of a page and where in it text is shown."""
    stream = ContentStream(writer.pages[page]["/Contents"].get_object(), writer)
    return stream, [i for i, (_, operator) in enumerate(stream.operations) if operator in (b"Tj", b"TJ")]


def put_content(writer: PdfWriter, page: int, stream: ContentStream) -> None:
    writer.pages[page][NameObject("/Contents")] = writer._add_object(stream)


def without_attachment(name: str) -> Callable[[PdfWriter], None]:
    def change(writer: PdfWriter) -> None:
        names = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
        at = list(names).index(name)
        del names[at : at + 2]

    return change


def with_attachment(name: str, data: bytes) -> Callable[[PdfWriter], None]:
    def change(writer: PdfWriter) -> None:
        without_attachment(name)(writer)
        writer.add_attachment(name, data)

    return change
