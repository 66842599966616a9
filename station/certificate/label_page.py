"""Labels as a PDF, painted by Qt. Needs a QGuiApplication, as the certificate does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QPainter, QPdfWriter

from station.capture.text import plain_text
from station.certificate import paper as pp
from station.certificate.labels import Label, Place, Size, places
from station.certificate.paper import DIM, Face, Paper
from station.certificate.qr import QUIET_MODULES, Matrix, draw_qr, qr_matrix, qr_size_mm
from station.errors import InputError, StationError
from station.words import labels as words

EDGE_MM, GAP_MM = 2.0, 2.0
"""kept free in a label: sheets are cut and fed to a millimetre or two (common practice, no source)"""
MOST_MODULE_MM, LEAST_MODULE_MM = 0.9, 0.33
"""a module that hand scanners read, of a printer of 203 dots an inch too: 13 mil (common practice, no source)"""
USUAL_MM = 45.0
"""the shorter side up to which text has its usual size"""
TAG, MODEL, MORE = Face(15, bold=True), Face(9), Face(8, color=DIM)


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


def _module_mm(code: Matrix, place: Place, size: Size) -> float:
    """As large as fits, up to what every scanner reads. InputError where that is too fine."""
    wide, high = size.label
    room = wide - 2 * EDGE_MM if high > wide else min(high - 2 * EDGE_MM, (wide - 2 * EDGE_MM) / 2)
    module = min(MOST_MODULE_MM, room / (len(code) + 2 * QUIET_MODULES))
    if module < LEAST_MODULE_MM:
        raise InputError(words.TAG_TOO_LONG.format(tag=plain_text(place.label.tag, 40), size=size.name))
    return module


def _draw(paper: Paper, place: Place, size: Size, code: Matrix, module: float) -> None:
    """The code on the left, the text beside it; below it on a label that is higher than wide."""
    wide, high = size.label
    x, y = place.x + EDGE_MM, place.y + EDGE_MM
    upright, side = high > wide, qr_size_mm(code, module)
    draw_qr(paper, code, x + side - QUIET_MODULES * module, y + QUIET_MODULES * module, module)
    left, top = (x, y + side + GAP_MM) if upright else (x + side + GAP_MM, y + max(0.0, (side - 16) / 2))
    width = place.x + wide - EDGE_MM - left
    lines = ((place.label.tag, TAG), (place.label.model, MODEL), (place.label.more, MORE))
    larger = max(1.0, min(size.label) / USUAL_MM)
    for text, usual in lines:
        shown, face = plain_text(text, 60), replace(usual, size_pt=usual.size_pt * larger)
        fitted = pp.fitted(shown, face, width)
        top += face.size_pt * 0.48
        if shown and top <= place.y + high - EDGE_MM:
            paper.text(left, top, shown, fitted)
