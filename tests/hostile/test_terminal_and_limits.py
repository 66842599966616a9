"""What is shown on a terminal, what is typed, and what ends when there is no room, no home and no memory."""

from __future__ import annotations

import csv
import json
import os
import shlex
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from station import SAMPLE_UNITS
from station.app import paths
from station.app.devices import open_device
from station.app.main import main
from station.app.own_key import own_key_file
from station.app.sent_reports import refuse_unasked
from station.app.shelf_of_sheets import SheetShelf
from station.app.shell import shell_word
from station.capture.file import make_block, read_capture, write_capture
from station.capture.text import unseen, visible
from station.certificate import keys
from station.certificate.keys import KnownKey
from station.checks.types import Outcome
from station.errors import DeviceDenied, InputError, RecordError, SheetError
from station.evidence import assess
from station.records import chain
from station.records.export import _guarded
from station.records.store import Store
from station.records.types import Lot, Note, ShelfPart, Treatment, Unit
from station.sheets.load import load_sheet, parse_sheet
from station.sources.port import DeviceInfo
from tests.records.records_kit import a_unit, open_store

SHEET = (SAMPLE_UNITS / "plover_t2.toml").read_text("utf-8")


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    return tmp_path / "records"


@pytest.fixture
def store(records: Path):
    with open_store(records) as opened:
        yield opened


def say(capsys, *arguments: object) -> tuple[int, str, str]:
    capsys.readouterr()
    status = main([str(a) for a in arguments])
    return status, *capsys.readouterr()


# --- signs that cannot be seen ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("SM-07-\u202e10", "SM-07-‹202E›10"),
        ("SM-01\u200b", "SM-01‹200B›"),
        ("\x1b[31mred", "‹001B›[31mred"),
        ("a\u2028b\udcff", "a‹2028›b‹DCFF›"),
        ("two\nlines\tü – 中", "two\nlines\tü – 中"),
    ],
)
def test_signs_that_cannot_be_seen_are_shown_by_their_number(text: str, shown: str):
    assert (visible(text), visible(shown)) == (shown, shown)
    assert bool(unseen(text)) == (text != shown)


@pytest.mark.parametrize("sign", ["\u202e", "\u200b", "\u2066", "\u00ad", "\ufeff"])
def test_they_are_refused_in_tags_serials_and_names(store: Store, sign: str):
    unit = store.add_unit(a_unit("SM-01"))
    for entered in (
        lambda: store.add_unit(a_unit(f"SM-{sign}02")),
        lambda: store.add_unit(replace(a_unit("SM-03"), serial=f"1{sign}2")),
        lambda: store.change_unit(replace(unit, model=f"Plover{sign} T2")),
        lambda: store.add_lot(Lot("", f"SM{sign}", "2026-03-02")),
        lambda: store.add_shelf_part(ShelfPart("", f"a{sign}b", "Plover T2", 1)),
        lambda: store.set_setting("person", f"I{sign}nes"),
    ):
        with pytest.raises(InputError, match="cannot be seen"):
            entered()
    assert [u.tag for u in store.units()] == ["SM-01"]


def test_what_is_there_already_is_shown_kept_and_can_be_put_right(store: Store):
    """As an older version or another bench wrote it."""
    unit = store.add_unit(a_unit("SM-01"))
    with store._writing() as entry:
        row = {**vars_of(unit), "tag": "SM-07-\u202e10", "claim": "left\u200bstick"}
        entry.db.execute("UPDATE units SET tag = :tag, claim = :claim, changed_at = :at WHERE id = :id",
                         {**row, "at": entry.at})  # fmt: skip
        entry.log(chain.Logged.UNIT_CHANGED, unit.id, now=row)
        entry.db.execute("UPDATE units SET search_text = ? WHERE id = ?", (search(row), unit.id))
    seen = store.unit(unit.id)
    assert (seen.tag, seen.claim) == ("SM-07-‹202E›10", "left‹200B›stick")
    store.change_unit(replace(seen, condition="worn"))
    store.add_treatment(Treatment("", unit.id, "adjust", ""))
    with store._reading() as db:
        assert db.execute("SELECT tag, claim FROM units").fetchone() == ("SM-07-\u202e10", "left\u200bstick")
    assert store.verify_log().faults == ()
    store.change_unit(replace(store.unit(unit.id), tag="SM-07-10"))
    assert [u.tag for u in store.units()] == ["SM-07-10"]


