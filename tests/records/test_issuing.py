"""The numbers of certificates: one after the other, none twice, none left out."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from station.errors import InputError
from station.records.issuing import name_of
from station.records.store import Store
from station.records.types import Issued
from tests.records.records_kit import a_unit, open_store

SHA = "ab" * 32


def issue(store: Store, unit_id: str) -> Issued | None:
    number, name = store.next_certificate()
    return store.add_certificate(Issued("", unit_id, "", number, name, "", "Ines", SHA, SHA, "key"))


def test_numbers_follow_each_other_and_the_history_has_them(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        unit = store.add_unit(a_unit())
        found = [issue(store, unit.id) for _ in range(3)]
        assert [one.number for one in found if one] == [1, 2, 3]
        assert store.history(unit.id).certificates == tuple(found)
        assert store.certificates() == tuple(found)
        assert store.verify_log().faults == ()


def test_a_number_that_was_taken_meanwhile_is_not_given_twice(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        unit = store.add_unit(a_unit())
        number, name = store.next_certificate()
        assert issue(store, unit.id) is not None
        assert store.add_certificate(Issued("", unit.id, "", number, name, "", "", SHA, SHA)) is None
        assert [one.number for one in store.certificates()] == [1]


def test_two_windows_at_once_leave_no_gap_and_no_double(tmp_path: Path) -> None:
    with open_store(tmp_path) as first, open_store(tmp_path) as second:
        unit = first.add_unit(a_unit())

        def work(store: Store) -> None:
            done = 0
            while done < 20:
                done += issue(store, unit.id) is not None

        hands = [threading.Thread(target=work, args=(store,)) for store in (first, second)]
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join()
        assert [one.number for one in first.certificates()] == list(range(1, 41))


def test_a_withdrawn_certificate_stays_in_the_list_with_its_reason(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        unit = store.add_unit(a_unit())
        first, second = issue(store, unit.id), issue(store, unit.id)
        assert first
        assert second
        done = store.withdraw("certificate", first.id, "wrong photo", "Ines")
        assert store.history(unit.id).certificates == (second,)
        assert [w.entry for w in store.history(unit.id).withdrawn] == [first]
        assert {row: by.reason for row, by in store.withdrawn_certificates().items()} == {first.id: "wrong photo"}
        assert store.next_certificate()[0] == 3
        assert store.certificates(unit.id) == (first, second)
        assert list(store.withdrawn_certificates(unit.id)) == [first.id]
        assert (store.certificates("another"), store.withdrawn_certificates("another")) == ((), {})
        store.take_back(done.id, "it was right", "Ines")
        assert store.history(unit.id).certificates == (first, second)
        with pytest.raises(InputError):
            store.withdraw("certificate", first.id, " ")


def test_those_of_a_withdrawn_unit_are_withdrawn_with_it(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        unit = store.add_unit(a_unit())
        issued = issue(store, unit.id)
        assert issued
        store.withdraw("unit", unit.id, "never was here")
        assert {row: by.reason for row, by in store.withdrawn_certificates().items()} == {issued.id: "never was here"}
        assert store.certificates() == (issued,)


def test_two_benches_keep_their_own_numbers_when_they_merge(tmp_path: Path) -> None:
    with open_store(tmp_path / "a") as here, open_store(tmp_path / "b") as there:
        ours, theirs = here.add_unit(a_unit()), there.add_unit(a_unit("SM-08-01"))
        mine, others = issue(here, ours.id), [issue(there, theirs.id) for _ in range(2)]
        there.withdraw("certificate", others[0].id, "twice")  # type: ignore[union-attr]
        here.merge(tmp_path / "b")
        assert set(here.certificates()) == {mine, *others}
        assert len({one.name for one in here.certificates()}) == 3
        assert list(here.withdrawn_certificates()) == [others[0].id]  # type: ignore[union-attr]
        assert here.next_certificate()[0] == 2
        assert here.verify_log().faults == ()


def test_a_number_is_printed_with_the_bench_before_it() -> None:
    assert name_of("01957b2c-3c1a-7d20-9f3e-5a6b7c8d9e0f", 42) == "8D9E0F-00042"
