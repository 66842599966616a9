"""A sale with its day and costs, and what comes back, by the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from conftest import UNIT
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from workbench import Workbench

from station.records.types import Lot, Treatment, Unit
from station.ui.panels.record import UnitPanel
from station.ui.panels.selling import ComebackPanel, FoundPanel
from station.ui.window import MainWindow

K = Qt.Key
SHIFT = Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
Press = Callable[..., None]
Write = Callable[..., None]


def sold(desk: Workbench, tag: str = "SM-07-04") -> Unit:
    lot = desk.store.add_lot(Lot("", f"lot of {tag}", "2026-11-01"))
    unit = desk.store.add_unit(replace(UNIT, id="", tag=tag, serial=tag, lot_id=lot.id))
    desk.store.add_treatment(Treatment("", unit.id, "clean the sensor", ""))
    now = replace(desk.store.unit(unit.id), becomes="sold", sold_minor=3100, channel="market", fees_minor=310)
    return desk.store.change_unit(now)


def show(window: MainWindow, desk: Workbench, unit: Unit) -> None:
    window.bench.open_unit(desk.store.unit(unit.id))
    desk.settle(window)


def said(window: MainWindow) -> list[str]:
    return [label.text() for label in window.record.findChildren(QLabel) if label.text()]


def test_a_sale_has_its_day_channel_and_costs(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    sold(desk, "SM-07-01")
    lot = desk.store.add_lot(Lot("", "SM-08", "2026-11-01"))
    unit = desk.store.add_unit(replace(UNIT, id="", lot_id=lot.id))
    show(window, desk, unit)
    press(window, K.Key_B)
    panel = window.panel
    assert isinstance(panel, UnitPanel)
    assert not panel.sold_on.isVisible(), "asked of a sale alone"
    press(window, K.Key_6)
    assert panel.sold_on.isVisible()
    assert panel.channel.text() == "market", "where the last unit was sold"
    press(window, K.Key_Tab)
    write(window, "29.50")
    for text in (None, None, "2.95", "4.50"):  # day and channel stay
        press(window, K.Key_Tab)
        if text:
            write(window, text)
    press(window, K.Key_Return)
    now = desk.store.unit(unit.id)
    assert (now.becomes, now.sold_minor, now.sold_on, now.channel, now.fees_minor, now.shipping_minor) == (
        "sold", 2950, desk.desk.units.today().isoformat(), "market", 295, 450,
    )  # fmt: skip


def coming_back(window: MainWindow, desk: Workbench, press: Press, unit: Unit) -> ComebackPanel:
    """The panel of a sold unit that came back."""
    show(window, desk, unit)
    press(window, K.Key_B, SHIFT)
    assert isinstance(window.panel, ComebackPanel)
    return window.panel


def test_a_sold_unit_comes_back_and_that_is_undone_with_one_key(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    unit = sold(desk)
    panel = coming_back(window, desk, press, unit)
    assert panel.refund.text() == "31.00", "the whole price unless somebody types less"
    press(window, K.Key_Return)
    assert window.panel is panel, "without a reason it stays open"
    write(window, "drifts again")
    press(window, K.Key_Return)
    (back,) = desk.store.history(unit.id).comebacks
    assert (back.reason, back.refund_minor, back.sold_minor, back.found) == (
        "drifts again",
        3100,
        3100,
        "not looked at",
    )
    assert desk.store.unit(unit.id).becomes == "open"
    assert any("came back: drifts again (not looked at yet)" in text for text in said(window))
    press(window, K.Key_Z, CONTROL)
    assert desk.store.unit(unit.id) == unit


def test_more_than_the_price_is_not_refunded(window: MainWindow, desk: Workbench, press: Press, write: Write) -> None:
    panel = coming_back(window, desk, press, sold(desk))
    write(window, "x")
    panel.refund.setText("31.01")
    press(window, K.Key_Return)
    assert window.panel is panel
    assert panel.refund.hasFocus()


def test_what_was_found_is_said_later_with_the_cure_that_did_not_hold(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    unit = sold(desk)
    show(window, desk, unit)
    press(window, K.Key_B, SHIFT)
    write(window, "drifts again")
    press(window, K.Key_Return)
    press(window, K.Key_B, SHIFT)
    panel = window.panel
    assert isinstance(panel, FoundPanel)
    assert not panel.rows.cure.isVisible()
    press(window, K.Key_2)
    assert panel.rows.cure.isVisible()
    press(window, K.Key_Return)
    (back,) = desk.store.history(unit.id).comebacks
    (treatment,) = desk.store.treatments_of(unit.id)
    assert (back.found, back.treatment_id) == ("same fault", treatment.id)
    press(window, K.Key_Z, CONTROL)
    assert [c.found for c in desk.store.history(unit.id).comebacks] == ["not looked at"]


def test_where_cures_come_back_a_longer_rest_is_proposed(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    for tag in ("SM-07-01", "SM-07-02"):
        unit = sold(desk, tag)
        show(window, desk, unit)
        press(window, K.Key_B, SHIFT)
        write(window, "again")
        assert isinstance(window.panel, ComebackPanel)
        window.panel.rows.found.choose(1)
        press(window, K.Key_Return)
    assert "2 of 2 units that were sold after “clean the sensor” came back with the same fault" in window.foot.text()
    assert "a rest of 7 days" in window.foot.text()


def test_what_is_not_sold_does_not_come_back(window: MainWindow, desk: Workbench, press: Press) -> None:
    unit = desk.store.add_unit(UNIT)
    show(window, desk, unit)
    press(window, K.Key_B, SHIFT)
    assert window.panel is None
    assert "is not sold" in window.foot.text()


def test_a_day_before_the_sale_keeps_the_panel_open_with_what_was_typed(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    panel = coming_back(window, desk, press, sold(desk))
    write(window, "drifts again")
    panel.at.setText("2026-11-24")
    press(window, K.Key_Return)
    assert window.panel is panel
    assert panel.at.hasFocus()
    assert panel.reason.text() == "drifts again"
    assert any("It was sold on 2026-11-25" in text for text in panel.labels())


def test_the_cure_that_is_proposed_was_done_before_the_sale(
    window: MainWindow, desk: Workbench, press: Press, write: Write
) -> None:
    unit = sold(desk)
    (cure,) = desk.store.treatments_of(unit.id)
    desk.clock.move(days=5)
    show(window, desk, unit)
    press(window, K.Key_B, SHIFT)
    write(window, "drifts again")
    press(window, K.Key_Return)
    desk.store.add_treatment(Treatment("", unit.id, "adjust", ""))
    show(window, desk, unit)
    press(window, K.Key_B, SHIFT)
    assert isinstance(window.panel, FoundPanel)
    window.panel.rows.found.choose(1)
    press(window, K.Key_Return)
    (back,) = desk.store.history(unit.id).comebacks
    assert (back.found, back.treatment_id) == ("same fault", cure.id)