def vars_of(unit: Unit) -> dict[str, object]:
    return {name: getattr(unit, name) for name in unit.__slots__}


def search(row: dict[str, object]) -> str:
    from station.records.search import search_text

    return search_text(Unit(**row))  # type: ignore[arg-type]


# --- lengths and numbers ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "enter",
    [
        pytest.param(lambda s: s.add_unit(a_unit("x" * 3000)), id="a tag of 3,000 signs"),
        pytest.param(lambda s: s.add_unit(replace(a_unit(), serial="x" * 3000)), id="a serial number"),
        pytest.param(lambda s: s.add_unit(replace(a_unit(), claim="x" * 20_000)), id="a claim"),
        pytest.param(lambda s: s.add_unit(replace(a_unit(), sold_minor=10**20)), id="an amount of twenty digits"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM", "2026-03-02", cost_minor=10**20)), id="the cost of a lot"),
        pytest.param(lambda s: s.add_lot(Lot("", "n" * 500, "2026-03-02")), id="the name of a lot"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM", "20260101")), id="a day without hyphens"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM", "2026-W10-5")), id="a day of a week"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM", "٢٠٢٦-٠١-٠١")), id="a day in other digits"),
        pytest.param(lambda s: s.add_lot(Lot("", "SM", "2026-01-01 x")), id="a day and more"),
        pytest.param(lambda s: s.add_note(Note("", s.add_unit(a_unit()).id, "", "x" * 20_000)), id="a note"),
    ],
)
def test_what_is_too_much_is_refused_where_it_enters(store: Store, enter):
    with pytest.raises(InputError):
        enter(store)
    assert store.verify_log().faults == ()


def test_a_search_that_is_no_text_finds_nothing(store: Store):
    store.add_unit(a_unit())
    assert store.units("\udcff\x00") == store.units("")


@pytest.mark.parametrize("number", ["1" + "0" * 400, "-1" + "0" * 400, "1e400"])
def test_a_limit_of_four_hundred_digits_is_refused(number: str):
    with pytest.raises(SheetError):
        parse_sheet(f"{SHEET}\n[limits.rest]\noffset = [1.0, {number}]\n", "sheet")


def test_a_sheet_with_a_byte_order_mark_is_read(tmp_path: Path):
    (tmp_path / "s.toml").write_text(SHEET, encoding="utf-8-sig")
    assert load_sheet(tmp_path / "s.toml").name == parse_sheet(SHEET, "s").name


def test_an_empty_capture_is_not_done(tmp_path: Path):
    empty = replace(read_capture(SAMPLE_UNITS / "SM-07-06.npz"), block=make_block([], []))
    (tmp_path / "empty.npz").write_bytes(write_capture(empty))
    done = assess.assess_file(tmp_path / "empty.npz")
    assert {c.assessment.outcome for c in done.checks} == {Outcome.NOT_DONE}
    assert done.checks


def test_a_capture_that_takes_all_memory_ends_in_one_sentence(monkeypatch: pytest.MonkeyPatch, capsys):
    def no_memory(*of: object) -> object:
        raise MemoryError

    monkeypatch.setattr(assess, "assess_capture", no_memory)
    status, _, err = say(capsys, "assess", SAMPLE_UNITS / "SM-07-06.npz")
    assert (status, err.count("\n"), "more memory" in err) == (2, 1, True)


# --- spreadsheets -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("=1+1", "'=1+1"),
        ("\r=1", "'\r=1"),
        ("\n =1", "'\n =1"),
        ("＝1", "'＝1"),
        ("＋1", "'＋1"),
        ("a;=1", "a;'=1"),
        ("a\t@x;-2", "a\t'@x;'-2"),
        ("SM-07", "SM-07"),
        ("a, b", "a, b"),
    ],
)
def test_no_cell_begins_as_a_formula(text: str, safe: str):
    assert _guarded(text) == safe


