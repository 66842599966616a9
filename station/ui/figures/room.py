"""The keys of the view of the shop's figures."""

from __future__ import annotations

from station.ui.figures.view import FiguresView
from station.ui.frame import Frame
from station.ui.ports import FiguresPort
from station.words import shop as words


class FiguresRoom:
    """Another table, the file of the one that is shown, and back."""

    def __init__(self, port: FiguresPort, frame: Frame, view: FiguresView) -> None:
        self._port, self._frame, self._view = port, frame, view

    def came(self) -> None:
        self._view.show_named("came")

    def claims(self) -> None:
        self._view.show_named("claims")

    def faults(self) -> None:
        self._view.show_named("faults")

    def cures(self) -> None:
        self._view.show_named("cures")

    def money(self) -> None:
        self._view.show_named("money")

    def standing(self) -> None:
        self._view.show_named("standing")

    def back(self) -> None:
        self._view.back()

    def stop(self) -> None:
        """Stop reading units, or go on with it."""
        if self._view.stopped:
            self._view.fill()
        elif self._view.reading is not None:
            self._port.stop()
        else:
            self._frame.say(words.NOTHING_TO_STOP)

    def keep_table(self) -> None:
        """Write the table, all rows of it."""
        view = self._view
        if view.ready is None or view.table is None or not view.table.rows:
            self._frame.say(words.NOTHING_TO_WRITE)
            return
        from station.lots.shop.said import table_csv

        content = table_csv(view.name, view.ready.figures, view.stands())
        self._port.keep_table(words.FILE.format(table=view.name), content)
