"""The photo of the unit and the mark of the shop on the first page: small, and bare of what a telephone notes in
them."""

from __future__ import annotations

import io
import shutil
import struct
import subprocess
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QPainter

from station.certificate.formats import FORMATS, Format
from station.certificate.page import render_pdf
from station.certificate.photo import DOTS_PER_MM, MARK_MM, PHOTO_MM, Pictures, small
from station.certificate.unpack import read_pdf
from station.errors import InputError
from station.words import certificate as words
from tests.certificate.signed import KEY, judged
from tests.certificate.test_content import certificate
from tests.certificate.test_readable import full

pytestmark = pytest.mark.usefixtures("qapp")
PLACE = b"Saltmarsh 53.5N 0.1E"


def noisy(width: int, height: int) -> QImage:
    """A picture that no compression makes small."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    for n in range(4000):
        painter.fillRect(n * 7919 % width, n * 104729 % height, 9, 9, QColor.fromHsv(n * 37 % 360, 200, 220))
    painter.end()
    return image


def encoded(image: QImage, kind: str) -> bytes:
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, kind)
    return bytes(data.data())


def as_a_telephone_has_it(image: QImage, turned: int = 1) -> bytes:
    """A JPEG with Exif: how it was held (tag 0x0112) and a text where the place stands (0x010e)."""
    entries = struct.pack(">HHIHH", 0x0112, 3, 1, turned, 0) + struct.pack(">HHII", 0x010E, 2, len(PLACE), 38)
    exif = b"Exif\0\0MM\0*" + struct.pack(">IH", 8, 2) + entries + struct.pack(">I", 0) + PLACE
    jpeg = encoded(image, "JPEG")
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + jpeg[2:]


def with_pictures(paper: Format = FORMATS[0]) -> bytes:
    photo = small(as_a_telephone_has_it(noisy(1600, 1200)), PHOTO_MM)
    mark = small(encoded(noisy(900, 300), "PNG"), MARK_MM)
    return render_pdf(full(), KEY, paper, Pictures(photo, mark))


def test_nothing_of_where_a_photo_was_taken_is_in_the_file(tmp_path: Path) -> None:
    assert PLACE in as_a_telephone_has_it(noisy(400, 300))
    pdf = with_pictures()
    found = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]["/Resources"]["/XObject"].values()
    images = [image.get_object()._data for image in found]
    assert len(images) == 2
    for data in (pdf, *images):
        assert PLACE not in data
        assert b"Exif" not in data


def test_pictures_stay_small() -> None:
    assert len(with_pictures()) - len(render_pdf(full(), KEY)) < 200_000
    photo = small(encoded(noisy(4000, 3000), "JPEG"), PHOTO_MM)
    assert photo.width() <= PHOTO_MM[0] * DOTS_PER_MM
    assert photo.height() <= PHOTO_MM[1] * DOTS_PER_MM


def test_a_photo_stands_upright_however_the_telephone_was_held() -> None:
    """Exif 2.3, orientation 6: the row 0 of the file is the right side of the picture."""
    straight = small(as_a_telephone_has_it(noisy(400, 300), 1), PHOTO_MM)
    assert straight.width() > straight.height()
    turned = small(as_a_telephone_has_it(noisy(400, 300), 6), PHOTO_MM)
    assert turned.height() > turned.width()


def test_a_mark_that_can_be_seen_through_stands_on_white() -> None:
    clear = QImage(40, 40, QImage.Format.Format_ARGB32)
    clear.fill(QColor(0, 0, 0, 0))
    assert small(encoded(clear, "PNG"), MARK_MM).pixelColor(20, 20) == QColor("white")


@pytest.mark.parametrize(
    "data", [b"", b"hello", b"\xff\xd8\xff\xe0 torn", b"\x89PNG\r\n\x1a\n"], ids=["empty", "text", "torn", "no pixels"]
)
@pytest.mark.qt_log_ignore("JPEG")
def test_what_is_no_picture_is_one_sentence(data: bytes) -> None:
    with pytest.raises(InputError, match="no picture that can be shown"):
        small(data, PHOTO_MM)


def test_a_drawing_that_names_another_file_of_the_computer_is_no_picture(tmp_path: Path) -> None:
    secret = tmp_path / "secret.png"
    secret.write_bytes(encoded(noisy(60, 60), "PNG"))
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="60" height="60">'
        f'<image width="60" height="60" xlink:href="{secret}"/></svg>'
    )
    with pytest.raises(InputError, match="no picture that can be shown"):
        small(drawing.encode(), MARK_MM)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "BMP"])
def test_what_telephones_and_scanners_write_is_read(kind: str) -> None:
    assert not small(encoded(noisy(400, 300), kind), PHOTO_MM).isNull()


@pytest.mark.parametrize("paper", FORMATS, ids=[one.name for one in FORMATS])
def test_with_pictures_the_first_page_is_still_one_page(paper: Format) -> None:
    first, second, *_ = (" ".join(page.split()) for page in read_pdf(with_pictures(paper)).pages)
    assert words.PHOTO_CAPTION in first
    assert words.HOW_TO_CHECK in first
    assert words.ANNEX in second


def test_a_certificate_with_pictures_is_genuine_and_a_changed_picture_is_not(tmp_path: Path) -> None:
    photo = small(encoded(noisy(800, 600), "JPEG"), PHOTO_MM)
    pdf = render_pdf(certificate(), KEY, FORMATS[0], Pictures(photo))
    assert judged(pdf).verdict.value == "genuine"
    at = pdf.index(b"\xff\xd8\xff") + 5000
    changed = pdf[:at] + bytes([pdf[at] ^ 1]) + pdf[at + 1 :]
    assert judged(changed).verdict.value == "altered"


@pytest.mark.skipif(shutil.which("pdfimages") is None, reason="poppler's tools are not installed")
def test_poppler_finds_the_same_two_pictures(tmp_path: Path) -> None:
    path = tmp_path / "c.pdf"
    path.write_bytes(with_pictures())
    told = subprocess.run(["pdfimages", "-list", path], capture_output=True, text=True, check=True).stdout
    assert len(told.splitlines()) == 2 + 2
