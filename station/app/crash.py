"""Log and crash hooks: installed first, so that a bug of ours leaves a trace and costs no recorded result.

Results are committed one by one while a visit runs, so there is nothing to save here: write the report, say where
it is, and let the program go on where it can.
"""

from __future__ import annotations

import faulthandler
import logging
import logging.handlers
import sys
import threading
import traceback
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import IO

from station.words import desk as words

LOG_BYTES, LOG_FILES = 1_000_000, 3
_log = logging.getLogger("restpoint")
_fault_file: IO[str] | None = None  # kept open for faulthandler
_handler: logging.Handler | None = None


def install(folder: Path, tell: Callable[[str], None] | None = None) -> None:
    """Log to `folder` (to standard error when it cannot be written) and report unexpected exceptions.

    `tell` gets one sentence for the person after each report; without it the sentence goes to standard error.
    """
    global _fault_file, _handler
    uninstall()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handler: logging.Handler = logging.handlers.RotatingFileHandler(
            folder / "restpoint.log", maxBytes=LOG_BYTES, backupCount=LOG_FILES, encoding="utf-8"
        )
        _fault_file = open(folder / "fault.txt", "a", encoding="utf-8")  # noqa: SIM115 - faulthandler needs it open
        faulthandler.enable(_fault_file)
    except OSError:
        handler = logging.StreamHandler()
        faulthandler.enable()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root = logging.getLogger()
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    _handler = handler

    def report(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.exit(130)
        text = "".join(traceback.format_exception(kind, error, trace))
        _log.error("unexpected error\n%s", text)
        where = _write_report(folder, text)
        (tell or _to_stderr)(words.CRASHED.format(place=where))

    sys.excepthook = report
    threading.excepthook = lambda args: report(args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback)


def uninstall() -> None:
    """Take everything back and close the files."""
    global _fault_file, _handler
    faulthandler.disable()
    if _fault_file is not None:
        _fault_file.close()
        _fault_file = None
    if _handler is not None:
        logging.getLogger().removeHandler(_handler)
        _handler.close()
        _handler = None
    sys.excepthook = sys.__excepthook__
    threading.excepthook = threading.__excepthook__


def _write_report(folder: Path, text: str) -> str:
    name = folder / f"crash-{datetime.now(UTC):%Y%m%dT%H%M%S}.txt"
    try:
        name.write_text(text, encoding="utf-8")
    except OSError:
        return words.ONLY_IN_LOG
    return str(name)


def _to_stderr(sentence: str) -> None:
    sys.stderr.write(f"restpoint: {sentence}\n")
