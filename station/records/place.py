"""Where records lie: what tells a place from others, and on which kind of disk it is. SQLite's write-ahead log is no
good on a disk that several computers share (https://www.sqlite.org/wal.html: "WAL does not work over a network
filesystem")."""

from __future__ import annotations

import hashlib
import platform
import re
from pathlib import Path

_OVER_A_NETWORK = re.compile(
    r"nfs\d?|cifs|smb\d?|smbfs|ncpfs?|afs|coda|ceph|lustre|gfs2|ocfs2|glusterfs|davfs\d?|afpfs|webdav|"
    r"fuse\.(sshfs|glusterfs|davfs2?|ceph|rclone|s3fs|smbnetfs|moosefs|curlftpfs)"
)
"""types as Linux and macOS name them (man 5 proc, mountinfo; man 8 mount)"""
FILE_NAME = "restpoint.db"
_ESCAPE = re.compile(r"\\([0-7]{3})")


def shared_by_network(folder: Path) -> str:
    """The type of the network share that holds the folder, such as "nfs4"; empty where it is none, or cannot be told
    (on macOS)."""
    if platform.system() == "Windows":
        return _on_windows(folder)
    try:
        table = Path("/proc/self/mountinfo").read_text("utf-8", "replace")
    except OSError:
        return ""
    kind = file_system_of(str(folder.resolve()), table)
    return kind if _OVER_A_NETWORK.fullmatch(kind) else ""


def file_system_of(folder: str, mountinfo: str) -> str:
    """The type of the file system that a path lies on, by the text of /proc/self/mountinfo; empty if none fits."""
    best, kind = -1, ""
    for line in mountinfo.splitlines():
        left, _, right = line.partition(" - ")
        fields, types = left.split(" "), right.split(" ")
        if len(fields) < 5 or not types[0]:
            continue
        point = _ESCAPE.sub(lambda m: chr(int(m[1], 8)), fields[4])
        within = folder == point or folder.startswith(point.rstrip("/") + "/")
        if within and len(point) >= best:  # of several at one place the last one is in front
            best, kind = len(point), types[0]
    return kind


def _on_windows(folder: Path) -> str:
    import ctypes

    root = folder.resolve().anchor
    remote = 4  # DRIVE_REMOTE, winbase.h
    windll = getattr(ctypes, "windll", None)
    is_remote = root.startswith("\\\\") or (windll is not None and windll.kernel32.GetDriveTypeW(root) == remote)
    return "smb" if is_remote else ""


def place_of(path: Path) -> str:
    """What tells this place from a copy of the file elsewhere: a digest of the computer's name and the path."""
    return hashlib.sha256(f"{platform.node()}\n{path.resolve()}".encode("utf-8", "surrogateescape")).hexdigest()[:32]