def test_the_csv_files_are_guarded_and_the_json_is_exact(store: Store, tmp_path: Path):
    store.add_unit(replace(a_unit(), claim="x;＝1"))
    store.export(tmp_path / "out")
    with (tmp_path / "out" / "units.csv").open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.DictReader(file))["claim"] == "x;'＝1"
    told = json.loads((tmp_path / "out" / "records.json").read_text("utf-8"))
    assert told["tables"]["units"][0]["claim"] == "x;＝1"


# --- keys -------------------------------------------------------------------------------------------------


def a_key(folder: Path, name: str) -> KnownKey:
    return KnownKey(name, keys.bench_key(folder / "bench-p256.pem", folder, name).public)


def test_a_key_file_is_taken_only_with_a_fingerprint_told_by_another_way(records: Path, tmp_path: Path, capsys):
    key = a_key(tmp_path / "theirs", "Saltmarsh")
    file = tmp_path / "key.pem"
    file.write_text(keys.public_text(key), "utf-8")
    status, _, err = say(capsys, "key", "--trust", file)
    assert (status, "told you by another way" in err, key.fingerprint in err) == (2, True, False)
    assert say(capsys, "key", "--trust", file, "--fingerprint", "0000")[0] == 2
    assert say(capsys, "key", "--trust", file, "--fingerprint", key.fingerprint)[0] == 0


def test_a_key_file_whose_own_line_names_another_fingerprint_is_refused(records: Path, tmp_path: Path, capsys):
    one, other = (a_key(tmp_path / name, "Saltmarsh") for name in ("one", "other"))
    file = tmp_path / "key.pem"
    file.write_text(keys.public_text(one).replace(one.fingerprint, other.fingerprint), "utf-8")
    for told in (one, other):
        status, _, err = say(capsys, "key", "--trust", file, "--fingerprint", told.fingerprint)
        assert (status, "fingerprint" in err) == (2, True)
    assert not keys.known_keys(paths.keys_folder())


def test_a_name_that_is_known_with_another_key_is_not_taken(records: Path, tmp_path: Path, capsys):
    one, other = (a_key(tmp_path / name, "Saltmarsh") for name in ("one", "other"))
    for key, status in ((one, 0), (other, 2)):
        file = tmp_path / "key.pem"
        file.write_text(keys.public_text(key), "utf-8")
        found, _, err = say(capsys, "key", "--trust", file, "--fingerprint", key.fingerprint)
        assert found == status
    assert "is known here with another key" in err
    assert list(keys.known_keys(paths.keys_folder())) == [one.public]


def test_the_private_key_lies_beside_the_records_not_in_them(records: Path, capsys):
    assert say(capsys, "key", "--new")[0] == 0
    assert own_key_file() == records.with_name("records-keys") / "bench-p256.pem"
    assert not [p for p in records.rglob("*") if p.is_file() and b"PRIVATE KEY" in p.read_bytes()]


def test_a_key_of_an_earlier_version_is_moved_and_stays_the_same(records: Path, capsys):
    old = keys.bench_key(records / "keys" / "bench-p256.pem", records / "keys", "b")
    shutil.copy(records / "keys" / "bench-p256.pem", records / "keys" / "bench-set-aside-0.pem")
    assert old.fingerprint in say(capsys, "key")[1]
    assert not list((records / "keys").glob("bench*.pem"))
    moved = ["bench-certificate.pem", "bench-p256.pem", "bench-set-aside-0.pem"]
    assert sorted(p.name for p in own_key_file().parent.iterdir()) == moved


