"""The licences of what Restpoint is made of. The texts of the licences themselves are their makers'."""

OURS = """Restpoint {version}
MIT licence, the Restpoint maintainers. It stands at the end of this text.

What follows is what Restpoint is built on and runs with, each with its own licence."""
QT = """PySide6, Shiboken and Qt are used under the GNU Lesser General Public License, version 3.
They are separate shared libraries, unchanged, loaded when the program starts: in a stand-alone copy
they lie in the folders `_internal/PySide6`, `_internal/shiboken6` and beside them. You may put your own
build of the same version in their place; to do that, to find out how they work and to change them is your right.
Their source: https://download.qt.io/official_releases/QtForPython/ and https://download.qt.io/official_releases/qt/
The licence: https://www.gnu.org/licenses/lgpl-3.0.html"""
HEADING = "{name} {version}: {licence}"
NOT_SAID = "its package does not say which; its text follows"
NO_TEXT = "Its package carries no text of the licence."
PYTHON = "Python {version}: PSF-2.0"
PYTHON_TEXT = "The licence is at https://docs.python.org/3/license.html."
FONTS = "Atkinson Hyperlegible, the typeface: its own licence"
OUR_TEXT = "Restpoint: MIT"
