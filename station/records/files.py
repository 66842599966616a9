"""Files kept beside the records under their SHA-256: captures and photos. Written once, never changed."""

from __future__ import annotations

import errno
import hashlib
import io
import os
import re
import secrets
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from station.errors import InputError
from station.words import records as words

_SHA256 = re.compile(r"[0-9a-f]{64}")
_PICTURES = {b"\xff\xd8\xff": ".jpg", b"\x89PNG\r\n\x1a\n": ".png"}
MAX_PHOTO_BYTES = 50_000_000
SUFFIXES = {"captures": (".npz",), "photos": (".jpg", ".png", ".webp")}
"""folder → what the files in it end with"""


def is_sha256(text: str) -> bool:
    """Whether that is a SHA-256 as the records write it."""
    return _SHA256.fullmatch(text) is not None


def path_for(root: Path, sha256: str, suffix: str) -> Path:
    """root/ab/cd/abcd….suffix. InputError if that is no SHA-256."""
    if not is_sha256(sha256):
        raise InputError(words.NO_SUCH_FILE.format(sha256=sha256[:80]))
    return root / sha256[:2] / sha256[2:4] / (sha256 + suffix)


def places(root: Path, sha256: str, folder: str) -> Iterator[Path]:
    """Where in `root` the file of this hash may lie, `folder` being the kind. InputError if that is no SHA-256."""
    return (path_for(root, sha256, suffix) for suffix in SUFFIXES[folder])


def keep(root: Path, content: bytes, suffix: str) -> str:
    """Store the bytes and return their SHA-256; on the disk before this returns. Raises OSError."""
    sha256 = hashlib.sha256(content).hexdigest()
    target = path_for(root, sha256, suffix)
    if target.exists() and target.stat().st_size == len(content):
        return sha256
    target.parent.mkdir(parents=True, exist_ok=True)
    put_in_place(content, target)
    return sha256


def put_in_place(content: bytes, target: Path) -> None:
    """Write a file so that after a crash either all of it is there or none: temporary file, fsync, rename, fsync."""
    _put(io.BytesIO(content), target)


def copy_in_place(source: Path, target: Path) -> None:
    """The same with the content of another file, however large."""
    with source.open("rb") as content:
        _put(content, target)


def _put(content: BinaryIO, target: Path) -> None:
    temporary = target.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with temporary.open("xb") as file:
            shutil.copyfileobj(content, file, 1 << 20)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    sync_folder(target.parent)


class UnreadableError(Exception):
    """What is to be copied cannot be read: the fault is on that side."""


def copy_known(source: BinaryIO, target: Path, sha256: str, most: int) -> bool:
    """Put what `source` holds in place if it has this SHA-256 and no more than `most` bytes. UnreadableError, and
    OSError if it cannot be written."""
    temporary = target.with_name(f".{secrets.token_hex(8)}.part")
    found, left = hashlib.sha256(), most
    try:
        with temporary.open("xb") as file:
            while piece := _read(source):
                found.update(piece)
                left -= len(piece)
                if left < 0:
                    return False
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())
        if found.hexdigest() != sha256:
            return False
        temporary.replace(target)
    finally:
        temporary.unlink(missing_ok=True)
    sync_folder(target.parent)
    return True


def _read(source: BinaryIO) -> bytes:
    try:
        return source.read(1 << 20)
    except OSError as fault:
        raise UnreadableError from fault


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable, where the system can (POSIX; elsewhere the rename has to do)."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as fault:
        if fault.errno not in (errno.EINVAL, errno.ENOTSUP):  # a share that has no such thing for folders
            raise
    finally:
        os.close(handle)


def sweep(root: Path, older_than_s: float = 86_400) -> int:
    """Remove half-written files that a crash left; returns how many. Younger ones may be another station's."""
    before = time.time() - older_than_s
    left = [file for file in root.glob("*/*/.*.part") if file.stat().st_mtime < before]
    for file in left:
        file.unlink(missing_ok=True)
    return len(left)


def picture_suffix(content: bytes) -> str:
    """ ".jpg", ".png" or ".webp" by the first bytes. InputError for anything else or more than 50 MB."""
    if len(content) > MAX_PHOTO_BYTES:
        raise InputError(words.PHOTO_TOO_LARGE.format(megabytes=MAX_PHOTO_BYTES // 1_000_000))
    for magic, suffix in _PICTURES.items():
        if content.startswith(magic):
            return suffix
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return ".webp"
    raise InputError(words.NO_PHOTO)


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def is_whole(path: Path, sha256: str) -> bool:
    """Whether the file is the one that was kept under this hash; one that cannot be read is not."""
    try:
        return path.is_file() and sha256_of(path) == sha256
    except OSError:
        return False
