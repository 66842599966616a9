"""The first page: all that a buyer has to know, in words that a buyer knows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from PySide6.QtGui import QImage

from station.capture.text import plain_text
from station.certificate import paper as pp
from station.certificate.figures import COLORS, draw_dial, draw_outcome
from station.certificate.layout import WIDE, Piece, gap, head, log_row, one_line, paragraph
from station.certificate.paper import DIM, LEFT, RIGHT, SMALL, STRONG, TEXT, TITLE, Face, Paper
from station.certificate.photo import MARK_MM, PHOTO_MM, Pictures
from station.certificate.qr import draw_qr, qr_matrix, qr_size_mm, qr_text
from station.certificate.types import Certificate, ControlLine, TreatmentLine
from station.checks.types import Outcome
from station.words import certificate as words
from station.words import common, figures, grammar

DIALS = 2


@dataclass(frozen=True, slots=True)
class _Room:
    """How much of a kind stands on the first page: what is more is counted, and stands in the annex. `dial`: its
    radius in mm; `columns`: of controls; `signs`: of one text, which is cut there and stands whole in the annex;
    `band`: the size of the headline in pt, which is never cut; `line`: signs of what a control came to."""

    treatments: int
    not_tested: int
    deviations: int
    dial: float
    columns: tuple[int, ...] = (2,)
    signs: int = 400
    band: float = 13.5
    line: int = 160


_ROOMS = (
    _Room(5, 6, 4, 21.0),
    _Room(4, 5, 4, 17.0),
    _Room(3, 4, 3, 14.0, (2, 3), 240),
    _Room(2, 3, 2, 12.0, (2, 3), 160, 12.0),
    _Room(1, 2, 2, 10.0, (2, 3), 160, 10.5, 34),
    _Room(1, 1, 1, 7.0, (2, 3), 110, 10.0, 34),
    _Room(1, 1, 1, 7.0, (2, 3), 60, 10.0, 34),
)
"""from the usual to the least: the first page is one page"""
_SHAPES = {"passed": Outcome.PASS, "faults": Outcome.FAIL, "incomplete": Outcome.NOT_DONE}
_NAME_MM, _GAP_MM, _CAPTION_MM = 31.0, 4.0, 2.8
CAPTION = Face(7, color=DIM)


def front_pieces(c: Certificate, fingerprint: str, room: float, pictures: Pictures) -> tuple[Piece, ...]:
    """What stands on it, from top to end. `fingerprint`: of the key that signs; empty if it is not signed. `room`: mm
    of height on a page."""
    pieces: tuple[Piece, ...] = ()
    for asked in _ROOMS:
        pieces = tuple(_front(c, fingerprint, asked, pictures))
        if sum(piece.height for piece in pieces) <= room:
            break
    return pieces


def _front(c: Certificate, fingerprint: str, room: _Room, pictures: Pictures) -> Iterator[Piece]:
    yield _head(c, fingerprint, pictures)
    yield _band(c, room.band)
    yield gap(3)
    if c.summary:
        yield min((_controls(c.summary, columns, room.line) for columns in room.columns), key=lambda one: one.height)
    yield from _dials(c, room.dial)
    yield from _done(c, room)
    yield from _open(c, room)
    yield head(words.HOW_TO_CHECK)
    check = words.CHECK_IT.format(fingerprint=fingerprint) if fingerprint else words.UNSIGNED
    yield paragraph(check, TEXT)


def _head(c: Certificate, fingerprint: str, pictures: Pictures) -> Piece:
    code = qr_matrix(qr_text(c, fingerprint))
    edge = RIGHT - qr_size_mm(code)
    photo = _size_mm(pictures.photo, PHOTO_MM)
    wide = edge - LEFT - (photo[0] + _GAP_MM if pictures.photo else 0)
    beside = _size_mm(pictures.mark, MARK_MM)[0] + _GAP_MM if pictures.mark else 0
    shop = c.bench or words.NO_BENCH
    if c.person:
        shop = words.BY_SHOP.format(shop=shop, person=c.person)
    serial = words.SERIAL_IS.format(serial=c.serial) if c.serial else words.NO_SERIAL_GIVEN
    which = words.DOT.join((words.UNIT.format(tag=c.tag), serial))
    issued = words.ISSUED_ON.format(day=figures.day(c.issued_at, figures.PAPER))

    def draw(paper: Paper, y: float) -> None:
        if pictures.mark is not None:
            paper.picture(LEFT, y - 1, pictures.mark, MARK_MM)
        one_line(paper, LEFT + beside, y + 4.5, shop, STRONG, wide - beside)
        one_line(paper, LEFT + beside, y + 9, plain_text(c.contact, 120), SMALL, wide - beside)
        one_line(paper, LEFT, y + 19, c.model, TITLE, wide)
        one_line(paper, LEFT, y + 25.5, which, Face(11, bold=True), wide)
        one_line(paper, LEFT, y + 30.5, issued, SMALL, wide)
        if pictures.photo is not None:
            left = edge - photo[0]
            paper.picture(left, y - 1, pictures.photo, PHOTO_MM)
            paper.text(left, y + photo[1] + 2.4, words.PHOTO_CAPTION, CAPTION)
        draw_qr(paper, code, RIGHT, y + 2.5)
        paper.text(RIGHT, y + qr_size_mm(code) + _CAPTION_MM, words.CODE_CAPTION, CAPTION, right=True)

    return Piece(max(34, qr_size_mm(code) + _CAPTION_MM + 2, photo[1] + 5 if pictures.photo else 0), draw)


def _size_mm(picture: QImage | None, room: tuple[float, float]) -> tuple[float, float]:
    return pp.picture_mm(picture, room) if picture is not None else (0.0, 0.0)


def _band(c: Certificate, size_pt: float) -> Piece:
    """The headline in a frame, with its shape: it reads in black and white."""
    shape = _SHAPES[c.standing.kind]
    face = Face(size_pt, bold=True, color=COLORS.get(shape, DIM))
    width = WIDE - 20
    tall = pp.block_height(width, c.standing.headline, face)

    def draw(paper: Paper, y: float) -> None:
        paper.frame(LEFT, y, WIDE, tall + 6, face.color)
        draw_outcome(paper, LEFT + 8, y + 3 + tall / 2, 7, shape)
        paper.block(LEFT + 16, y + 3, width, c.standing.headline, face)

    return Piece(tall + 7, draw)


def _cut(text: str, signs: int) -> str:
    return text if len(text) <= signs else plain_text(text, signs)


def _control_told(line: ControlLine, signs: int) -> str:
    """What a control came to. A fault that is too long for its place is called failed: the beginning of a sentence
    says less, and the annex has it whole."""
    outcome = words.OUTCOMES[line.outcome.value]
    if line.outcome is Outcome.FAIL and len(line.said) > signs:
        return outcome
    return _cut(line.said or outcome, signs)


def _controls(lines: Sequence[ControlLine], columns: int, signs: int) -> Piece:
    """In columns, each read down before the next."""
    rows = -(-len(lines) // columns)
    step = (WIDE + _GAP_MM) / columns
    name = min(_NAME_MM, step * 0.48)
    told = [_control_told(line, signs) for line in lines]
    tall = [max(4.8, 1.0 + pp.block_height(step - _GAP_MM - name - 6, text, SMALL)) for text in told]
    heights = [max(tall[row::rows]) for row in range(rows)]

    def draw(paper: Paper, y: float) -> None:
        for number, (line, text) in enumerate(zip(lines, told, strict=True)):
            column, row = divmod(number, rows)
            _control(paper, LEFT + column * step, y + sum(heights[:row]), line, text, (name, step - _GAP_MM))

    return Piece(sum(heights) + 2, draw)


def _control(paper: Paper, x: float, y: float, line: ControlLine, told: str, wide: tuple[float, float]) -> None:
    """`wide`: of its name, and of all."""
    named, whole = wide
    draw_outcome(paper, x + 2, y + 2.3, 3, mark_of(line))
    name = grammar.sentence_start(line.name)
    paper.text(x + 5.5, y + 3.4, name, pp.fitted(name, STRONG, named - 1))
    paper.block(x + 5.5 + named, y + 0.4, whole - named - 6, told, SMALL)


def mark_of(line: ControlLine) -> Outcome:
    """What is drawn beside a control: no tick while a part of its checks is open, which would be trusted."""
    partly = line.outcome is Outcome.PASS and line.said  # of one that passed nothing else is said
    return Outcome.NOT_DONE if partly else line.outcome


def _dials(c: Certificate, radius: float) -> Iterator[Piece]:
    if not c.dials:
        return

    def draw(paper: Paper, y: float) -> None:
        shown = c.dials[:DIALS]
        for k, dial in enumerate(shown):
            draw_dial(paper, dial, LEFT + WIDE * (0.25 + 0.5 * k), y + radius + 4, radius)

    yield Piece(2 * radius + 19, draw)


def _done(c: Certificate, room: _Room) -> Iterator[Piece]:
    yield head(words.DONE_TO_IT)
    for one in c.treatments[: room.treatments]:
        what, used = (_cut(text, room.signs) for text in (treated(one), one.materials))
        yield log_row(figures.day(one.at, figures.PAPER), what, used)
    more = len(c.treatments) - room.treatments
    if more > 0:
        yield paragraph(words.MORE_IN_ANNEX.format(count=more), SMALL)
    yield paragraph(_cut(c.rest, room.signs), TEXT)


def treated(one: TreatmentLine) -> str:
    """The treatment and the part."""
    kind = grammar.sentence_start(common.TREATMENT_KINDS.get(one.kind, one.kind))
    return words.TREATED_PART.format(kind=kind, part=one.part) if one.part else kind


def _open(c: Certificate, room: _Room) -> Iterator[Piece]:
    """What was not tested, what was left out, and what no test here sees."""
    yield head(words.NOT_TESTED_AND_UNSEEN)
    if c.not_tested:
        named = [_cut(one, room.signs) for one in c.not_tested[: room.not_tested]]
        more = len(c.not_tested) - room.not_tested
        told = words.NEXT_NOT_TESTED.join(named)
        told = words.AND_MORE_FAULTS.format(faults=told, count=more) if more > 0 else told
        yield paragraph(words.NOT_TESTED_ARE.format(list=told), TEXT)
    if c.older:
        checks = grammar.count_of(c.older, words.CHECK, figures.PAPER)
        yield paragraph(words.OLDER_CHECKS.format(checks=checks), TEXT)
    for text in c.deviations[: room.deviations]:
        yield paragraph(_cut(text, room.signs), TEXT)
    more = len(c.deviations) - room.deviations
    if more > 0:
        yield paragraph(words.MORE_DEVIATIONS.format(count=more), TEXT)
    yield paragraph(words.NO_TEST_SEES, TEXT)
