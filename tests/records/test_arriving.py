"""Units that come in together: all or none, taken back as one."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.errors import InputError
from station.records.store import Store
from station.records.types import Lot, Note, Treatment, Unit
from tests.records.records_kit import HandClock, open_store

LOT = Lot("", "SM-08", "2026-11-28", source="market", postage_minor=690, expected=12)


def units(count: int = 3, stem: str = "SM-08") -> tuple[Unit, ...]:
    return tuple(
        Unit("", f"{stem}-{k:02}", "Plover T2", claim="drifts", accessories="cable", box="box", cost_minor=850)
        for k in range(1, count + 1)
    )


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path / "records", clock=HandClock()) as opened:
        yield opened


def test_they_come_into_a_new_lot_together_and_the_log_holds(store: Store):
    came = store.take_in(LOT, units())
    (lot,) = store.lots()
    assert lot == came.lot
    assert (lot.source, lot.postage_minor, lot.expected, lot.paid_minor) == ("market", 690, 12, 690)
    assert [(u.tag, u.box, u.cost_minor) for u in store.units_of_lot(lot.id)] == [
        (f"SM-08-0{k}", "box", 850) for k in (1, 2, 3)
    ]
    assert store.arrivals(lot) == (came,)
    assert store.verify_log().faults == ()


@pytest.mark.parametrize(
    "bad",
    [
        pytest.param(Unit("", "SM-08-01", "P"), id="a tag twice"),
        pytest.param(Unit("", "", "P"), id="no tag"),
        pytest.param(Unit("", "X", "P", box="crate"), id="no such box"),
        pytest.param(Unit("", "X", "P", cost_minor=-1), id="a price below nought"),
        pytest.param(Unit("", "y" * 100, "P"), id="a tag too long"),
    ],
)
def test_one_that_cannot_be_keeps_all_out(store: Store, bad: Unit):
    with pytest.raises(InputError):
        store.take_in(LOT, (*units(), bad))
    assert store.lots() == ()
    assert store.units() == ()
    assert store.verify_log().faults == ()


def test_all_is_taken_back_as_one_and_counts_again_as_one(store: Store):
    came = store.take_in(LOT, units())
    done = store.withdraw_arrival(came, "the wrong file", "Ines")
    assert (store.lots(), store.units(), store.tags_here()) == ((), (), ())
    again = store.take_in(LOT, units(2))
    with pytest.raises(InputError, match="SM-08-01 is on another unit"):
        store.take_back_all(done, "after all")
    store.withdraw_arrival(again, "once more")
    store.take_back_all(done, "after all")
    assert [unit.tag for unit in store.units_of_lot(came.lot.id)] == ["SM-08-01", "SM-08-02", "SM-08-03"]
    assert [lot.id for lot in store.lots()] == [came.lot.id]
    assert store.verify_log().faults == ()


def test_a_lot_that_was_there_before_stays(store: Store):
    lot = store.add_lot(LOT)
    came = store.take_in(lot, units())
    store.withdraw_arrival(came, "the wrong lot")
    assert store.lots() == (lot,)
    store.withdraw("lot", lot.id, "never bought")
    assert store.lots() == ()


def test_a_lot_that_was_written_on_since_stays(store: Store):
    came = store.take_in(LOT, units())
    store.change_lot(Lot(came.lot.id, "SM-08", "2026-11-28", cost_minor=9900))
    store.withdraw_arrival(came, "the wrong file")
    assert [lot.cost_minor for lot in store.lots()] == [9900]


def test_a_lot_with_units_is_not_withdrawn(store: Store):
    came = store.take_in(LOT, units())
    with pytest.raises(InputError, match="There are units in this lot"):
        store.withdraw("lot", came.lot.id, "never bought")


def test_what_was_worked_on_since_keeps_the_others(store: Store):
    came = store.take_in(LOT, units(12))
    store.add_note(Note("", came.units[2].id, "", "smells"))
    store.start_visit(came.units[4].id, "intake")
    store.add_treatment(Treatment("", came.units[5].id, "clean the sensor", ""))
    (arrival,) = store.arrivals(came.lot)
    assert arrival.worked_on == ("SM-08-03", "SM-08-05", "SM-08-06")
    with pytest.raises(InputError, match="SM-08-03, SM-08-05, SM-08-06"):
        store.withdraw_arrival(came, "the wrong file")
    assert len(store.units_of_lot(came.lot.id)) == 12


def test_units_written_up_one_by_one_came_not_together(store: Store):
    lot = store.add_lot(LOT)
    for unit in units():
        store.add_unit(Unit("", unit.tag, unit.model, lot.id))
    assert store.arrivals(lot) == ()


def test_it_comes_out_alike_on_every_bench(tmp_path: Path):
    """One bench withdraws the lot, the other has added a unit to it meanwhile: the unit keeps the lot in sight."""
    clock = HandClock()
    with open_store(tmp_path / "a", clock=clock) as a, open_store(tmp_path / "b", clock=clock) as b:
        came = a.take_in(LOT, units())
        b.merge(tmp_path / "a")
        b.add_unit(Unit("", "SM-08-09", "Plover T2", came.lot.id))
        a.withdraw_arrival(came, "the wrong file")
        assert a.lots() == ()
        b.merge(tmp_path / "a")
        a.merge(tmp_path / "b")
        for store in (a, b):
            assert [lot.name for lot in store.lots()] == ["SM-08"]
            assert [unit.tag for unit in store.units_of_lot(came.lot.id)] == ["SM-08-09"]
            assert store.verify_log().faults == ()


def test_a_lot_that_another_bench_withdrew_is_told_by_its_name(tmp_path: Path):
    clock = HandClock()
    with open_store(tmp_path / "a", clock=clock) as a, open_store(tmp_path / "b", clock=clock) as b:
        lot = a.add_lot(LOT)
        b.merge(tmp_path / "a")
        a.withdraw("lot", lot.id, "never bought")
        told: list[str] = []
        b.merge(tmp_path / "a", lambda preview: bool(told.extend(preview.lines()) or True))
        assert "Lot SM-08 is withdrawn: never bought." in told
        assert b.lots() == ()
