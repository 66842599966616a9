"""What becomes of a tag that was scanned: its unit is opened, or taken in. A scan begins nothing and ends nothing."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit

from station.records.types import Unit
from station.ui.arrival import ArrivalStrip
from station.ui.bench import BenchRoom
from station.ui.frame import Frame, Shown
from station.ui.panels.panel import Panel, takes_tag
from station.ui.panels.stock import NewUnitPanel
from station.ui.ports import StockPort, UnitPort
from station.ui.tags import by_age, lot_at_hand
from station.words import scans as words


class ScanRoom:
    """Opens units by their scanned tags, whatever is in front.

    A panel in which something was typed stays, and says so; any other gives way. A check that runs goes on, and the
    record of the scanned unit is shown beside it, as U does. `panel`: the one that is open; `lot_in_front`: that of the
    Lots view while it is in front; `hold_on`: let no check begin by itself.
    """

    def __init__(
        self,
        units: UnitPort,
        stock: StockPort,
        frame: Frame,
        shown: Shown,
        bench: BenchRoom,
        arrival: ArrivalStrip,
        *,
        panel: Callable[[], Panel | None],
        lot_in_front: Callable[[], str | None],
        hold_on: Callable[[], None],
    ) -> None:
        self._units, self._stock, self._frame, self._shown = units, stock, frame, shown
        self._bench, self._arrival = bench, arrival
        self._panel, self._lot_in_front, self._hold_on = panel, lot_in_front, hold_on

    def scanned(self, tag: str, ended: bool) -> None:
        """A scanner typed this; `ended`: with an Enter."""
        unit = self._unit(tag)
        if self._shown.lesson is not None:
            self._frame.say(words.LESSON_FIRST.format(tag=tag))
        elif self._into_field(tag, known=unit is not None) or not self._panel_gives_way(tag):
            return
        elif unit is not None:
            self._open(unit)
        elif not ended:
            self._frame.say(words.WITHOUT_ENTER.format(tag=tag))
        else:
            self._take_in(tag)

    def _unit(self, tag: str) -> Unit | None:
        return next((u for u in self._units.find(tag) if u.tag.casefold() == tag.casefold()), None)

    def _into_field(self, tag: str, *, known: bool) -> bool:
        """A field that asks for the tag of a new unit gets it."""
        panel = self._panel()
        field = panel.window().focusWidget() if panel is not None else None
        if not known and panel is not None and panel.tag_field is not None:
            panel.tag_field.setText(tag)
            return True
        if known or panel is None or not isinstance(field, QLineEdit) or not takes_tag(field):
            return False
        field.setText(tag)
        panel.focusNextPrevChild(True)
        return True

    def _panel_gives_way(self, tag: str) -> bool:
        panel = self._panel()
        if panel is None:
            return True
        if panel.unsaved():
            panel.say(words.PANEL_FIRST.format(tag=tag))
            return False
        panel.close_panel()
        return True

    def _open(self, unit: Unit) -> None:
        on_bench = self._shown.visit_unit()
        if on_bench is not None and on_bench.id == unit.id:
            self._bench.open_unit(unit)
            self._frame.say(words.IS_ON_BENCH.format(tag=unit.tag))
            return
        if not self._shown.checking:
            self._hold_on()
            self._bench.bring(unit)
        self._bench.open_unit(unit)
        if self._arrival.asks_for_tag() and not self._shown.checking:
            self._arrival.fill_tag(unit.tag)
        if on_bench is not None and self._shown.checking:
            self._frame.say(words.CHECK_GOES_ON.format(tag=unit.tag, on_bench=on_bench.tag))
        else:
            self._frame.say(words.TAG_OPEN.format(tag=unit.tag))

    def _take_in(self, tag: str) -> None:
        """A tag that nobody has: of the device that is asked about, else of a unit to write up."""
        if self._shown.checking:
            self._frame.say(words.CHECK_FIRST.format(tag=tag))
            return
        self._hold_on()
        if self._arrival.asks_for_tag():
            self._frame.show_view("bench")
            self._arrival.fill_tag(tag)
            return
        units = by_age(self._units.find())
        lot_id = lot_at_hand(tag, units, self._lot_in_front(), self._shown.unit)
        lots = self._stock.lots()
        lot = next((x for x in lots if x.id == lot_id), None)
        self._frame.open_panel(
            lambda look, over: NewUnitPanel(
                self._units, tag, lots, lot, look, over, first="claim", made=self._bench.open_when_written
            )
        )
