"""Where the user's records, settings and logs live."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs


def records_folder() -> Path:
    """The folder of the records; RESTPOINT_DATA overrides the system's custom place."""
    override = os.environ.get("RESTPOINT_DATA")
    return Path(override) if override else Path(platformdirs.user_data_dir("restpoint", appauthor=False))


def log_folder() -> Path:
    """The folder of log and crash files, beside the records when those are overridden."""
    override = os.environ.get("RESTPOINT_DATA")
    return Path(override) / "log" if override else Path(platformdirs.user_log_dir("restpoint", appauthor=False))


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


def keys_folder() -> Path:
    """The bench's signing key and the public keys that are known here."""
    return records_folder() / "keys"
