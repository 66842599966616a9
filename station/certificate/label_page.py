"""Labels as a PDF, painted by Qt. Needs a QGuiApplication, as the certificate does."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QPainter, QPdfWriter

from station.capture.text import plain_text
from station.certificate import paper as pp
from station.certificate.labels import Label, Pair, Place, Size, places
from station.certificate.paper import Face, Paper
from station.certificate.qr import QUIET_MODULES, Matrix, draw_qr, qr_matrix, qr_size_mm
from station.errors import InputError, StationError
from station.words import labels as words

EDGE_MM, GAP_MM = 2.0, 2.0
"""kept free in a label: sheets are cut and fed to a millimetre or two (common practice, no source)"""
MOST_MODULE_MM, LEAST_MODULE_MM = 0.9, 0.33
"""a module that hand scanners read, of a printer of 203 dots an inch too: 13 mil (common practice, no source)"""
USUAL_MM = 45.0
"""the shorter side up to which text and code have their usual size"""
BLACK = QColor("black")
"""a printer of single labels has no grey"""
TAG, MODEL, MORE = Face(15, bold=True, color=BLACK), Face(9, color=BLACK), Face(8, color=BLACK)
ON_ONE_LINE_PT = 8.0
"""a tag is set smaller, down to this, before it goes on in the next line"""
LEAST_PT = 6.0
"""what would be smaller is shortened: the code has all of it"""
MOST_TAG_LINES = 5
LINE_MM, ASCENT_MM = 0.48, 0.26
"""from line to line, and the height of a capital, for each point of size"""
ELLIPSIS = "…"


def labels_pdf(labels: Sequence[Label], size: Size, *, start: int = 1) -> bytes:
    """The labels in their order, from place `start` of the first sheet on. InputError where there are none, or the
    sheet has no such place; StationError when Qt cannot paint."""
    if not labels:
        raise InputError(words.NOTHING)
    found = [(place, qr_matrix(place.label.tag)) for place in places(labels, size, start)]
    modules = [_module_mm(code, place, size) for place, code in found]  # before Qt paints: it must not be broken off
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    pp.set_up(writer, size.page)
    writer.setTitle(words.TITLE)
    painter = QPainter()
    if not painter.begin(writer):
        raise StationError(words.NOT_PAINTED)
    paper, page = Paper(painter), 0
    for (place, code), module in zip(found, modules, strict=True):
        if place.page != page:
            page = place.page
            writer.newPage()
        _draw(paper, place, size, code, module)
    if not painter.end():
        raise StationError(words.NOT_PAINTED)
    buffer.close()
    return bytes(data.data())


def _larger(size: Size) -> float:
    """How much larger than usual text and code are on a large label."""
    return max(1.0, min(size.label) / USUAL_MM)


def _module_mm(code: Matrix, place: Place, size: Size) -> float:
    """As large as fits, up to what every scanner reads. InputError where that is too fine."""
    wide, high = size.label
    room = wide - 2 * EDGE_MM if high > wide else min(high - 2 * EDGE_MM, (wide - 2 * EDGE_MM) / 2)
    module = min(MOST_MODULE_MM * _larger(size), room / (len(code) + 2 * QUIET_MODULES))
    if module < LEAST_MODULE_MM:
        raise InputError(words.TAG_TOO_LONG.format(tag=plain_text(place.label.tag, 40), size=size.name))
    return module


def _draw(paper: Paper, place: Place, size: Size, code: Matrix, module: float) -> None:
    """The code on the left, the text beside it; below it on a label that is higher than wide."""
    wide, high = size.label
    x, y = place.x + EDGE_MM, place.y + EDGE_MM
    upright, side = high > wide, qr_size_mm(code, module)
    draw_qr(paper, code, x + side - QUIET_MODULES * module, y + QUIET_MODULES * module, module)
    left, top = (x, y + side + GAP_MM) if upright else (x + side + GAP_MM, y)
    lines = _lines(place.label, _larger(size), place.x + wide - EDGE_MM - left, place.y + high - EDGE_MM - top)
    if not upright:
        top += max(0.0, (side - sum(face.size_pt * LINE_MM for _, face in lines)) / 2)
    for text, face in lines:
        top += face.size_pt * LINE_MM
        paper.text(left, top - face.size_pt * (LINE_MM - ASCENT_MM) / 2, text, face)


def _lines(label: Label, larger: float, width: float, height: float) -> list[tuple[str, Face]]:
    """What stands on the label, line by line: the tag first, then as much as there is room for."""
    found: list[tuple[str, Face]] = []
    tag, model, more = (plain_text(text, 120) for text in (label.tag, label.model, label.more))
    for text, face, most in ((tag, TAG, MOST_TAG_LINES), (model, MODEL, 2), (more, MORE, 1)):
        usual = replace(face, size_pt=face.size_pt * larger)
        lines = _set(text, usual, (width, height), most, ON_ONE_LINE_PT * larger if face is TAG else LEAST_PT)
        height -= sum(line[1].size_pt * LINE_MM for line in lines)
        found += lines
    return found


def _set(text: str, face: Face, room: Pair, most: int, alone_pt: float) -> list[tuple[str, Face]]:
    """On one line down to `alone_pt`; else on up to `most`, as large as may be; shortened where that is too small, left
    out where there is no room."""
    width, height = room
    alone = pp.fitted(text, face, width) if text else face
    if text and alone.size_pt >= alone_pt and _fit(alone, height):
        return [(text, alone)]
    smaller, broken = face, _broken(text, face, width)
    while smaller.size_pt > LEAST_PT and len(broken) > min(most, _fit(smaller, height)):
        smaller = replace(smaller, size_pt=max(LEAST_PT, smaller.size_pt - 0.5))
        broken = _broken(text, smaller, width)
    count = min(most, _fit(smaller, height)) if text else 0
    if 0 < count < len(broken):
        broken[count - 1] = _shortened(broken[count - 1], smaller, width)
    return [(line, smaller) for line in broken[:count]]


def _fit(face: Face, height: float) -> int:
    """How many lines have room in `height` mm."""
    return int(height / (face.size_pt * LINE_MM) + 1e-6)


def _broken(text: str, face: Face, width: float) -> list[str]:
    """Lines no wider than `width`: broken after blanks and hyphens, within a word only where that alone is wider."""
    lines = [""]
    for word in re.findall(r"[^\s-]*[\s-]*", text):
        if lines[-1] and pp.text_width((lines[-1] + word).rstrip(), face) > width:
            lines.append("")
        for sign in word:
            if lines[-1] and pp.text_width((lines[-1] + sign).rstrip(), face) > width:
                lines.append("")
            lines[-1] += sign
    return [line.strip() for line in lines]


def _shortened(text: str, face: Face, width: float) -> str:
    while text and pp.text_width(text + ELLIPSIS, face) > width:
        text = text[:-1]
    return text + ELLIPSIS
