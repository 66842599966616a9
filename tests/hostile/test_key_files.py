"""Names that look like a known one, and files that the key would have been written over."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from station.app.main import main
from station.app.own_key import own_key_file
from station.certificate.keys import KnownKey, known_keys, public_text


@pytest.fixture
def known(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Records where “vm” is known, and the key file of another bench."""
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    for name in ("first", "second"):
        (tmp_path / f"{name}.pem").write_text(public_text(KnownKey("", made())), "utf-8")
    assert trust(tmp_path / "first.pem", "vm") == 0
    return tmp_path


def made() -> bytes:
    return Ed25519PrivateKey.generate().public_key().public_bytes_raw()


def trust(path: Path, name: str) -> int:
    digits = next(line for line in path.read_text("utf-8").splitlines() if line.startswith("fingerprint: "))
    return main(["key", "--trust", str(path), "--fingerprint", digits.removeprefix("fingerprint: "), "--name", name])


@pytest.mark.parametrize(
    "name",
    ["v\u200bm", "VM ", " vm", "\uff36\uff2d", "v\u034fm", "vm\u2800", "vm\u3164", "v\ufe0fm"],
    ids=ascii,
)
def test_a_name_that_looks_like_a_known_one_is_taken(known: Path, name: str, capsys):
    assert trust(known / "second.pem", name) == 2
    assert "is known here with another key" in capsys.readouterr().err


@pytest.mark.parametrize("name", [" ", "\u200b", "\u3164", "\u2800", "\u115f\u1160", "\uffa0", "\ufe0f"], ids=ascii)
def test_a_name_of_which_nothing_is_seen_is_none(known: Path, name: str, capsys):
    assert trust(known / "second.pem", name) == 2
    assert "It has to be said whose key this is" in capsys.readouterr().err
    assert len(known_keys(known / "records" / "keys")) == 1


def test_the_public_key_is_written_over_nothing_else(known: Path, capsys):
    assert main(["key", "--new"]) == 0
    secret = own_key_file()
    before = secret.read_bytes()
    (known / "notes.txt").write_text("mine", "utf-8")
    (known / "link.pem").symlink_to(secret)
    (known / "link2.pem").symlink_to(known / "first.pem")
    capsys.readouterr()
    for target in (secret, known / "notes.txt", known / "link.pem", known / "link2.pem"):
        assert main(["key", "--write", str(target)]) == 2, target
        assert "name another file" in capsys.readouterr().err
    assert (secret.read_bytes(), (known / "notes.txt").read_text("utf-8")) == (before, "mine")
    for _ in range(2):  # one that was written before gives way
        assert main(["key", "--write", str(known / "for buyers.pem")]) == 0
    assert main(["key", "--write", str(known)]) == 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_a_pipe_in_the_place_of_the_key_is_said(known: Path, capsys):
    own_key_file().parent.mkdir(parents=True, exist_ok=True)
    os.mkfifo(own_key_file())
    status: list[int] = []
    asked = threading.Thread(target=lambda: status.append(main(["key"])), daemon=True)
    asked.start()
    asked.join(20)
    assert status == [2]
    assert "no ordinary file" in capsys.readouterr().err
