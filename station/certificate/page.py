"""The certificate as a PDF, painted by Qt, with its content attached as JSON and signed.

`render_pdf` needs a QGuiApplication (the offscreen platform is enough) with the project's fonts loaded.
The file is written by the caller: bytes in memory first, so that a full disk leaves no half certificate.
"""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QPagedPaintDevice, QPainter, QPdfWriter

from station.capture.text import plain_text
from station.certificate import paper as pp
from station.certificate.breaks import paginate
from station.certificate.content import bare_number, content_sha256, to_json
from station.certificate.formats import A4, Format
from station.certificate.layout import WIDE, Piece, one_line
from station.certificate.paper import DIM, LEFT, RIGHT, SMALL, STRONG, Face, Paper
from station.certificate.pdf_signature import sign_pdf
from station.certificate.photo import NO_PICTURES, Pictures
from station.certificate.pieces import pieces_of
from station.certificate.signature import CONTENT_NAME, STATEMENT_NAME, BenchKey, statement_json
from station.certificate.types import Certificate
from station.errors import StationError
from station.words import certificate as words

TOP_MM, BOTTOM_MM = 26.0, 18.0
"""kept free of what stands on a page"""
FOOT = Face(6.5, color=DIM)


def render_pdf(
    certificate: Certificate, key: BenchKey | None = None, paper: Format = A4, pictures: Pictures = NO_PICTURES
) -> bytes:
    """The certificate as PDF 1.6 bytes on `paper`, signed with `key`; without one it says that it is not signed.

    StationError when Qt cannot paint it.
    """
    fingerprint = key.fingerprint if key else ""
    room = paper.height_mm - TOP_MM - BOTTOM_MM
    pages = paginate(list(pieces_of(certificate, fingerprint, room, pictures)), room)
    content = to_json(certificate)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    pp.set_up(writer, (paper.width_mm, paper.height_mm))
    writer.setPdfVersion(QPagedPaintDevice.PdfVersion.PdfVersion_1_6)
    # outside of the packed streams: a number with "/ByteRange" in it would be taken for a mark of the file's signature
    writer.setTitle(words.TITLE.format(number=bare_number(certificate)))
    writer.setCreator(certificate.program)
    writer.addFileAttachment(CONTENT_NAME, QByteArray(content), "application/json")
    painter = QPainter()
    if not painter.begin(writer):
        raise StationError(words.NOT_PAINTED)
    try:
        painted = _paint(painter, writer, certificate, pages, fingerprint, paper)
        if key:  # attachments are written when the painter ends, so this one can know what was painted
            statement = statement_json(key, content, painted)
            writer.addFileAttachment(STATEMENT_NAME, QByteArray(statement), "application/json")
    except BaseException:
        painter.end()  # Qt brings the process down where a device goes while it is painted on
        raise
    if not painter.end():
        raise StationError(words.NOT_FINISHED)
    buffer.close()
    pdf = bytes(data.data())
    return sign_pdf(pdf, key) if key else pdf


def _paint(
    painter: QPainter, writer: QPdfWriter, c: Certificate, pages: list[list[Piece]], fingerprint: str, size: Format
) -> list[list[str]]:
    """Paint the pages, each from top to foot, as it is read out; for each the words on it, in their order."""
    painted, sha256 = [], content_sha256(c)
    painter.translate((size.width_mm - pp.LEFT - pp.RIGHT) / 2 * pp.MM, 0)
    for number, pieces in enumerate(pages, 1):
        if number > 1:
            writer.newPage()
        paper = Paper(painter)
        _page_head(paper, c, size)
        y = TOP_MM
        for piece in pieces:
            piece.draw(paper, y)
            y += piece.height
        _page_foot(paper, sha256, words.PAGE.format(page=number, pages=len(pages)), fingerprint, size.height_mm)
        painted.append(paper.words)
    return painted


def _page_head(paper: Paper, c: Certificate, size: Format) -> None:
    if c.standing.simulated:
        paper.across(words.SIMULATED, size)
    one_line(paper, LEFT, 16, words.TITLE.format(number=c.number), STRONG, WIDE * 0.6)
    whose = words.WHOSE.format(tag=plain_text(c.tag, 30), model=plain_text(c.model, 30))
    paper.text(RIGHT, 16, whose, pp.fitted(whose, SMALL, WIDE * 0.38), right=True)
    paper.line(LEFT, 19, RIGHT, 19)


def _page_foot(paper: Paper, sha256: str, page: str, fingerprint: str, end: float) -> None:
    """`sha256`: of the content; `end`: where the paper ends, in mm."""
    paper.line(LEFT, end - 14, RIGHT, end - 14)
    paper.text(LEFT, end - 10, words.CONTENT.format(sha256=sha256), FOOT)
    signed = words.SIGNED_BY.format(fingerprint=fingerprint) if fingerprint else words.NOT_SIGNED
    paper.text(LEFT, end - 6.8, signed, FOOT)
    paper.text(RIGHT, end - 10, page, SMALL, right=True)
