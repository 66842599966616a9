"""On which kind of disk a folder lies."""

from __future__ import annotations

import sys

import pytest

from station.records import place

# the fields of /proc/self/mountinfo as `man 5 proc` has them (read)
MOUNTS = r"""22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
30 22 0:40 / /home rw,relatime shared:2 - nfs4 server:/home rw,vers=4.2
31 22 0:41 / /mnt/a\040share rw - cifs //server/share rw
32 30 0:42 / /home/ines/local rw - ext4 /dev/sdb1 rw
33 22 0:43 / /media/pad rw - fuse.sshfs bench: rw
34 22 0:44 / /media/stick rw - fuseblk /dev/sdc1 rw
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/var/lib", "ext4"), ("/home", "nfs4"), ("/home/ines/records", "nfs4"), ("/homely", "ext4"),
        ("/mnt/a share/records", "cifs"), ("/home/ines/local/records", "ext4"), ("/media/pad", "fuse.sshfs"),
        ("/media/stick/x", "fuseblk"),
    ],
)  # fmt: skip
def test_the_mount_that_is_in_front_counts(folder: str, kind: str):
    assert place.file_system_of(folder, MOUNTS) == kind


@pytest.mark.parametrize(
    ("kind", "shared"),
    [("nfs", 1), ("nfs4", 1), ("cifs", 1), ("smb3", 1), ("fuse.sshfs", 1), ("ext4", 0), ("fuseblk", 0), ("tmpfs", 0),
     ("overlay", 0), ("btrfs", 0), ("", 0)],
)  # fmt: skip
def test_what_a_network_share_is(kind: str, shared: int, tmp_path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(place, "file_system_of", lambda folder, table: kind)
    if sys.platform != "linux":
        pytest.skip("told by Linux's table of mounts")
    assert place.shared_by_network(tmp_path) == (kind if shared else "")
