"""Where the user's records, settings and logs live."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import platformdirs

from station.errors import InputError
from station.words import command_line as words


def records_folder() -> Path:
    """The folder of the records; RESTPOINT_DATA overrides the system's custom place. InputError if none is known."""
    override = os.environ.get("RESTPOINT_DATA")
    if override:
        return Path(override)
    try:
        return Path(platformdirs.user_data_dir("restpoint", appauthor=False))
    except RuntimeError as error:
        raise InputError(words.NO_HOME) from error


def log_folder() -> Path:
    """The folder of log and crash files, beside the records when those are overridden."""
    override = os.environ.get("RESTPOINT_DATA")
    if override:
        return Path(override) / "log"
    try:
        return Path(platformdirs.user_log_dir("restpoint", appauthor=False))
    except RuntimeError:  # nobody's home: a log there is all the same
        return Path(tempfile.gettempdir()) / "restpoint-log"


def sheets_folder() -> Path:
    """The user's own model sheets."""
    return records_folder() / "sheets"


def walks_folder() -> Path:
    """Guided walks with devices that were taught."""
    return records_folder() / "walks"


def alone_folder() -> Path:
    """What is kept of units that are left alone at the moment."""
    return records_folder() / "alone"


def certificates_folder() -> Path:
    """Where certificates are written."""
    return records_folder() / "certificates"


def labels_folder() -> Path:
    """Where labels are written that the window is asked for."""
    return records_folder() / "labels"


def keys_folder() -> Path:
    """The bench's signing key and the public keys that are known here."""
    return records_folder() / "keys"


def pictures_folder() -> Path:
    """Where pictures of evidence are written."""
    return records_folder() / "pictures"
