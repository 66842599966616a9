"""A line for the path of a photo, with the newest pictures at the arrow keys and a small look at the chosen one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImageReader, QKeyEvent, QPixmap
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QWidget

from station.ui.painting.look import Look
from station.ui.painting.widgets import key_button, plain_label
from station.words import panels as words

PREVIEW_PX = QSize(160, 90)
MOST_MB = 256
"""a picture that unfolds to more is not looked at"""


class PhotoField(QWidget):
    """`line` holds the path. Down takes the newest of `pictures`, again the one before; Up goes back."""

    def __init__(self, pictures: Sequence[str], look: Look) -> None:
        super().__init__()
        self._pictures, self._at = tuple(pictures), -1
        self.line = _Line(self)
        newest = words.PHOTO_NEWEST.format(file=Path(self._pictures[0]).name) if self._pictures else ""
        self.line.setPlaceholderText(newest or words.PHOTO_PATH)
        self.preview = QLabel()
        self.preview.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.preview.setFixedSize(look.px(PREVIEW_PX.width()), look.px(PREVIEW_PX.height()))
        self.said = plain_label("", "small", wrap=True)
        self._below = QWidget()
        below = QHBoxLayout(self._below)
        below.setContentsMargins(0, 0, 0, 0)
        below.addWidget(self.preview)
        below.addWidget(self.said, 1)
        self.setFocusProxy(self.line)
        self.line.textChanged.connect(self._show)
        self._show("")

    @property
    def below(self) -> QWidget:
        """The look at the chosen picture, to be put beneath the line."""
        return self._below

    @property
    def has_pictures(self) -> bool:
        return bool(self._pictures)

    def step(self, by: int) -> None:
        """Choose among the newest pictures; -1 is none."""
        if self._pictures:
            self._at = max(-1, min(len(self._pictures) - 1, self._at + by))
            self.line.setText(self._pictures[self._at] if self._at >= 0 else "")

    def _show(self, path: str) -> None:
        picture = _small(path.strip(), self.preview.size()) if path.strip() else None
        self.preview.setPixmap(picture or QPixmap())
        self._below.setVisible(bool(path.strip()))
        self._below.updateGeometry()
        number = words.PHOTO_NUMBER.format(number=self._at + 1, count=len(self._pictures))
        said = (number if path in self._pictures else "", "" if picture else words.PHOTO_NOT_SHOWN)
        self.said.setText(" ".join(s for s in said if s))


class _Line(QLineEdit):
    def __init__(self, field: PhotoField) -> None:
        super().__init__(field)
        self._field = field
        row = QHBoxLayout(field)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self)
        for text, by in ((words.PHOTO_NEWER, -1), (words.PHOTO_OLDER, 1)):
            button = key_button(text)
            button.clicked.connect(lambda _=False, by=by: field.step(by))
            button.setEnabled(field.has_pictures)
            row.addWidget(button)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            self._field.step(1 if event.key() == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)


def _small(path: str, size: QSize) -> QPixmap | None:
    """The picture, upright, no larger than `size`; None when it is none that a certificate would show."""
    from station.certificate.photo import READ  # with what draws certificates: a window that is starting can do without

    reader = QImageReader(str(Path(path).expanduser()))
    reader.setAutoTransform(True)
    reader.setAllocationLimit(MOST_MB)
    if reader.format().toStdString() not in READ:
        return None
    image = reader.read()
    if image.isNull():
        return None
    fit, smooth = Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
    return QPixmap.fromImage(image.scaled(size, fit, smooth))
