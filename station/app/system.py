"""What the system is told of this program, and where that lies: files for a person's own folders, one for everybody.

The places are those of the XDG Base Directory Specification and, in it, of the Desktop Entry Specification, the Icon
Theme Specification and AppStream; the rule's is that of udev(7).
"""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

from station import APP_ID, RELEASED, RESOURCES, __version__
from station.words import system as words
from station.words import window

RULES = Path("/etc/udev/rules.d")
ICON = RESOURCES / "icons" / "restpoint.png"
MANUAL = RESOURCES / "system" / "restpoint.1"
_RELOAD = "{ ! command -v udevadm >/dev/null || udevadm control --reload; }"


@dataclass(frozen=True)
class Piece:
    """One file that the system reads. `what` names its purpose in words.system.WHAT."""

    what: str
    path: Path
    content: bytes

    def in_place(self) -> bool:
        """Whether it lies there just so."""
        return self.path.is_file() and self.path.read_bytes() == self.content


def program() -> list[str]:
    """What starts this copy of the program, as absolute paths."""
    if getattr(sys, "frozen", False):
        return [str(Path(sys.executable).absolute())]
    beside = Path(sys.executable).with_name("restpoint")
    return [str(beside)] if beside.is_file() else [sys.executable, "-m", "station.app.main"]


def pieces(home: Path, command: Sequence[str], completions: dict[str, str]) -> list[Piece]:
    """All that belongs to one person's copy. `home`: XDG_DATA_HOME; `completions`: text by shell."""
    return [
        Piece("entry", home / "applications" / f"{APP_ID}.desktop", entry(command).encode()),
        Piece("icon", home / "icons/hicolor/256x256/apps" / f"{APP_ID}.png", ICON.read_bytes()),
        Piece("about", home / "metainfo" / f"{APP_ID}.metainfo.xml", about().encode()),
        Piece("manual", home / "man/man1/restpoint.1", MANUAL.read_bytes()),
        Piece("bash", home / "bash-completion/completions/restpoint", completions["bash"].encode()),
        Piece("zsh", home / "zsh/site-functions/_restpoint", completions["zsh"].encode()),
    ]


def rules() -> list[Piece]:
    """The right to open game controllers, for whoever sits at the machine."""
    return [Piece("rule", RULES / file.name, file.read_bytes()) for file in sorted(RESOURCES.glob("*.rules"))]


def data_home() -> Path:
    """Where the person's own data files lie (XDG Base Directory Specification)."""
    given = os.environ.get("XDG_DATA_HOME", "")
    return Path(given) if os.path.isabs(given) else Path.home() / ".local" / "share"


def entry(command: Sequence[str]) -> str:
    """The desktop entry."""
    lines = [
        "[Desktop Entry]",
        "Type=Application",
        f"Name={window.PROGRAM}",
        f"GenericName={words.ENTRY_GENERIC}",
        f"Comment={words.ENTRY_COMMENT}",
        f"Exec={' '.join(quoted(part) for part in command)}",
        f"Icon={APP_ID}",
        f"StartupWMClass={APP_ID}",
        "Terminal=false",
        "Categories=Utility;",
        f"Keywords={''.join(f'{word};' for word in words.ENTRY_KEYWORDS)}",
    ]
    return "\n".join(lines) + "\n"


def quoted(argument: str) -> str:
    """One argument of Exec, by the Desktop Entry Specification, "The Exec key"."""
    escaped = "".join(f"\\{sign}" if sign in '"`$\\' else sign for sign in argument.replace("%", "%%"))
    # a value of type string undoes one more level of backslashes
    return '"{}"'.format(escaped.replace("\\", "\\\\"))


def about() -> str:
    """The AppStream metainfo file."""
    paragraphs = "\n".join(f"    <p>{escape(text)}</p>" for text in words.ABOUT_TEXT)
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<component type="desktop-application">
  <id>{APP_ID}</id>
  <metadata_license>MIT</metadata_license>
  <project_license>MIT</project_license>
  <name>{window.PROGRAM}</name>
  <summary>{escape(words.ABOUT_SUMMARY)}</summary>
  <description>
{paragraphs}
  </description>
  <launchable type="desktop-id">{APP_ID}.desktop</launchable>
  <content_rating type="oars-1.1" />
  <releases>
    <release version="{__version__}" date="{RELEASED}" />
  </releases>
</component>
"""


def put_rules(wanted: Sequence[Piece]) -> list[str]:
    """What an administrator runs to put rules in place."""
    sources = " ".join(shlex.quote(str(RESOURCES / piece.path.name)) for piece in wanted)
    return ["sh", "-c", f"install -D -m 644 -t {RULES} {sources} && {_RELOAD}"]


def remove_rules(wanted: Sequence[Piece]) -> list[str]:
    """What an administrator runs to take them away."""
    return ["sh", "-c", f"rm -f {' '.join(str(piece.path) for piece in wanted)} && {_RELOAD}"]