def test_a_key_that_signed_before_says_once_that_the_new_one_stands_in_its_place(records: Path, capsys):
    former = Ed25519PrivateKey.generate()
    pem = former.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    (records / "keys").mkdir(parents=True, exist_ok=True)
    (records / "keys" / keys.FORMER).write_bytes(pem)
    assert say(capsys, "key")[0] == 0
    key = keys.bench_key(own_key_file(), paths.keys_folder(), "b")
    assert key.fingerprint in say(capsys, "key")[1]
    assert key.succession is not None
    assert key.succession.former == former.public_key().public_bytes_raw()
    line = f"restpoint-succession 1 {key.succession.former.hex()} {key.public.hex()}\n"
    former.public_key().verify(key.succession.signature, line.encode())
    assert own_key_file().with_name(keys.FORMER).read_bytes() == pem
    assert say(capsys, "key", "--new")[0] == 0
    assert keys.bench_key(own_key_file(), paths.keys_folder(), "b").succession is None


def test_a_damaged_key_of_before_is_told_and_never_replaced(records: Path):
    secret = own_key_file()
    secret.parent.mkdir(parents=True, exist_ok=True)
    secret.with_name(keys.FORMER).write_bytes(b"torn")
    with pytest.raises(RecordError, match="is damaged"):
        keys.bench_key(secret, paths.keys_folder(), "b")
    assert not secret.exists()


def test_a_new_key_for_which_there_is_no_room_leaves_the_one_in_force(
    records: Path, monkeypatch: pytest.MonkeyPatch, capsys
):
    secret, folder = own_key_file(), paths.keys_folder()
    old = keys.bench_key(secret, folder, "b")

    def full(*of: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as now:
        now.setattr(os, "fsync", full)
        with pytest.raises(RecordError, match="stays"):
            keys.renew(secret, folder, "b")
    assert keys.bench_key(secret, folder, "b").public == old.public
    assert sorted(p.name for p in secret.parent.iterdir()) == ["bench-certificate.pem", "bench-p256.pem"]
    assert keys.renew(secret, folder, "b").public != old.public


# --- the terminal ---------------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform == "win32", reason="the shell of POSIX")
@pytest.mark.parametrize(
    "name",
    ["a.pdf", "a b.pdf", "$(touch x).pdf", "a'b`c`.pdf", "-x.pdf", "two\nlines\x1b[2J.pdf", "b\udcff.pdf", "ü.pdf"],
)
def test_a_line_for_the_shell_names_that_file_and_nothing_else(name: str):
    word = shell_word(Path(name))
    assert word.isprintable()
    told = subprocess.run(["bash", "-c", f"printf %s {word}"], capture_output=True, check=True).stdout
    assert told.removeprefix(b"./") == os.fsencode(name)
    assert shlex.quote("a b.pdf") == shell_word(Path("a b.pdf"))


def test_the_name_of_a_file_moves_no_cursor(records: Path, tmp_path: Path, capsys):
    status, _, err = say(capsys, "verify", tmp_path / "x\x1b[2J\n\u202egenuine.pdf")
    assert (status, err.count("\n"), err.rstrip("\n").isprintable()) == (2, 1, True)


def run(*arguments: object, **how: object) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "station.app.main", *map(str, arguments)]
    return subprocess.run(command, check=False, capture_output="stdout" not in how, **how)  # type: ignore[call-overload,no-any-return]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device that is always full")
def test_output_that_cannot_be_written_has_a_status_of_its_own(tmp_path: Path):
    environment = {**os.environ, "RESTPOINT_DATA": str(tmp_path)}
    with open("/dev/full", "wb") as full:
        done = run("key", env=environment, stdout=full, stderr=subprocess.PIPE)
        assert (done.returncode, done.stderr.count(b"\n"), b"could not be written" in done.stderr) == (74, 1, True)
        assert run("key", env=environment, stdout=full, stderr=full).returncode == 74


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device that is always full")
@pytest.mark.parametrize("asked", ["--version", "--help", "verify --help"])
def test_help_that_cannot_be_written_says_so_too(tmp_path: Path, asked: str):
    with open("/dev/full", "wb") as full:
        done = run(*asked.split(), stdout=full, stderr=subprocess.PIPE)
    assert (done.returncode, done.stderr.count(b"\n"), b"could not be written" in done.stderr) == (74, 1, True)


