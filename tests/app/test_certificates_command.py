"""`restpoint certificates`, and `restpoint verify` with the list that it writes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from station.app import paths
from station.app.main import main
from station.app.own_key import own_key_file
from station.certificate.keys import KnownKey, bench_key, trust
from station.certificate.register import read_register, register_json
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
    assert status == 1, "whoever asks a list is told 0 only where the list says that it holds"
    assert "signed with another key" in out
    told = json.loads(say(capsys, "verify", written.path, "--list", tmp_path / "other.json", "--json")[1])
    assert (told["verdict"], told["list"]) == ("genuine", {"state": "other_key"})


@pytest.mark.parametrize("text", ["{}", "hello", '{"algorithm":"x","format":"restpoint-certificate-list"}'])
def test_what_is_no_list_is_one_sentence(seller: Path, tmp_path: Path, capsys, text: str) -> None:
    written, path = a_certificate(), tmp_path / "list.json"
    path.write_text(text)
    status, _, err = say(capsys, "verify", written.path, "--list", path)
    assert status == 2
    assert len(err.strip().splitlines()) == 1


def signed_list(path: Path, shop: str, at: str, *, named: bool = True) -> Path:
    """A list by this bench's own key that says what it likes."""
    written = main_list(path.with_suffix(".true"))
    entries = read_register(written.read_bytes()).entries if named else ()
    key = bench_key(own_key_file(), paths.keys_folder(), shop)
    path.write_bytes(register_json(key, shop, at, entries))
    return path


def main_list(path: Path) -> Path:
    """The list as the bench writes it."""
    assert main(["certificates", "--to", str(path)]) == 0
    return path


def test_a_list_is_told_by_the_name_that_its_key_is_known_by_not_by_its_own(
    seller: Path, tmp_path: Path, capsys
) -> None:
    """Whoever is known for one thing must not sign in the name of another shop."""
    a_certificate()
    path = signed_list(tmp_path / "list.json", "Harbour Pads", "2026-03-12T10:00:00.000Z")
    key = read_register(path.read_bytes()).public
    trust(paths.keys_folder(), KnownKey("Saltmarsh", key))
    status, out, _ = say(capsys, "verify", path)
    assert (status, out.splitlines()[0]) == (0, f"genuine: {path}")
    assert "The list of “Saltmarsh”" in out
    assert "Harbour" not in out
    assert json.loads(say(capsys, "verify", path, "--json")[1])["key"]["known_as"] == "Saltmarsh"


def test_a_list_says_nothing_good_of_a_file_that_was_altered(seller: Path, tmp_path: Path, capsys) -> None:
    written, sent = a_certificate(), tmp_path / "sent.pdf"
    sent.write_bytes(written.path.read_bytes() + b"\n")
    status, out, _ = say(capsys, "verify", sent, "--list", main_list(tmp_path / "list.json"))
    assert (status, out.splitlines()[0]) == (1, f"altered: {sent}")
    assert "still holds" not in out


def test_a_later_list_that_leaves_a_certificate_out_is_told_from_an_earlier_one(
    seller: Path, tmp_path: Path, capsys
) -> None:
    written = a_certificate()
    early = signed_list(tmp_path / "early.json", "Saltmarsh", "2020-01-02T10:00:00.000Z", named=False)
    late = signed_list(tmp_path / "late.json", "Saltmarsh", "2999-01-02T10:00:00.000Z", named=False)
    status, out, _ = say(capsys, "verify", written.path, "--list", early)
    assert (status, "it was written later" in out) == (1, True)
    status, out, _ = say(capsys, "verify", written.path, "--list", late)
    assert (status, "ask the shop why" in out) == (1, True), "it ended as a genuine one does"
    assert json.loads(say(capsys, "verify", written.path, "--list", late, "--json")[1])["list"] == {"state": "left_out"}


def test_two_benches_of_a_shop_never_have_the_same_number_and_their_lists_are_told_apart(
    seller: Path, tmp_path: Path, monkeypatch, capsys
) -> None:
    """The other bench signs with a copy of the key: its list does not name this bench's certificate."""
    written = a_certificate()
    (here,) = issued()
    own = own_key_file()
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "other"))
    other = own_key_file()
    other.parent.mkdir(parents=True, exist_ok=True)
    other.write_bytes(own.read_bytes())
    a_certificate()
    (there,) = issued()
    assert (here.number, there.number) == (1, 1)
    assert here.name != there.name
    status, out, _ = say(capsys, "verify", written.path, "--list", main_list(tmp_path / "other.json"))
    assert status == 1
    assert f"none of its numbers begins with {here.name[:6]}; ask for the list of the bench" in out
    assert "do not rely" not in out
    assert say(capsys, "merge", seller, "--yes")[0] == 0
    status, out, _ = say(capsys, "verify", written.path, "--list", main_list(tmp_path / "both.json"))
    assert (status, "it still holds" in out) == (0, True), "one list of both benches, once the records are joined"


def test_a_replaced_certificate_ends_with_1_by_the_list(seller: Path, tmp_path: Path, capsys) -> None:
    written, _ = a_certificate(), a_certificate()
    status, out, _ = say(capsys, "verify", written.path, "--list", main_list(tmp_path / "list.json"))
    assert (status, "it was replaced by" in out) == (1, True)


def test_a_list_without_a_date_is_none(seller: Path, tmp_path: Path, capsys) -> None:
    """It would be printed as it stands."""
    written = a_certificate()
    path = signed_list(tmp_path / "list.json", "Saltmarsh", "\x1b[2J genuine")
    status, out, err = say(capsys, "verify", written.path, "--list", path)
    assert (status, len(err.strip().splitlines())) == (2, 1)
    assert "\x1b" not in out + err
