"""The checks of one control: a table of readings, or running text for checks that count."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from station.certificate import paper as pp
from station.certificate.figures import OUTCOME_FACES, draw_outcome
from station.certificate.layout import Keep, Piece, gap, nothing
from station.certificate.paper import DIM, HEAD, LEFT, RIGHT, SMALL, STRONG, TEXT, Face, Paper, fitted
from station.certificate.types import CheckLine, ControlBlock
from station.checks.registry import describe
from station.checks.said import limits_text, marked, reading_name, remarks, sentence, value_text
from station.checks.types import Assessment, Outcome, Reading
from station.words import certificate as words
from station.words import common, figures, grammar

_COLUMNS = (LEFT + 6, LEFT + 36, LEFT + 88, LEFT + 126)  # check, reading, value, limit
_ROW_MM, _TWO_ROWS_MM = 4.4, 8.2
_WHEN = Face(7, color=DIM)
NAME_MM = _COLUMNS[2] - _COLUMNS[1]


def control_pieces(block: ControlBlock) -> Iterator[Piece]:
    """A heading, then each check with its readings, limits, outcome and remarks; all of it on one page if that can be,
    else each check."""
    yield Piece(9, lambda paper, y: _control_head(paper, y, block), keep=Keep.FIRM)
    for number, line in enumerate(block.lines, 1):
        *rows, last = _check_rows(line)
        yield from (replace(row, keep=Keep.FIRM) for row in rows)
        yield last if number == len(block.lines) else replace(last, keep=Keep.BLOCK)
    yield gap(1.5)


def _control_head(paper: Paper, y: float, block: ControlBlock) -> None:
    paper.text(LEFT, y + 6, grammar.sentence_start(block.name or common.WHOLE_UNIT), HEAD)
    if block.group and block.control:
        paper.text(RIGHT, y + 6, common.ZONES.get(block.group, block.group), SMALL, right=True)
    paper.line(LEFT, y + 7.6, RIGHT, y + 7.6)


def _check_rows(line: CheckLine) -> Iterator[Piece]:
    shown = [r for r in line.readings if r.limit is not None or r.value is not None]
    if describe(line.check).counts and shown:
        yield _one_row(line, shown)
        yield from (_remark(remark, line.outcome) for remark in _remarks(line))
        return
    rows: list[Reading | None] = list(shown) or [None]
    for i, reading in enumerate(rows):
        height = _TWO_ROWS_MM if len(rows) == 1 else _ROW_MM
        yield Piece(height, _row_drawer(line, reading, first=i == 0))
    for remark in _remarks(line):
        yield _remark(remark, line.outcome)


def _remarks(line: CheckLine) -> list[str]:
    by_hand = [words.SET_BY_HAND.format(reason=line.reason or words.NO_REASON)] if line.by_hand else []
    said = [sentence(line.check, f, figures.PAPER) for f in line.findings]
    return (
        said
        + list(remarks(line.check, Assessment(line.outcome, line.readings), figures.PAPER, whole=True))
        + by_hand
        + ([line.older] if line.older else [])
        + ([_interrupted(line.interrupted)] if line.interrupted else [])
    )


def _interrupted(count: int) -> str:
    return words.INTERRUPTED.format(tries=grammar.count_of(count, words.TRIES, figures.PAPER))


def _when(line: CheckLine) -> str:
    """The day, and which of the tries of that visit counts."""
    template = words.TRY_OF if line.tries > 1 else words.ONE_TRY
    return template.format(day=figures.day(line.at, figures.PAPER), number=line.attempt, tries=line.tries)


def _one_row(line: CheckLine, shown: list[Reading]) -> Piece:
    """All readings of a check of counts as running text, each with its limit: a pad's many buttons stay readable."""
    text = words.DOT.join(_counted(line, r) for r in shown)
    width = RIGHT - 16 - _COLUMNS[1]
    height = max(_TWO_ROWS_MM, pp.block_height(width, text, TEXT) + 0.5)
    head = _row_drawer(line, None, first=True)

    def draw(paper: Paper, y: float) -> None:
        head(paper, y)
        paper.block(_COLUMNS[1], y, width, text, TEXT)

    return Piece(height, draw)


def _counted(line: CheckLine, reading: Reading) -> str:
    """A reading with its limit, which no line break tears apart."""
    name, value = reading_name(line.check, reading.name), value_text(line.check, reading, figures.PAPER)
    if limit := _limit_of(line, reading):
        text = words.COUNTED_WITH_LIMIT.format(name=name, value=value, limit=limit)
    else:
        text = words.COUNTED.format(name=name, value=value)
    return text.replace(" ", figures.NO_BREAK)


def _limit_of(line: CheckLine, reading: Reading) -> str:
    """The limit of one of its readings, with where it comes from."""
    where = dict(zip((r.name for r in line.readings), line.origins, strict=False))
    return marked(limits_text(reading, figures.PAPER), where.get(reading.name))


def _row_drawer(line: CheckLine, reading: Reading | None, *, first: bool) -> Callable[[Paper, float], None]:
    def draw(paper: Paper, y: float) -> None:
        base = y + 3.4
        if first:
            draw_outcome(paper, LEFT + 2, base - 1.1, 3, line.outcome)
            paper.text(_COLUMNS[0], base, line.title, STRONG)
            face = OUTCOME_FACES.get(line.outcome, TEXT)
            paper.text(RIGHT, base, common.OUTCOMES[line.outcome.value], face, right=True)
            when = _when(line)
            paper.text(_COLUMNS[0], base + 3.4, when, fitted(when, _WHEN, NAME_MM / 2 + 3))
        if reading is not None:
            name = reading_name(line.check, reading.name)
            paper.text(_COLUMNS[1], base, name, fitted(name, TEXT, NAME_MM))  # a longer word of another language
            paper.text(
                _COLUMNS[2],
                base,
                value_text(line.check, reading, figures.PAPER),
                STRONG if reading.limit is not None else TEXT,
            )
            paper.text(_COLUMNS[3], base, _limit_of(line, reading), SMALL)

    return draw


def _remark(text: str, outcome: Outcome) -> Piece:
    """What is said of a check; in its colour where it did not pass, since what is noted of a pass is no praise."""
    width = RIGHT - _COLUMNS[1]
    plain = outcome is Outcome.PASS or outcome not in OUTCOME_FACES
    face = Face(9, color=DIM if plain else OUTCOME_FACES[outcome].color)
    return Piece(
        pp.block_height(width, text, face) + 0.6,
        lambda paper, y: nothing(paper.block(_COLUMNS[1], y, width, text, face)),
    )
