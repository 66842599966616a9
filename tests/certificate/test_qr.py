"""The QR code, read back from the printed page by a decoder that we did not make (zxing-cpp)."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
import zxingcpp

from station.certificate import qr
from station.certificate.content import content_sha256
from station.certificate.page import render_pdf
from tests.certificate.signed import KEY
from tests.certificate.test_content import certificate

LONG = "Regal 3 / Fach 12 – Büro Straße, zweite Lieferung aus der Auflösung"


def page_image(pdf: bytes, tmp_path, dpi: int) -> np.ndarray:
    """The first page as a grey picture, uint8[h, w], drawn by poppler."""
    path = tmp_path / "c.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(
        ["pdftoppm", "-gray", "-r", str(dpi), "-f", "1", "-l", "1", path], capture_output=True, check=True
    )
    kind, width, height, _most, pixels = done.stdout.split(maxsplit=4)[:5]
    assert kind == b"P5"
    return np.frombuffer(pixels[-int(width) * int(height) :], np.uint8).reshape(int(height), int(width))


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's tools are not installed")
@pytest.mark.parametrize("dpi", [120, 300])
@pytest.mark.parametrize("key", [KEY, None], ids=["signed", "not signed"])
@pytest.mark.parametrize("tag", ["SM-07-04", LONG], ids=["short tag", "long tag"])
def test_the_printed_code_names_number_unit_date_hash_and_key(qapp, tmp_path, tag, key, dpi):
    c = replace(certificate(), tag=tag, number=f"{tag}-20260309-0a1b2c3d")
    (code,) = zxingcpp.read_barcodes(page_image(render_pdf(c, key), tmp_path, dpi))
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    number, unit, date, sha256, signed = code.text.split("\n")
    assert number.removeprefix("Restpoint certificate ")[:20] == c.number[:20]
    assert unit.removeprefix("unit ").rstrip("…") in tag
    assert date == "date 2026-03-09"
    assert sha256 == f"sha256 {content_sha256(c)}"
    assert signed == (f"key {KEY.fingerprint}" if key else "not signed")


@pytest.mark.parametrize("length", [1, 20, 64, 200], ids="a tag of {} letters".format)
@pytest.mark.parametrize("letter", ["A", "ß", "漢"])
def test_modules_are_never_too_small_to_print_nor_the_symbol_too_wide(length, letter):
    c = replace(certificate(), tag=letter * length, number=f"{letter * length}-20260309-0a1b2c3d")
    matrix = qr.qr_matrix(qr.qr_text(c, KEY.fingerprint))
    assert qr.module_mm(matrix) >= 0.4
    assert qr.qr_size_mm(matrix) <= 48
