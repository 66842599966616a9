"""`restpoint alone`: simulated units on a clock moved by hand are left alone, without a window and without records."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.app import paths
from station.app.commands.alone import leave
from station.app.shelf_of_sheets import SheetShelf
from station.capture.file import read_capture
from station.errors import InputError
from station.sheets.model import Sheet
from station.sources.port import DeviceInfo
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults

DESIGN = PadDesign("8bit", 125)


def unit(tag: str, *fault: faults.Fault) -> SimulatedSource:
    source = SimulatedSource(UnitSpec(DESIGN, 5, fault, tag), SimulatedHand(1.0, 1), realtime=False)
    source.advance(1.0)
    return source


def run(folder: Path, *units: SimulatedSource, minutes: float = 10.0) -> int:
    sources = {u.info.key: u for u in units}

    def opened(info: DeviceInfo, sheet: Sheet) -> SimulatedSource:
        return sources[info.key]

    devices = [u.info for u in units]
    return leave(devices, SheetShelf(paths.sheets_folder()), minutes, folder, opened, lambda: ())


def test_what_each_came_to_is_printed_and_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ghost = faults.closes_at_times("south", 31.0, 80.0, 7.0)
    assert run(tmp_path, unit("one"), unit("two", ghost)) == 1
    said = capsys.readouterr().out
    assert "swollen" in said.splitlines()[0]
    assert "moves by itself: 19 times" in said
    first, second = sorted(tmp_path.iterdir())
    assert (first.suffix, second.suffix) == (".npz", ".npz")
    assert [m.event for m in read_capture(second).marks] == ["begin", "end"]


def test_all_well_is_0(tmp_path: Path) -> None:
    assert run(tmp_path, unit("one")) == 0


@pytest.mark.parametrize("minutes", [9.9, 1e6])
def test_too_short_or_too_long_is_refused(tmp_path: Path, minutes: float) -> None:
    with pytest.raises(InputError, match="--minutes must be between 10 and 2160"):
        run(tmp_path, unit("one"), minutes=minutes)


def test_nothing_to_leave(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(InputError, match="No game controller"):
        run(tmp_path)
    one = unit("one")
    one._info = replace(one.info, problem="It is in use.")
    with pytest.raises(InputError):
        run(tmp_path, one)
    assert "left out: It is in use." in capsys.readouterr().out


def test_a_fault_guide_that_cannot_be_read_is_said_and_costs_no_caution(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fault_guide.toml").write_text("hazard = 5", "utf-8")
    monkeypatch.setattr(paths, "records_folder", lambda: tmp_path)
    assert run(tmp_path / "out", unit("one")) == 0
    first, second = capsys.readouterr().out.splitlines()[:2]
    assert "mend that entry" in first
    assert "swollen" in second