@pytest.mark.skipif(os.name != "posix", reason="a shell that can close an output")
@pytest.mark.parametrize(
    "command",
    ["--version", "--help", "key", "log verify", "assess {}", "assess --json {}", "verify {}", "verify --json {}"],
)
def test_an_output_that_is_closed_is_one_that_takes_nothing(records: Path, tmp_path: Path, command: str):
    open_store(records).close()
    given = SAMPLE_UNITS / "SM-07-06.npz"
    if command.startswith("verify"):
        shutil.copy(
            Path(__file__).parents[1] / "certificate" / "signed_before" / "version_4.pdf", given := tmp_path / "x.pdf"
        )
    line = f"exec {shlex.quote(sys.executable)} -m station.app.main {command.format(shlex.quote(str(given)))} >&-"
    done = subprocess.run(["sh", "-c", line], check=False, stderr=subprocess.PIPE)
    assert (done.returncode, done.stderr.count(b"\n"), b"could not be written" in done.stderr) == (74, 1, True)
    assert subprocess.run(["sh", "-c", f"{line} 2>&-"], check=False).returncode == 74


def test_without_a_home_it_says_what_to_give(monkeypatch: pytest.MonkeyPatch, capsys):
    def homeless(*of: object, **more: object) -> str:
        raise RuntimeError("could not determine the home directory")

    monkeypatch.delenv("RESTPOINT_DATA", raising=False)
    for name in ("user_data_dir", "user_log_dir"):
        monkeypatch.setattr(f"platformdirs.{name}", homeless)
    status, _, err = say(capsys, "key")
    assert (status, err.count("\n"), "--records" in err) == (2, 1, True)


# --- what a sheet sends -----------------------------------------------------------------------------------------


def test_what_a_sheet_from_elsewhere_sends_is_shown_and_asked_about_once(records: Path, capsys):
    folder = paths.sheets_folder()
    folder.mkdir(parents=True)
    text = SHEET.replace("open = []", 'open = ["05 01 ff"]').replace("Plover T2", "From elsewhere")
    (folder / "e.toml").write_text(text, "utf-8")
    sheet = SheetShelf(folder).named("From elsewhere")
    info = DeviceInfo("nowhere", 0x1209, 1, "Plover T2", "", "usb", b"")
    with pytest.raises(DeviceDenied, match="05 01 ff"):
        open_device(info, sheet, records / "journal")
    assert say(capsys, "devices", "--allow", "Nobody's")[0] == 2
    assert say(capsys, "devices", "--allow", "From elsewhere")[0] == 0
    refuse_unasked(sheet)
    (folder / "e.toml").write_text(text.replace("05 01 ff", "05 01 fe"), "utf-8")
    with pytest.raises(DeviceDenied, match="05 01 fe"):
        refuse_unasked(SheetShelf(folder).named("From elsewhere"))
    for shipped in SheetShelf(folder / "none").sheets():
        refuse_unasked(shipped)


def test_of_what_a_sheet_sends_at_great_length_the_beginning_is_shown(records: Path):
    reports = [f'"{number:02x}{"5a" * 2000}"' for number in range(30)]
    sheet = parse_sheet(SHEET.replace("open = []", f"open = [{', '.join(reports)}]"), "x.toml")
    with pytest.raises(
        DeviceDenied, match=r"00 5a .*… \(2001 bytes\), 01 5a.*14 more, to be seen in its file"
    ) as caught:
        refuse_unasked(sheet)
    assert len(str(caught.value)) < 4000


@pytest.mark.parametrize("number", [f"0x{'f' * 5000}", "9" * 400], ids=["hex", "decimal"])
@pytest.mark.parametrize("entry", ["[limits.rest]\noffset = [{}, 8]", "[[part]]\nname = {}", "[limits]\nrest = {}"])
def test_a_number_of_thousands_of_digits_in_a_sheet_is_one_sentence(number: str, entry: str):
    with pytest.raises(SheetError, match=r"^x\.toml") as caught:
        parse_sheet(f"{SHEET}\n{entry.format(number)}\n", "x.toml")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 400
