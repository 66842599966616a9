"""`restpoint certificates`, and `restpoint verify` with the list that it writes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from station.app import paths
from station.records.types import Issued
from tests.app.test_verify_command import a_certificate, be_the_buyer, say
from tests.records.records_kit import open_store

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def seller(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "seller"))
    return tmp_path / "seller"


def issued() -> list[Issued]:
    with open_store(paths.records_folder()) as store:
        return list(store.certificates())


def withdraw(one: Issued, reason: str = "the wrong serial number") -> None:
    with open_store(paths.records_folder()) as store:
        store.withdraw("certificate", one.id, reason, "Ines")


def test_it_lists_every_number_with_what_it_is_now(seller: Path, capsys) -> None:
    open_store(paths.records_folder()).close()
    assert say(capsys, "certificates")[1].strip() == "No certificate was written here yet."
    for _ in range(2):
        a_certificate()
    first, second = issued()
    withdraw(second)
    status, out, _ = say(capsys, "certificates")
    assert status == 0
    one, two = out.splitlines()
    assert one.startswith(first.name)
    assert one.endswith(f"SM-07-04  replaced by {second.name}")
    assert two.endswith("SM-07-04  withdrawn: the wrong serial number")


def test_a_buyer_is_told_that_a_certificate_was_withdrawn(seller: Path, tmp_path: Path, monkeypatch, capsys) -> None:
    written, sent = a_certificate(), tmp_path / "sent.pdf"
    sent.write_bytes(written.path.read_bytes())
    before, after, key = tmp_path / "before.json", tmp_path / "after.json", tmp_path / "key.pem"
    assert say(capsys, "certificates", "--to", before)[0] == 0
    withdraw(issued()[0])
    assert say(capsys, "certificates", "--to", after)[0] == 0
    say(capsys, "key", "--write", key)

    be_the_buyer(tmp_path, monkeypatch)
    status, out, _ = say(capsys, "verify", after)
    assert (status, out.splitlines()[0]) == (1, f"unknown key: {after}")
    assert say(capsys, "key", "--trust", key, "--fingerprint", written.fingerprint, "--name", "Saltmarsh")[0] == 0
    status, out, _ = say(capsys, "verify", after)
    assert (status, out.splitlines()[0]) == (0, f"genuine: {after}")
    assert "1 certificate: 0 genuine, 0 replaced, 1 withdrawn" in out
    assert say(capsys, "verify", sent)[0] == 0
    status, out, _ = say(capsys, "verify", sent, "--list", before)
    assert status == 0
    assert "it still holds" in out
    status, out, _ = say(capsys, "verify", sent, "--list", after)
    assert status == 1
    assert "WITHDRAWN: the wrong serial number. Do not rely on it." in out
    status, out, _ = say(capsys, "verify", sent, "--list", after, "--json")
    assert (status, json.loads(out)["list"]["state"]) == (1, "withdrawn")


@pytest.mark.parametrize("at", range(0, 2000, 97))
def test_a_list_with_a_byte_changed_is_not_genuine(seller: Path, tmp_path: Path, capsys, at: int) -> None:
    path = tmp_path / "list.json"
    if not path.exists():
        a_certificate()
        assert say(capsys, "certificates", "--to", path)[0] == 0
    data = bytearray(path.read_bytes())
    data[at % len(data)] ^= 1
    path.write_bytes(data)
    status, out, _ = say(capsys, "verify", path)
    assert status in (1, 2)
    assert not out.startswith("genuine")


def test_a_list_of_another_shop_says_nothing_of_a_certificate(
    seller: Path, tmp_path: Path, monkeypatch, capsys
) -> None:
    written = a_certificate()
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "other"))
    a_certificate()
    say(capsys, "certificates", "--to", tmp_path / "other.json")
    monkeypatch.setenv("RESTPOINT_DATA", str(seller))
    status, out, _ = say(capsys, "verify", written.path, "--list", tmp_path / "other.json")
    assert status == 0
    assert "signed with another key" in out


@pytest.mark.parametrize("text", ["{}", "hello", '{"algorithm":"x","format":"restpoint-certificate-list"}'])
def test_what_is_no_list_is_one_sentence(seller: Path, tmp_path: Path, capsys, text: str) -> None:
    written, path = a_certificate(), tmp_path / "list.json"
    path.write_text(text)
    status, _, err = say(capsys, "verify", written.path, "--list", path)
    assert status == 2
    assert len(err.strip().splitlines()) == 1
