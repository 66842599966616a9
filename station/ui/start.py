"""The application: fonts that ship, sizes, one icon. Called once by `app` before the window is made."""

from __future__ import annotations

import sys

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontDatabase, QGuiApplication, QIcon
from PySide6.QtWidgets import QApplication

from station import APP_ID, RESOURCES, __version__
from station.errors import InputError
from station.ui.painting.look import FAMILY
from station.words import window as words

FONTS = RESOURCES / "fonts"
SWITCH_S = 0.0005
"""a thread that computes hands over to the window after this long: with Python's own 5 ms a frame that has to wait for
its turn a few times is late"""
ICON = RESOURCES / "icons" / "restpoint.png"


def make_app(arguments: list[str] | None = None) -> QApplication:
    """The one QApplication, with our fonts loaded; the existing one if there is one."""
    sys.setswitchinterval(SWITCH_S)
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        QGuiApplication.setHighDpiScaleFactorRoundingPolicy(Qt.HighDpiScaleFactorRoundingPolicy.PassThrough)
        # the style must be known before the application, or every widget is dressed twice
        QApplication.setStyle("Fusion")
        app = QApplication(arguments if arguments is not None else sys.argv[:1])
    app.setApplicationName(words.PROGRAM)
    app.setApplicationVersion(__version__)
    app.setDesktopFileName(APP_ID)  # how X11 and Wayland find the menu entry, and with it the icon
    load_fonts()
    if app.font().family() != FAMILY:
        font = QFont(FAMILY)
        font.setPixelSize(15)
        app.setFont(font)
    app.setWindowIcon(QIcon(str(ICON)))
    return app


def load_fonts() -> None:
    """Load every font file that ships; InputError if the family is then missing."""
    if FAMILY not in QFontDatabase.families():
        for file in sorted(FONTS.glob("*.ttf")):
            QFontDatabase.addApplicationFont(str(file))
    if FAMILY not in QFontDatabase.families():
        raise InputError(words.FONTS_MISSING.format(folder=FONTS))
