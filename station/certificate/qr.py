"""The QR code on the first page: what a print-out still tells of its file."""

from __future__ import annotations

import segno
from PySide6.QtGui import QColor

from station.capture.text import plain_text
from station.certificate.content import content_sha256
from station.certificate.paper import Paper
from station.certificate.types import Certificate
from station.words import certificate as words
from station.words import figures

MODULE_MM, LEAST_MODULE_MM = 0.45, 0.4
"""a printer of 300 dpi draws 0.4 mm with nearly five dots"""
QUIET_MODULES = 4
"""ISO/IEC 18004: the quiet zone around a symbol is four modules wide"""
WIDEST_MM = 36.0

Matrix = tuple[bytearray, ...]


def qr_text(certificate: Certificate, fingerprint: str) -> str:
    """Number, unit, date, hash of the content and the key's fingerprint, one a line, as a telephone shows them."""
    facts = {
        "number": plain_text(certificate.number, 60),
        "tag": plain_text(certificate.tag, 40),
        "day": figures.day(certificate.issued_at, figures.PAPER),
        "sha256": content_sha256(certificate),
    }
    return words.QR.format(**facts, fingerprint=fingerprint) if fingerprint else words.QR_UNSIGNED.format(**facts)


def qr_matrix(text: str) -> Matrix:
    """The symbol (ISO/IEC 18004, error correction M), a row of bytes for each line of modules."""
    return tuple(segno.make(text, error="m", boost_error=False, micro=False).matrix)


def module_mm(matrix: Matrix) -> float:
    """The width of a module: the usual one, or less for a symbol that would get too wide, but never too small."""
    return max(LEAST_MODULE_MM, min(MODULE_MM, WIDEST_MM / (len(matrix) + 2 * QUIET_MODULES)))


def qr_size_mm(matrix: Matrix, module: float | None = None) -> float:
    """Width of the symbol with its quiet zone; `module`: the width of one, in mm (None: the certificate's)."""
    return (len(matrix) + 2 * QUIET_MODULES) * (module or module_mm(matrix))


def draw_qr(paper: Paper, matrix: Matrix, right: float, y: float, module: float | None = None) -> None:
    """The symbol, upper right corner at right, y; its quiet zone lies around it, on the margin too. `module` as above.

    Modules of a row are drawn as one bar.
    """
    cell = module or module_mm(matrix)
    wide, quiet = len(matrix) * cell, QUIET_MODULES * cell
    left = right - wide
    paper.rect(left - quiet, y - quiet, wide + 2 * quiet, wide + 2 * quiet, QColor("white"))
    for row, line in enumerate(matrix):
        start = None
        for col in range(len(line) + 1):
            dark = col < len(line) and line[col] & 1
            if dark and start is None:
                start = col
            elif not dark and start is not None:
                paper.rect(left + start * cell, y + row * cell, (col - start) * cell, cell * 1.02, QColor("black"))
                start = None
