"""A simulated unit that is left alone goes on after the program was closed and started again."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app.desk import StationDesk
from station.app.samples import demo_unit
from station.sources.simulated.samples import sample, sample_hand
from station.sources.simulated.source import SimulatedSource
from tests.records.records_kit import open_store

TAG = "SM-07-03"


def on_a_clock_moved_by_hand(tag: str) -> SimulatedSource:
    found = sample(tag)
    return SimulatedSource(found.spec, sample_hand(found), realtime=False)


def desk_in(folder: Path) -> StationDesk:
    made = StationDesk(open_store(folder), watch=False, plug_in_sample=on_a_clock_moved_by_hand)
    made.settle()
    made.live.take_events()
    return made


def test_a_simulated_unit_is_not_away_after_a_restart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))
    first = desk_in(tmp_path)
    unit = first._store.add_unit(demo_unit(TAG))
    first.devices.plug_in_sample(TAG)
    first.settle()
    (device,) = first.devices.devices()
    first.alone.leave(unit.id, device, "intake", 3600.0)
    first.settle()
    first.advance(30.0)
    assert [view.state for view in first.alone.views()] == ["watched"]
    first.close()
    again = desk_in(tmp_path)
    again.advance(15.0)
    (view,) = again.alone.views()
    assert view.tag == TAG
    assert view.state in ("settles", "watched")
    assert again.devices.devices() == (), "it is not at the front too"
    again.alone.end(view.id)
    again.advance(1.0)
    again.settle()
    again.live.take_events()
    assert not again.alone.views()
    again.close()
