"""A sale with its day, channel and costs, and a sold unit that comes back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.errors import InputError
from station.records.store import Store
from station.records.types import Comeback, Issued, Lot, Treatment, Unit
from tests.records.records_kit import HandClock, open_store

SHA = "ab" * 32


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path / "records", clock=HandClock("2026-11-28T10:00:00+00:00")) as opened:
        yield opened


def sold(store: Store, tag: str = "A-1", **sale: object) -> Unit:
    """A treated unit that was sold."""
    lot = store.add_lot(Lot("", f"lot of {tag}", "2026-11-01"))
    unit = store.add_unit(Unit("", tag, "Plover T2", lot.id))
    store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    values = {"sold_minor": 3100, "channel": "market", "fees_minor": 310, "shipping_minor": 450, **sale}
    return store.change_unit(replace(store.unit(unit.id), becomes="sold", **values))  # type: ignore[arg-type]


def back(unit: Unit, **what: object) -> Comeback:
    return Comeback("", unit.id, "2026-11-28", "drifts again", refund_minor=3100, **what)  # type: ignore[arg-type]


def test_a_sale_without_a_day_is_of_today_and_a_day_that_is_given_stands(store: Store):
    assert sold(store).sold_on == "2026-11-28"
    assert sold(store, "A-2", sold_on="2026-11-20").sold_on == "2026-11-20"


def test_what_comes_back_is_open_and_keeps_the_sale_it_undoes(store: Store):
    unit = sold(store)
    added = store.come_back(back(unit, cost_minor=520))
    assert (added.sold_minor, added.sold_on, added.channel, added.fees_minor, added.shipping_minor) == (
        3100, "2026-11-28", "market", 310, 450,
    )  # fmt: skip
    assert added.lost_minor == 310 + 450 + 520, "the whole price was paid back"
    now = store.unit(unit.id)
    assert (now.becomes, now.sold_minor, now.sold_on, now.channel, now.fees_minor) == ("open", 0, "", "", 0)
    assert store.history(unit.id).comebacks == (added,)
    assert store.verify_log().faults == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"refund_minor": 3101}, "More than the price"),
        ({"refund_minor": -1}, "A refund cannot be -1"),
        ({"found": "whatever"}, "does not say what was found"),
        ({"at": "yesterday"}, "is no day of a return"),
        ({"treatment_id": "01a22413-6952-7987-81a5-1631ed0231cf"}, "not one of this unit"),
    ],
)
def test_what_cannot_be_changes_nothing(store: Store, change: dict[str, object], said: str):
    unit = sold(store)
    with pytest.raises(InputError, match=said):
        store.come_back(replace(back(unit), **change))  # type: ignore[arg-type]
    assert store.unit(unit.id) == unit
    assert store.history(unit.id).comebacks == ()


def test_what_is_not_sold_does_not_come_back(store: Store):
    unit = store.add_unit(Unit("", "A-1", "Plover T2"))
    with pytest.raises(InputError, match="is not sold"):
        store.come_back(back(unit))


def test_a_return_is_withdrawn_and_comes_back_once_more(store: Store):
    unit = sold(store)
    added = store.come_back(back(unit))
    done = store.withdraw("comeback", added.id, "another parcel")
    assert store.unit(unit.id) == unit, "sold again as it was"
    assert store.history(unit.id).comebacks == ()
    store.take_back(done.id, "it was this one")
    assert store.unit(unit.id).becomes == "open"
    assert [c.id for c in store.history(unit.id).comebacks] == [added.id]
    assert store.verify_log().faults == ()


def test_a_return_of_what_was_sold_again_is_not_withdrawn(store: Store):
    unit = sold(store)
    added = store.come_back(back(unit))
    store.change_unit(replace(store.unit(unit.id), becomes="sold", sold_minor=2500))
    with pytest.raises(InputError, match="was sold again since"):
        store.withdraw("comeback", added.id, "another parcel")
    store.come_back(replace(back(unit), refund_minor=0))
    assert [c.sold_minor for c in store.history(unit.id).comebacks] == [3100, 2500]


def test_what_was_found_is_said_later_and_the_cure_is_named(store: Store):
    unit = sold(store)
    (treatment,) = store.treatments_of(unit.id)
    first = store.come_back(back(unit))
    assert (first.found, first.treatment_id) == ("not looked at", None)
    now = store.look_at_comeback(first.id, "same fault")
    assert (now.found, now.treatment_id, now.sold_minor) == ("same fault", treatment.id, 3100)
    assert store.history(unit.id).comebacks == (now,)
    assert [w.by.reason for w in store.history(unit.id).withdrawn] == ["looked at since: same fault"]
    with pytest.raises(InputError, match="already"):
        store.look_at_comeback(now.id, "same fault")
    with pytest.raises(InputError, match="withdrawn already"):
        store.look_at_comeback(first.id, "nothing found")
    other = store.look_at_comeback(now.id, "another fault")
    assert (other.found, other.treatment_id) == ("another fault", None)
    assert store.unit(unit.id).becomes == "open", "what is found changes nothing of the unit"
    assert store.verify_log().faults == ()


def test_the_withdrawal_of_a_sale_takes_its_costs_with_it(store: Store):
    unit = sold(store)
    store.withdraw_sale(unit.id, "not paid")
    now = store.unit(unit.id)
    assert (now.sold_minor, now.sold_on, now.channel, now.fees_minor, now.shipping_minor) == (0, "", "", 0, 0)


def test_sales_returns_and_held_cures_are_counted(store: Store):
    units = [sold(store, f"A-{k}") for k in range(4)]
    store.come_back(back(units[0], cost_minor=100, found="same fault"))
    store.come_back(replace(back(units[1]), refund_minor=1000))
    store.change_unit(replace(store.unit(units[0].id), becomes="sold", sold_minor=2500))
    assert store.sales() == [("Plover T2", "EUR", 5, 2, 310 + 450 + 100 + 310 + 450 - 2100)]
    assert store.held("clean the sensor") == (4, (0,))
    assert store.held("resolder") == (0, ())
    assert store.channels() == ("market",)


def test_a_return_comes_out_alike_on_every_bench(tmp_path: Path):
    clock = HandClock("2026-11-28T10:00:00+00:00")
    with open_store(tmp_path / "a", clock=clock) as a, open_store(tmp_path / "b", clock=clock) as b:
        unit = sold(a)
        b.merge(tmp_path / "a")
        added = b.come_back(back(unit))
        told: list[str] = []
        a.merge(tmp_path / "b", lambda preview: bool(told.extend(preview.lines()) or True))
        assert "Unit A-1: what becomes of it becomes “open” (here “sold”)." in told
        now = a.look_at_comeback(added.id, "same fault")
        b.merge(tmp_path / "a", lambda preview: bool(told.extend(preview.lines()) or True))
        assert "Unit A-1: a return by the buyer is withdrawn: looked at since: same fault." in told
        for store in (a, b):
            assert store.history(unit.id).comebacks == (now,)
            assert store.unit(unit.id).becomes == "open"
            assert store.verify_log().faults == ()


def test_a_unit_that_was_withdrawn_takes_its_returns_with_it(store: Store):
    unit = sold(store)
    store.come_back(back(unit))
    store.withdraw("unit", unit.id, "never ours")
    assert store.sales() == []


def test_its_certificate_is_withdrawn_with_it_and_holds_again_with_it(store: Store):
    unit = sold(store)
    number, name = store.next_certificate()
    issued = store.add_certificate(Issued("", unit.id, "", number, name, "", "Ines", SHA, SHA, "key"))
    assert issued is not None
    added = store.come_back(back(unit, certificate_id=issued.id))
    assert store.withdrawn_certificates()[issued.id].reason == "drifts again"
    done = store.withdraw("comeback", added.id, "another parcel")
    assert issued.id not in store.withdrawn_certificates()
    store.take_back(done.id, "it was this one")
    assert issued.id in store.withdrawn_certificates()
    other = sold(store, "A-2")
    with pytest.raises(InputError, match="certificate is not one of this unit"):
        store.come_back(back(other, certificate_id=issued.id))
    assert store.verify_log().faults == ()


def test_nothing_comes_back_before_it_was_sold(store: Store):
    unit = sold(store, sold_on="2026-11-29")
    with pytest.raises(InputError, match="was sold on 2026-11-29, so it cannot have come back before"):
        store.come_back(back(unit))
    assert store.unit(unit.id) == unit
    assert store.come_back(replace(back(unit), at="2026-11-29")).sold_minor == 3100


def test_of_two_returns_the_first_is_withdrawn_after_the_second(store: Store):
    """Else the unit would be sold to two buyers at once."""
    unit = sold(store)
    first = store.come_back(back(unit))
    store.change_unit(replace(store.unit(unit.id), becomes="sold", sold_minor=2500))
    second = store.come_back(replace(back(unit), refund_minor=2500))
    with pytest.raises(InputError, match="was sold again since and came back once more"):
        store.withdraw("comeback", first.id, "another parcel")
    assert [c.id for c in store.history(unit.id).comebacks] == [first.id, second.id]
    store.withdraw("comeback", second.id, "another parcel")
    with pytest.raises(InputError, match="was sold again since"):
        store.withdraw("comeback", first.id, "another parcel")
    store.withdraw_sale(unit.id, "another unit")
    store.withdraw("comeback", first.id, "another parcel")
    assert store.unit(unit.id).sold_minor == 3100
    assert store.verify_log().faults == ()


def test_a_certificate_that_was_withdrawn_before_keeps_no_return_out(store: Store):
    unit = sold(store)
    number, name = store.next_certificate()
    issued = store.add_certificate(Issued("", unit.id, "", number, name, "", "Ines", SHA, SHA, "key"))
    assert issued is not None
    store.withdraw("certificate", issued.id, "the wrong photo")
    added = store.come_back(back(unit, certificate_id=issued.id))
    assert added.certificate_id is None
    store.withdraw("comeback", added.id, "another parcel")
    assert store.withdrawn_certificates()[issued.id].reason == "the wrong photo", "that is another matter"


def test_the_cure_that_did_not_hold_was_done_before_the_sale(tmp_path: Path):
    clock = HandClock("2026-11-20T10:00:00+00:00")
    with open_store(tmp_path / "records", clock=clock) as store:
        unit = sold(store)
        (cure,) = store.treatments_of(unit.id)
        clock.move(days=8)
        first = store.come_back(back(unit))
        store.add_treatment(Treatment("", unit.id, "replace the sensor", ""))
        assert store.look_at_comeback(first.id, "same fault").treatment_id == cure.id
        assert store.held("clean the sensor") == (1, (8,))
        assert store.held("replace the sensor")[1] == ()
