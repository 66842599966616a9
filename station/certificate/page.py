"""The certificate as an A4 PDF, painted by Qt, with its content attached as JSON and signed.

`render_pdf` needs a QGuiApplication (the offscreen platform is enough) with the project's fonts loaded.
The file is written by the caller: bytes in memory first, so that a full disk leaves no half certificate.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QPagedPaintDevice, QPainter, QPdfWriter

from station.certificate import paper as pp
from station.certificate.content import (
    DECISION_RULE,
    LIMITS,
    SCOPE,
    SIGNED,
    UNCERTAINTY,
    UNSIGNED,
    Certificate,
    CheckLine,
    ControlBlock,
    TreatmentLine,
    VisitLine,
    content_sha256,
    describe_limit,
    describe_reading,
    reading_name,
    to_json,
)
from station.certificate.figures import OUTCOME_FACES, draw_dial, draw_outcome
from station.certificate.paper import DIM, HEAD, LINE, SMALL, STRONG, TEXT, TITLE, Face, Paper
from station.certificate.qr import draw_qr, qr_matrix, qr_size_mm, qr_text
from station.certificate.signature import CONTENT_NAME, STATEMENT_NAME, BenchKey, seal, statement_json
from station.checks.types import Outcome, Reading
from station.errors import StationError

TOP_MM, BOTTOM_MM = 26.0, 279.0
LEFT, RIGHT = pp.MARGIN_MM, pp.WIDTH_MM - pp.MARGIN_MM
WIDE = RIGHT - LEFT
IN_ONE_ROW = ("contact", "light", "normal_press", "firm_press", "hold", "hat")
"""checks that count: their readings are set as running text, so that a pad's many buttons stay readable"""
FOOT = Face(6.5, color=DIM)
_COLUMNS = (LEFT + 6, LEFT + 36, LEFT + 88, LEFT + 126)  # check, reading, value, limit


@dataclass(frozen=True, slots=True)
class Piece:
    """Something that is not broken over pages. `keep`: stays with the next piece."""

    height: float
    draw: Callable[[Paper, float], None]
    keep: bool = False


def render_pdf(certificate: Certificate, key: BenchKey | None = None) -> bytes:
    """The certificate as PDF 1.6 bytes, signed with `key`; without one it says that it is not signed.

    StationError when Qt cannot paint it.
    """
    fingerprint = key.fingerprint if key else ""
    pages = _paginate(list(_pieces(certificate, fingerprint)))
    content = to_json(certificate)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    pp.set_up(writer)
    writer.setPdfVersion(QPagedPaintDevice.PdfVersion.PdfVersion_1_6)
    writer.setTitle(f"Test certificate {certificate.number}")
    writer.setCreator(certificate.program)
    writer.addFileAttachment(CONTENT_NAME, QByteArray(content), "application/json")
    painter = QPainter()
    if not painter.begin(writer):
        raise StationError("The certificate could not be painted; try again, and report it if it fails twice.")
    words = []
    for number, pieces in enumerate(pages, 1):
        if number > 1:
            writer.newPage()
        paper = Paper(painter)
        _frame(paper, certificate, f"page {number} of {len(pages)}", fingerprint)
        y = TOP_MM
        for piece in pieces:
            piece.draw(paper, y)
            y += piece.height
        words.append(paper.words)
    if key:  # attachments are written when the painter ends, so this one can know what was painted
        statement = statement_json(key, content, words)
        writer.addFileAttachment(STATEMENT_NAME, QByteArray(statement), "application/json")
    if not painter.end():
        raise StationError("The certificate could not be finished; free some memory and try again.")
    buffer.close()
    pdf = bytes(data.data())
    return seal(pdf, key) if key else pdf


def _paginate(pieces: list[Piece]) -> list[list[Piece]]:
    pages: list[list[Piece]] = [[]]
    y = TOP_MM
    for i, piece in enumerate(pieces):
        need, j = piece.height, i
        while pieces[j].keep and j + 1 < len(pieces):
            j += 1
            need += pieces[j].height
        if y + need > BOTTOM_MM and pages[-1]:
            pages.append([])
            y = TOP_MM
        pages[-1].append(piece)
        y += piece.height
    return pages


