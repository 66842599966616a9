"""A back-up that was put back knows less of certificates than what lies beside it: nothing of that is forgotten."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest

from station.app import paths
from station.app.known_beside import KEPT_LIST, beside, highest_number, told_of
from station.app.upkeep import Upkeep
from station.certificate.register import read_register
from station.ui.ports import Said
from tests.app.test_certificates_command import issued, main_list, withdraw
from tests.app.test_verify_command import a_certificate, say
from tests.records.records_kit import open_store

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def seller(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "seller"))
    return tmp_path / "seller"


def backed_up() -> Path:
    with open_store(paths.records_folder()) as store:
        return store.daily_backup()


def put_by_hand(back_up: Path) -> None:
    """As a copy of the whole disk puts it back: past the program, so that the bench stays the same."""
    shutil.copy(back_up, paths.records_folder() / "restpoint.db")


def states(path: Path) -> dict[str, str]:
    return {one.number: one.state for one in read_register(path.read_bytes()).entries}


def test_no_number_is_given_twice_after_a_copy_of_the_disk_was_put_back(seller: Path, capsys) -> None:
    """The third certificate would have had the number of the second, and its file's name."""
    a_certificate()
    back_up = backed_up()
    second = a_certificate()
    whole = second.path.read_bytes()
    put_by_hand(back_up)
    third = a_certificate()
    assert [one.number for one in issued()] == [1, 3]
    assert (third.path != second.path, second.path.read_bytes()) == (True, whole)
    status, out, _ = say(capsys, "certificates")
    assert "Missing or double" not in out, "its file says where the second is"
    assert status == 0
    assert "Issued after the back-up that these records come from" in out


def test_a_file_that_only_has_the_name_of_a_number_takes_none(seller: Path) -> None:
    first = a_certificate()
    prefix = issued()[0].name.rpartition("-")[0] + "-"
    shutil.copy(first.path, first.path.with_name(first.path.name.replace("00001", "00900")))
    first.path.with_name(f"SM-07-04-{prefix}00901.pdf").write_bytes(b"%PDF-1.6 nothing")
    assert highest_number(paths.certificates_folder(), prefix, 2) == 0
    a_certificate()
    assert [one.number for one in issued()] == [1, 2]


def test_after_a_restore_certificates_since_are_named_and_stay_in_the_list(
    seller: Path, tmp_path: Path, capsys
) -> None:
    a_certificate()
    back_up = backed_up()
    a_certificate()
    first, second = issued()
    status, out, _ = say(capsys, "restore", back_up.name)
    assert status == 0
    assert f"Issued after the back-up that these records come from: {second.name}." in out
    assert "must be entered again" in out
    assert states(main_list(tmp_path / "list.json")) == {first.name: "replaced", second.name: "genuine"}
    third = a_certificate()
    assert third.path.exists()
    assert list(states(main_list(tmp_path / "list.json")).values()) == ["replaced", "genuine", "replaced"]


def test_a_withdrawal_that_the_back_up_forgot_stays_in_the_list_and_is_told(
    seller: Path, tmp_path: Path, capsys
) -> None:
    a_certificate()
    back_up = backed_up()
    (one,) = issued()
    withdraw(one)
    main_list(tmp_path / "before.json")
    status, out, _ = say(capsys, "restore", back_up.name)
    said = f"{one.name} of SM-07-04 was withdrawn (the wrong serial number); these records do not know it."
    assert (status, said in out) == (0, True)
    assert states(main_list_of(tmp_path / "after.json", 1)) == {one.name: "withdrawn"}
    withdraw(one, "once more")
    assert states(main_list(tmp_path / "again.json")) == {one.name: "withdrawn"}
    assert say(capsys, "certificates")[0] == 0


def main_list_of(path: Path, status: int) -> Path:
    from station.app.main import main

    assert main(["certificates", "--to", str(path)]) == status
    return path


def test_a_withdrawal_that_was_taken_back_is_not_brought_up_again(seller: Path, tmp_path: Path, capsys) -> None:
    a_certificate()
    (one,) = issued()
    with open_store(paths.records_folder()) as store:
        done = store.withdraw("certificate", one.id, "wrong", "Ines")
    main_list(tmp_path / "list.json")
    with open_store(paths.records_folder()) as store:
        store.take_back(done.id, "it was right", "Ines")
    assert states(main_list(tmp_path / "list.json")) == {one.name: "genuine"}


def test_a_certificate_of_after_that_the_last_list_took_back_stays_taken_back(
    seller: Path, tmp_path: Path, capsys
) -> None:
    a_certificate()
    back_up = backed_up()
    a_certificate()
    second = issued()[1]
    withdraw(second)
    main_list(tmp_path / "before.json")
    say(capsys, "restore", back_up.name)
    assert states(main_list(tmp_path / "after.json"))[second.name] == "withdrawn"


def test_no_list_is_signed_that_looks_older_than_the_last_one(seller: Path, tmp_path: Path, capsys) -> None:
    a_certificate()
    kept = paths.certificates_folder() / KEPT_LIST
    from tests.app.test_certificates_command import signed_list

    late = signed_list(tmp_path / "late.json", "Saltmarsh", "2999-01-02T10:00:00.000Z")
    shutil.copy(late, kept)
    status, _, err = say(capsys, "certificates", "--to", tmp_path / "list.json")
    assert (status, len(err.strip().splitlines())) == (2, 1)
    assert "Set the clock" in err
    assert not (tmp_path / "list.json").exists()


@pytest.mark.parametrize("kept", [b"", b"{}", None])
def test_what_lies_there_and_is_none_of_ours_says_nothing(seller: Path, tmp_path: Path, monkeypatch, kept) -> None:
    """A list of another shop, or a certificate of one, that somebody put into the folder."""
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "other"))
    strange = a_certificate()
    other = main_list(tmp_path / "other.json")
    monkeypatch.setenv("RESTPOINT_DATA", str(seller))
    a_certificate()
    folder = paths.certificates_folder()
    shutil.copy(strange.path, folder / "strange.pdf")
    (folder / KEPT_LIST).write_bytes(other.read_bytes() if kept is None else kept)
    with open_store(seller) as store:
        found = beside(store, folder)
    assert told_of(found, folder) == ()
    assert (found.lost, found.listed_at) == ((), "")


def test_many_numbers_are_told_from_the_first_to_the_last(seller: Path) -> None:
    from station.app.known_beside import Beside
    from station.certificate.register import Entry

    many = tuple(Entry(f"8D9E0F-{n:05d}", "A", "2026-03-09T10:00:00Z", "", "", "", "genuine") for n in range(2, 40))
    (said,) = told_of(Beside(many), Path("certificates"))
    assert "38 certificates, 8D9E0F-00002 to 8D9E0F-00039" in said


def restored_in_the_window(name: str) -> list[Said]:
    """What the window says once its errand is done, each step of it in this thread."""
    with open_store(paths.records_folder()) as store:
        room, changes = SimpleNamespace(active=None), SimpleNamespace(all_changed=lambda: None)
        errand, answer = Upkeep(store, None, None, room, changes)._restore(name), None  # type: ignore[arg-type]
        while True:
            try:
                answer = errand.send(answer).work()
            except StopIteration as end:
                return [event for event in end.value if isinstance(event, Said)]


def test_the_window_says_that_a_back_up_forgot_certificates(seller: Path, capsys) -> None:
    a_certificate()
    back_up = backed_up()
    (said,) = restored_in_the_window(back_up.name)
    assert "Certificates" not in said.text
    a_certificate()
    (said,) = restored_in_the_window(back_up.name)
    assert said.bad
    assert "“restpoint certificates” names them" in said.text
