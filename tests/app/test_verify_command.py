"""`restpoint verify` and `restpoint key`, as a seller and a buyer use them, each with records of their own."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from station.app import paths
from station.app.certify import Written, certify
from station.app.main import main
from station.app.own_key import own_key_file
from station.app.samples import demo_unit
from station.certificate.keys import known_keys
from station.checks.types import Assessment, Outcome
from station.records.types import Result
from station.sheets.model import Control, Place, Sheet
from tests.records.records_kit import open_store

SHEET = Sheet("Plover T2", controls=(Control("left_shoulder", "button", "Left shoulder", "top", at=Place(0x90001)),))


@pytest.fixture
def seller(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "seller"))
    return tmp_path / "seller"


def a_certificate() -> Written:
    with open_store(paths.records_folder()) as store:
        unit = next(iter(store.units("SM-07-04")), None) or store.add_unit(demo_unit("SM-07-04"))
        visit = store.start_visit(unit.id, "intake", "Ines", "bench 1", None)
        store.add_result(Result("", visit.id, "contact", "left_shoulder", 1, store.now(), Assessment(Outcome.PASS)))
        store.set_setting("bench", "Saltmarsh, bench 1")
        return certify(store, unit.id, SHEET, now=store.now())


def say(capsys, *arguments: object) -> tuple[int, str, str]:
    capsys.readouterr()
    status = main([str(a) for a in arguments])
    return status, *capsys.readouterr()


def be_the_buyer(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "buyer"))


def test_from_the_bench_to_the_buyer(qapp, seller, tmp_path, monkeypatch, capsys):
    """The way of a certificate: signed, sent, unknown at first, known with the key, found out when changed."""
    written = a_certificate()
    sent, key = tmp_path / "sent.pdf", tmp_path / "saltmarsh.pem"
    shutil.copy(written.path, sent)
    status, out, _ = say(capsys, "verify", sent)
    assert (status, out.splitlines()[0]) == (0, f"genuine: {sent}")
    assert "Signed by “Saltmarsh, bench 1”" in out
    assert say(capsys, "key", "--write", key)[0] == 0

    be_the_buyer(tmp_path, monkeypatch)
    status, out, _ = say(capsys, "verify", sent)
    assert (status, out.splitlines()[0]) == (1, f"unknown key: {sent}")
    assert written.fingerprint in out
    assert "restpoint key --trust" in out
    assert not (tmp_path / "buyer" / "restpoint.db").exists(), "a buyer has no records"
    status, out, _ = say(capsys, "key", "--trust", key, "--name", "Saltmarsh", "--fingerprint", written.fingerprint)
    assert (status, written.fingerprint in out) == (0, True)
    status, out, _ = say(capsys, "verify", sent, "--json")
    told = json.loads(out)
    assert (status, told["verdict"], told["key"]["known_as"]) == (0, "genuine", "Saltmarsh")
    assert told["certificate"]["tag"] == "SM-07-04"

    whole = sent.read_bytes()
    kept = whole.rfind(b"/Contents <")
    for changed in (whole.replace(b"%%EOF", b"%%FOE"), whole[:20] + bytes(kept - 20) + whole[kept:]):
        sent.write_bytes(changed)
        status, out, _ = say(capsys, "verify", sent)
        assert (status, out.splitlines()[0]) == (1, f"altered: {sent}"), "also where it can no longer be read"
    assert say(capsys, "key", "--forget", written.fingerprint)[0] == 0
    assert not known_keys(paths.keys_folder())


def test_a_key_is_taken_from_a_certificate_only_with_the_fingerprint_that_was_told(
    qapp, seller, tmp_path, monkeypatch, capsys
):
    written = a_certificate()
    be_the_buyer(tmp_path, monkeypatch)
    status, _, err = say(capsys, "key", "--trust", written.path, "--name", "Saltmarsh")
    assert (status, "told you by another way" in err) == (2, True)
    status, _, err = say(capsys, "key", "--trust", written.path, "--name", "S", "--fingerprint", "ba78 16bf")
    assert (status, "do not rely on it" in err) == (2, True)
    told = written.fingerprint.upper()
    assert say(capsys, "key", "--trust", written.path, "--name", "Saltmarsh", "--fingerprint", told)[0] == 0
    assert say(capsys, "verify", written.path)[0] == 0


def test_a_key_without_a_name_asks_for_one(qapp, seller, tmp_path, capsys):
    written = a_certificate()
    status, _, err = say(capsys, "key", "--trust", written.path, "--fingerprint", written.fingerprint)
    assert (status, "--name" in err) == (2, True)


def test_with_a_damaged_key_the_certificate_is_written_unsigned_and_says_so(qapp, seller, capsys):
    a_certificate()
    own_key_file().write_bytes(b"\0" * 100)
    written = a_certificate()
    assert written.fingerprint == ""
    assert "is damaged" in written.problem
    status, out, _ = say(capsys, "verify", written.path)
    assert (status, out.splitlines()[0]) == (1, f"not signed: {written.path}")
    status, _, err = say(capsys, "key")
    assert (status, "restpoint key --new" in err) == (2, True)
    assert say(capsys, "key", "--new", "--name", "Saltmarsh")[0] == 0
    assert say(capsys, "verify", a_certificate().path)[0] == 0


def test_the_key_is_in_no_export(qapp, seller, tmp_path, capsys):
    a_certificate()
    assert say(capsys, "export", tmp_path / "out")[0] == 0
    with open_store(seller) as store:
        backup = store.daily_backup()
    everything = [*(tmp_path / "out").rglob("*"), backup]
    assert not [path for path in everything if path.is_file() and b"PRIVATE KEY" in path.read_bytes()]


def test_key_without_a_key_says_how_one_comes(seller, capsys):
    status, out, _ = say(capsys, "key")
    assert (status, "first certificate makes one" in out) == (0, True)
    assert say(capsys, "key", "--write", seller / "x.pem")[0] == 2


def test_a_merged_bench_is_named_with_the_way_to_know_its_key(qapp, seller, tmp_path, monkeypatch, capsys):
    written = a_certificate()
    be_the_buyer(tmp_path, monkeypatch)
    with open_store(paths.records_folder()):
        pass
    status, out, _ = say(capsys, "merge", seller, "--yes")
    assert status == 0
    assert written.fingerprint in out
    (known,) = (seller / "keys" / "known").glob("*.pem")
    assert f"restpoint key --trust {known} --fingerprint" in out
    assert say(capsys, "key", "--trust", known, "--fingerprint", written.fingerprint)[0] == 0
    assert "restpoint key" not in say(capsys, "merge", seller, "--yes")[1]
    assert say(capsys, "verify", written.path)[0] == 0


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("missing.pdf", None, "cannot be read"),
        ("text.pdf", b"hello", "is no PDF"),
        ("torn.pdf", b"%PDF-1.6\nnothing", "cannot be checked"),
        ("big.pdf", b"%PDF-1.6\n" + bytes(33_000_000), "larger than any certificate"),
    ],
)
def test_what_cannot_be_read_is_one_sentence_and_2(tmp_path, capsys, name, data, said):
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    status, out, err = say(capsys, "verify", path)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_a_demos_certificate_says_whom_to_ask_about_its_key(tmp_path, monkeypatch, capsys):
    """It is by a key that nobody else knows; the sentence led to a seller who is none."""
    be_the_buyer(tmp_path, monkeypatch)
    example = Path(__file__).parents[2] / "docs" / "example-certificate.pdf"
    status, out, _ = say(capsys, "verify", example)
    assert (status, f"restpoint --records FOLDER verify {example}" in out) == (1, True)
    demo = tmp_path / "demo"
    sent = demo / "certificates" / "one.pdf"
    sent.parent.mkdir(parents=True)
    shutil.copy(example, sent)
    (demo / "restpoint.db").touch()
    assert f"restpoint --records {demo} verify {sent}" in say(capsys, "verify", sent)[1]
