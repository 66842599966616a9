"""Units that belong to no lot are reckoned in the shop's currency: by program, accounts, figures and views."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from station.app import paths
from station.app.accounts import accounts_of, every_lot
from station.app.main import main
from station.records.store import Store
from station.records.types import Comeback, Lot, Treatment, Unit
from station.ui.record.rows import comeback_words, withdrawable
from tests.records.records_kit import HandClock, open_store


@pytest.fixture
def store(tmp_path: Path):
    with open_store(tmp_path / "records", clock=HandClock("2026-11-28T10:00:00+00:00")) as opened:
        yield opened


def _sold(store: Store, lot: Lot | None) -> Unit:
    """Treated at 5.00 francs, sold for 31.00 and back, and sold once more for 28.00."""
    unit = store.add_unit(Unit("", "A-1" if lot is None else "B-1", "Plover T2", lot.id if lot is not None else None))
    store.add_treatment(Treatment("", unit.id, "clean the sensor", "", cost_minor=500, currency="CHF"))
    store.change_unit(replace(store.unit(unit.id), becomes="sold", sold_minor=3100))
    store.come_back(Comeback("", unit.id, "", "drifts", refund_minor=3100))
    return store.change_unit(replace(store.unit(unit.id), becomes="sold", sold_minor=2800))


def _in_views(store: Store, tag: str) -> list[tuple[object, ...]]:
    with store._connections.reading() as db:
        asked = "SELECT currency, parts_minor, profit_minor FROM unit_money WHERE tag = ?1"
        asked_back = "SELECT currency, sold_minor, lost_minor FROM returns WHERE tag = ?1"
        return [*db.execute(asked, (tag,)), *db.execute(asked_back, (tag,))]


def test_a_unit_of_no_lot_is_reckoned_in_the_currency_of_the_shop(store: Store):
    unit = _sold(store, None)
    assert _in_views(store, "A-1") == [("EUR", 0, 2800), ("EUR", 3100, 0)]
    store.set_setting("currency", "CHF")
    assert _in_views(store, "A-1") == [("CHF", 500, 2300), ("CHF", 3100, 0)]
    (account,) = accounts_of(store, every_lot(store)).units
    assert (account.sums.currency, account.sums.profit, account.others) == ("CHF", 2300, ())
    assert store.sales() == [("Plover T2", "CHF", 2, 1, 0)]
    history = store.history(unit.id)
    assert history.currency == "CHF"
    assert "CHF" in comeback_words(history.comebacks[0], history)
    assert any("CHF" in row.said for row in withdrawable(history) if row.what == "sale")
    store.set_setting("currency", "")
    assert store.history(unit.id).currency == "EUR", "nothing set is what ships"
    assert _in_views(store, "A-1") == [("EUR", 0, 2800), ("EUR", 3100, 0)]


def test_a_lot_keeps_its_currency_whatever_the_shop_counts_in_later(store: Store):
    lot = store.add_lot(Lot("", "B", "2026-11-01", currency="USD"))
    unit = _sold(store, lot)
    store.set_setting("currency", "CHF")
    assert _in_views(store, "B-1") == [("USD", 0, 2800), ("USD", 3100, 0)]
    assert store.history(unit.id).currency == "USD"
    assert store.sales() == [("Plover T2", "USD", 2, 1, 0)]


def test_another_currency_tells_which_amounts_count_in_it_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    with open_store(paths.records_folder(), clock=HandClock("2026-11-28T10:00:00+00:00")) as store:
        assert store.loose_with_money() == 0
        _sold(store, None)
    capsys.readouterr()
    assert main(["set", "hour", "21"]) == 0
    assert "no lot" not in capsys.readouterr().out
    assert main(["set", "currency", "CHF"]) == 0
    assert "The amounts of 1 unit in no lot count in it too" in capsys.readouterr().out
