"""Writes the manual page from the command line itself: python resources/system/make.py"""

from __future__ import annotations

import os
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))

from argparse_manpage.manpage import Manpage  # noqa: E402

from station import RELEASED, __version__  # noqa: E402
from station.app.main import parser  # noqa: E402


def manual() -> str:
    """The page, in the language of man(7)."""
    os.environ["COLUMNS"] = "100"  # where argparse breaks usage lines
    about = {"description": "bench station for refurbishing game controllers", "date": RELEASED}
    release = {"project_name": "restpoint", "version": __version__, "manual_title": "Restpoint"}
    return str(Manpage(parser(["learn"]), {**about, **release}))


if __name__ == "__main__":
    (HERE / "restpoint.1").write_text(manual(), "utf-8")
