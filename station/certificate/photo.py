"""The photo of the unit and the mark of the shop on the first page: small, and nothing of the file they came from.

They are painted as bare pixels, so that no place, time or camera that a telephone notes in a picture gets into a
certificate. Needs Qt's image readers, no screen.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QColor, QImage, QImageReader, QPainter

from station.errors import InputError
from station.words import certificate as words

MOST_BYTES = 64_000_000
READ = ("jpeg", "png", "webp", "gif", "bmp")
"""what the bytes have to be: a drawing (SVG) can name other files of this computer, which would be printed with it"""
MOST_MB = 512
"""a picture that unfolds to more is not read"""
PHOTO_MM, MARK_MM = (46.0, 34.5), (32.0, 11.0)
"""the room on the page: a photo is as telephones take it, four to three or upright"""
DOTS_PER_MM = 8
"""about 200 dots an inch: as fine as print needs, not more"""


@dataclass(frozen=True, slots=True)
class Pictures:
    """What is painted on the first page; None: there is none."""

    photo: QImage | None = None
    mark: QImage | None = None


NO_PICTURES = Pictures()


def small(data: bytes, room_mm: tuple[float, float]) -> QImage:
    """The picture upright, no larger than the page has room for it, on white. InputError where it is none."""
    most = QSize(round(room_mm[0] * DOTS_PER_MM), round(room_mm[1] * DOTS_PER_MM))
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    reader.setAllocationLimit(MOST_MB)
    if reader.format().toStdString() not in READ:
        raise InputError(words.NO_PICTURE)
    whole = reader.size()
    longest = 4 * max(most.width(), most.height())
    if whole.isValid() and max(whole.width(), whole.height()) > longest:  # large photos are read coarser, so faster
        reader.setScaledSize(whole.scaled(longest, longest, Qt.AspectRatioMode.KeepAspectRatio))
    image = reader.read()
    if image.isNull():
        raise InputError(words.NO_PICTURE)
    if image.width() > most.width() or image.height() > most.height():
        image = image.scaled(most, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation)
    bare = QImage(image.size(), QImage.Format.Format_RGB32)
    bare.fill(QColor("white"))
    painter = QPainter(bare)
    painter.drawImage(0, 0, image)
    painter.end()
    return bare
