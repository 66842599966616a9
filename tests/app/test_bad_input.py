"""Bad input: one sentence that says what to do, exit status 2, and nothing recorded is lost."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from station import RESOURCES, SAMPLE_UNITS
from station.app import paths
from station.app.commands.devices import lines
from station.app.main import main
from station.app.shelf_of_sheets import SheetShelf
from station.errors import DeviceError, SheetError
from station.hid.descriptor import parse_descriptor
from station.sheets.load import load_sheet
from station.sources.port import DeviceInfo
from station.sources.simulated.design import PadDesign
from tests.records.records_kit import open_store

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = SAMPLE_UNITS / "SM-07-06.npz"


def one_line(capsys) -> str:
    """What was said on standard error: one line that begins with our name and ends a sentence."""
    said = capsys.readouterr().err
    assert said.startswith("restpoint: ")
    assert said.count("\n") == 1, said
    assert said.rstrip().endswith("."), said
    return said


def device(**changes: object) -> DeviceInfo:
    design = PadDesign("8bit")
    info = DeviceInfo("path", 0x1209, 0x000F, "Unheard-of pad", "", "usb", design.descriptor, (0x1_0005,))
    return replace(info, **changes)


@pytest.fixture
def shelf(tmp_path) -> SheetShelf:
    return SheetShelf(tmp_path / "sheets")


# --- captures -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "make"),
    [
        pytest.param("cut.npz", lambda data: data[: len(data) // 2], id="truncated"),
        pytest.param("empty.npz", lambda data: b"", id="empty"),
        pytest.param("text.npz", lambda data: b"not a capture at all", id="foreign"),
    ],
)
def test_a_capture_that_cannot_be_used_is_named_and_the_others_are_still_measured(tmp_path, capsys, name, make):
    bad = tmp_path / name
    bad.write_bytes(make(SAMPLE.read_bytes()))
    assert main(["assess", str(bad), str(SAMPLE), "--json"]) == 2
    captured = capsys.readouterr()
    assert name in captured.err
    assert captured.err.count("\n") == 1
    assert json.loads(captured.out)["outcome"] == "fail", "the good one was measured all the same"


def test_an_npz_of_another_program_is_refused(tmp_path, capsys):
    path = tmp_path / "other.npz"
    np.savez(path, data=np.arange(10))
    assert main(["assess", str(path)]) == 2
    assert "other.npz" in one_line(capsys)


def test_a_capture_that_is_not_there(tmp_path, capsys):
    assert main(["assess", str(tmp_path / "gone.npz")]) == 2
    assert "gone.npz" in one_line(capsys)


# --- sheets -------------------------------------------------------------------------------------------


def test_a_sheet_with_a_usage_the_device_has_not(tmp_path, capsys):
    text = (SAMPLE_UNITS / "plover_t2.toml").read_text()
    sheet = tmp_path / "odd.toml"
    assert "[0x09, 5]" in text or "0x09" in text
    sheet.write_text(text.replace("usage = [0x01, 0x30]", "usage = [0x01, 0x38]", 1))
    assert main(["assess", str(SAMPLE), "--sheet", str(sheet)]) == 2
    said = one_line(capsys)
    assert "left_stick" in said
    assert "Wheel" in said


def test_a_sheet_that_is_not_toml(tmp_path, capsys):
    sheet = tmp_path / "broken.toml"
    sheet.write_text("[model\nname = 3")
    assert main(["assess", str(SAMPLE), "--sheet", str(sheet)]) == 2
    assert "broken.toml" in one_line(capsys)


def test_a_sheet_saved_from_the_window_is_found_again(shelf):
    drawn = shelf.know(device()).sheet
    assert drawn.drawn_up
    path = shelf.save(replace(drawn, name="../../etc/odd name"))
    assert path.parent.name == "sheets", "no name leaves the folder"
    assert load_sheet(path).name == "../../etc/odd name"
    again = shelf.know(device()).sheet
    assert not again.drawn_up
    assert [c.id for c in again.controls] == [c.id for c in drawn.controls]


# --- devices ------------------------------------------------------------------------------------------


def test_an_unknown_device_gets_a_sheet_from_its_descriptor(shelf):
    known = shelf.know(device())
    assert known.sheet.drawn_up
    assert {c.kind for c in known.sheet.controls} == {"stick", "trigger", "hat", "button"}


def test_a_device_without_a_descriptor_says_what_to_do(shelf):
    with pytest.raises(DeviceError, match=r"no report descriptor.*explicit fields.*\.$"):
        shelf.know(device(descriptor=b""))


def test_a_damaged_descriptor_says_where_and_what_to_do(shelf):
    with pytest.raises(DeviceError, match=r"byte \d+.*explicit fields.*\.$"):
        shelf.know(device(descriptor=PadDesign("8bit").descriptor[:-3]))


def test_a_descriptor_that_lies_about_sizes_loses_its_controls_not_the_program(shelf):
    """Reports shorter than announced carry fewer controls: those are unknown, nothing crashes."""
    known = shelf.know(device())
    width = next(r.width for r in parse_descriptor(device().descriptor).reports)
    from station.capture.file import make_block

    block = make_block([0, 1_000_000], [bytes(2), bytes(2)])
    assert width > 2
    signals = known.binding.signals(block)
    assert len(signals) < len(known.sheet.controls)


def test_a_sheet_with_explicit_fields_serves_a_device_without_a_descriptor(shelf, tmp_path):
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "bare.toml").write_text(
        'format = "restpoint-sheet"\nversion = 1\n[model]\nname = "Bare"\n'
        "match = [{ vendor_id = 0x1209, product_id = 0x000f }]\n[[control]]\n"
        'id = "fire"\nkind = "button"\nname = "Fire"\n'
        "at = { field = { report = 0, bit = 3, bits = 1, signed = false, min = 0, max = 1 } }\n"
    )
    assert shelf.know(device(descriptor=b"")).sheet.name == "Bare"


def test_no_permission_names_the_rule_to_install(shelf):
    from station.sources.problems import device_error

    problem = str(device_error("denied", "Plover T2", ""))
    said = "\n".join(lines(device(problem=problem), shelf))
    assert "70-restpoint.rules" in said
    assert (RESOURCES / "70-restpoint.rules").is_file()


# --- records ------------------------------------------------------------------------------------------


def test_records_of_a_newer_version_are_left_alone(capsys):
    with open_store(paths.records_folder()) as store:
        path = store.path
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 999")
    db.close()
    before = path.read_bytes()
    assert main(["log", "verify"]) == 2
    assert "newer" in one_line(capsys)
    assert path.read_bytes() == before


# --- display ------------------------------------------------------------------------------------------


def test_without_a_display_the_window_says_what_to_do_instead():
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    if not sys.platform.startswith("linux"):
        pytest.skip("other systems always have a display")
    done = subprocess.run(
        [sys.executable, "-m", "station.app.main"], env=env, cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    assert done.stderr.startswith("restpoint: There is no display")
    assert done.stderr.count("\n") == 1


def test_a_toml_file_of_another_program_is_no_sheet():
    with pytest.raises(SheetError, match=r"\.$"):
        load_sheet(ROOT / "pyproject.toml")