def _frame(paper: Paper, c: Certificate, page: str, fingerprint: str) -> None:
    _line(paper, LEFT, 16, f"Test certificate {c.number}", STRONG, WIDE * 0.6)
    whose = f"{c.tag} · {c.model}"
    paper.text(RIGHT, 16, whose, pp.fitted(whose, SMALL, WIDE * 0.38), right=True)
    paper.line(LEFT, 19, RIGHT, 19)
    paper.line(LEFT, 283, RIGHT, 283)
    paper.text(LEFT, 287, f"Content SHA-256 {content_sha256(c)}", FOOT)
    paper.text(LEFT, 290.2, f"Signed with key {fingerprint}" if fingerprint else "Not signed", FOOT)
    paper.text(RIGHT, 287, page, SMALL, right=True)


def _pieces(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    yield from _summary(c, fingerprint)
    yield from _story(c)
    yield from _dials(c)
    for block in c.controls:
        yield from _control(block)
    yield from _small_print(c, SIGNED if fingerprint else UNSIGNED)


def _summary(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    worst = Outcome.FAIL if c.failed else Outcome.BORDERLINE if c.borderline else Outcome.PASS
    code = qr_matrix(qr_text(c, fingerprint))
    wide = WIDE - qr_size_mm(code)
    result = Face(14, bold=True, color=OUTCOME_FACES[worst].color)

    def draw(paper: Paper, y: float) -> None:
        _line(paper, LEFT, y + 9, c.model, TITLE, wide)
        _line(paper, LEFT, y + 16, f"Unit {c.tag}", Face(13, bold=True), wide)
        draw_outcome(paper, LEFT + 3.4, y + 25.5, 6.4, worst)
        _line(paper, LEFT + 10, y + 27.3, c.headline(), result, wide - 10)
        draw_qr(paper, code, RIGHT, y + 2.5)

    yield Piece(max(33, qr_size_mm(code)), draw)
    left = [
        ("Tested by", f"{c.person or 'not named'}, {c.bench or 'bench not named'}"),
        ("Issued", f"{c.issued_at[:16].replace('T', ' ')} UTC"),
        ("Taken in", f"{c.received_at[:10]}" if c.received_at else "not noted"),
        ("Serial number", c.serial or "none given by the unit"),
    ]
    right = [
        ("USB identity", c.usb_id or "unknown"),
        ("Claim", f"“{c.claim}” – {c.claim_state}" if c.claim else "none"),
        ("Condition", c.condition or "not noted"),
        ("Becomes", c.becomes),
    ]
    for (a, va), (b, vb) in zip(left, right, strict=True):
        yield _pair_row(a, va, b, vb)
    yield _wide_row("Signature", f"Ed25519, key {fingerprint}" if fingerprint else f"None. {UNSIGNED}")
    yield _gap(4)


def _line(paper: Paper, x: float, y: float, text: str, face: Face, width: float) -> None:
    paper.text(x, y, text, pp.fitted(text, face, width))


def _pair_row(a: str, va: str, b: str, vb: str) -> Piece:
    half = WIDE / 2
    height = max(pp.block_height(half - 28, v, TEXT) for v in (va, vb)) + 1.2

    def draw(paper: Paper, y: float) -> None:
        for x, name, value in ((LEFT, a, va), (LEFT + half, b, vb)):
            paper.block(x, y, 25, name, Face(9, color=DIM))
            paper.block(x + 26, y, half - 28, value, TEXT)

    return Piece(height, draw)


def _wide_row(name: str, value: str) -> Piece:
    def draw(paper: Paper, y: float) -> None:
        paper.block(LEFT, y, 25, name, Face(9, color=DIM))
        paper.block(LEFT + 26, y, WIDE - 26, value, TEXT)

    return Piece(pp.block_height(WIDE - 26, value, TEXT) + 1.2, draw)


def _story(c: Certificate) -> Iterator[Piece]:
    yield _head("What was done")
    rows = [(v.started_at, _visit_row(v)) for v in c.visits] + [(t.at, _treatment_row(t)) for t in c.treatments]
    yield from (row for _, row in sorted(rows, key=lambda r: r[0]))
    yield _paragraph(c.rest, TEXT)
    if c.changes:
        yield _head("Before and after")
        for change in c.changes:
            steps = "   ".join(f"visit {n}: {'–' if v is None else f'{v:.1f}'}" for n, v, _ in change.values)
            yield _log_row("", change.what, f"{steps} {'' if change.unit == 'count' else change.unit}", wide=True)


def _visit_row(v: VisitLine) -> Piece:
    end = "" if v.finished_at else " (not finished)"
    result = f"{v.passed} passed, {v.borderline} borderline, {v.failed} failed"
    return _log_row(v.started_at[:10], f"Visit {v.number}, {v.kind}{end}", result)


def _treatment_row(t: TreatmentLine) -> Piece:
    facts = [f"{t.minutes} min" if t.minutes else "", t.materials, t.cost, t.note]
    what = t.kind[:1].upper() + t.kind[1:] + (f": {t.part}" if t.part else "")
    return _log_row(t.at[:10], what, " · ".join(f for f in facts if f))


def _log_row(date: str, what: str, result: str, *, wide: bool = False) -> Piece:
    x = LEFT if wide else LEFT + 22
    width = 92.0 if wide else 72.0
    rest = RIGHT - x - width - 2
    height = max(pp.block_height(width, what, TEXT), pp.block_height(rest, result, TEXT)) + 0.8

    def draw(paper: Paper, y: float) -> None:
        paper.block(LEFT, y, 22, date, Face(9, color=DIM))
        paper.block(x, y, width, what, TEXT)
        paper.block(x + width + 2, y, rest, result, TEXT)

    return Piece(height, draw)


def _dials(c: Certificate) -> Iterator[Piece]:
    if not c.dials:
        return
    yield _head("Sticks as measured")
    radius = 30.0
    for i in range(0, len(c.dials), 2):
        pair = c.dials[i : i + 2]

        def draw(paper: Paper, y: float, pair: tuple[object, ...] = pair) -> None:
            for k, dial in enumerate(pair):
                draw_dial(paper, dial, LEFT + WIDE * (0.25 + 0.5 * k), y + radius + 5, radius)  # type: ignore[arg-type]

        yield Piece(2 * radius + 20, draw)
    note = (
        "Solid ring: limit at rest. Dotted ring: least reach asked for. Dot: position at rest. Crosses: where it "
        "settled after letting go. Outer ticks: the 72 sectors of the rim, short where the reach is too small."
    )
    yield _paragraph(note, SMALL)


def _control(block: ControlBlock) -> Iterator[Piece]:
    yield Piece(9, lambda paper, y: _control_head(paper, y, block), keep=True)
    for i, line in enumerate(block.lines):
        yield from _check_rows(line, keep_next=i == 0)
    yield _gap(1.5)


def _control_head(paper: Paper, y: float, block: ControlBlock) -> None:
    name = block.name or "whole unit"
    paper.text(LEFT, y + 6, name[:1].upper() + name[1:], HEAD)
    if block.group and block.control:
        paper.text(RIGHT, y + 6, block.group, SMALL, right=True)
    paper.line(LEFT, y + 7.6, RIGHT, y + 7.6)


def _check_rows(line: CheckLine, *, keep_next: bool) -> Iterator[Piece]:
    shown = [r for r in line.readings if r.limit is not None or r.value is not None]
    if line.check in IN_ONE_ROW and shown:
        yield _one_row(line, shown)
        yield from (_remark(remark, line.outcome) for remark in _remarks(line))
        return
    rows: list[Reading | None] = list(shown) or [None]
    for i, reading in enumerate(rows):
        last = i == len(rows) - 1
        yield Piece(4.4, _row_drawer(line, reading, first=i == 0), keep=(not last) or keep_next)
    for remark in _remarks(line):
        yield _remark(remark, line.outcome)


def _remarks(line: CheckLine) -> list[str]:
    by_hand = [f"set by hand: {line.reason or 'no reason given'}"] if line.by_hand else []
    return [f.text for f in line.findings] + by_hand


def _one_row(line: CheckLine, shown: list[Reading]) -> Piece:
    """All readings of a check of counts as running text, each with its limit."""
    text = (
        " · ".join(
            f"{reading_name(r.name)} {describe_reading(r)}" + (f" ({limit})" if (limit := describe_limit(r)) else "")
            for r in shown
        )
        .replace(" ", "\u00a0")
        .replace("\u00a0·\u00a0", " · ")
    )
    width = RIGHT - 16 - _COLUMNS[1]
    height = max(4.4, pp.block_height(width, text, TEXT) + 0.5)
    head = _row_drawer(line, None, first=True)

    def draw(paper: Paper, y: float) -> None:
        head(paper, y)
        paper.block(_COLUMNS[1], y, width, text, TEXT)

    return Piece(height, draw)


def _row_drawer(line: CheckLine, reading: Reading | None, *, first: bool) -> Callable[[Paper, float], None]:
    def draw(paper: Paper, y: float) -> None:
        base = y + 3.4
        if first:
            draw_outcome(paper, LEFT + 2, base - 1.1, 3, line.outcome)
            paper.text(_COLUMNS[0], base, line.title, STRONG)
            face = OUTCOME_FACES.get(line.outcome, TEXT)
            paper.text(RIGHT, base, line.outcome.value, face, right=True)
        if reading is not None:
            paper.text(_COLUMNS[1], base, reading_name(reading.name), TEXT)
            paper.text(_COLUMNS[2], base, describe_reading(reading), STRONG if reading.limit is not None else TEXT)
            paper.text(_COLUMNS[3], base, describe_limit(reading), SMALL)

    return draw


def _remark(text: str, outcome: Outcome) -> Piece:
    width = RIGHT - _COLUMNS[1]
    face = Face(9, color=OUTCOME_FACES[outcome].color if outcome in OUTCOME_FACES else DIM)
    return Piece(
        pp.block_height(width, text, face) + 0.6, lambda paper, y: _void(paper.block(_COLUMNS[1], y, width, text, face))
    )


def _small_print(c: Certificate, signature: str) -> Iterator[Piece]:
    if c.not_tested:
        yield _head("Not tested")
        yield _paragraph("; ".join(c.not_tested) + ".", TEXT)
    if c.deviations:
        yield _head("Deviations")
        for text in c.deviations:
            yield _paragraph(text, TEXT)
    yield _head("How to read this")
    for text in (DECISION_RULE, UNCERTAINTY, LIMITS, c.timing, signature):
        yield _paragraph(text, Face(8.5))
    yield replace(_paragraph(SCOPE, STRONG), keep=True)
    yield Piece(
        10,
        lambda paper, y: _void(
            paper.text(pp.WIDTH_MM / 2, y + 6, f"End of certificate {c.number}", SMALL, center=True)
        ),
    )


def _head(text: str) -> Piece:
    def draw(paper: Paper, y: float) -> None:
        paper.text(LEFT, y + 7, text, HEAD)
        paper.line(LEFT, y + 8.6, RIGHT, y + 8.6, LINE)

    return Piece(11, draw, keep=True)


def _paragraph(text: str, face: Face) -> Piece:
    height = pp.block_height(WIDE, text, face) + 1.6
    return Piece(height, lambda paper, y: _void(paper.block(LEFT, y, WIDE, text, face)))


def _gap(height: float) -> Piece:
    return Piece(height, lambda paper, y: None)


def _void(_: object) -> None:
    """Drawing functions return sizes that nobody needs here."""
