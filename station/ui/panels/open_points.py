"""What of a unit is open, said where it is sold or certified; and the question before an unfinished certificate."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from station.judgement.standing import Standing
from station.judgement.tries import Key
from station.records.types import Issued
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList, plain_label
from station.ui.panels.panel import Panel
from station.words import figures, grammar
from station.words import open_points as words


def open_points(standing: Standing | None) -> tuple[str, ...]:
    """What is not tested, what was found faulty or borderline, and whether it rests; none where nothing is open."""
    if standing is None:
        return (words.NOT_DESCRIBED,)
    points = []
    if standing.missing:
        count, every = (figures.number(len(keys), 0) for keys in (standing.missing, standing.required))
        points.append(grammar.plural(len(standing.missing), words.NOT_TESTED).format(count=count, every=every))
    if standing.unnamed:
        many = len(standing.unnamed)
        points.append(grammar.plural(many, words.UNNAMED).format(count=figures.number(many, 0)))
    for keys, said in ((standing.failed, words.FAULTS), (standing.borderline, words.BORDERLINE)):
        if keys:
            points.append(grammar.plural(len(keys), said).format(count=figures.number(len(keys), 0)))
    if standing.rest_due:
        points.append(words.RESTS)
    return tuple(points)


def sold_as(standing: Standing | None) -> str:
    """What a sale would be of; "" where nothing is open."""
    points = open_points(standing)
    if not points:
        return ""
    kind = words.SOLD_AS[standing.kind if standing is not None else "incomplete"]
    return words.SALE_OPEN.format(kind=kind, points=" ".join(points))


MOST_SHOWN = 9
LookAt = Callable[[Key], None]


class CertificatePanel(Panel):
    """Asks once before a certificate is written that says incomplete, or takes the place of another, or while a check
    runs. What it will declare can be looked at first."""

    keys = words.CERTIFICATE_KEYS

    def __init__(
        self,
        tag: str,
        standing: Standing | None,
        checking: bool,
        replaces: Issued | None,
        write: Callable[[], None],
        names: Callable[[Key], str],
        look_at: LookAt,
        look: Look,
        parent: QWidget,
    ) -> None:
        """`names`: what a check of a control is called; `look_at`: open the reports behind it."""
        super().__init__(words.CERTIFICATE.format(tag=tag), look, parent)
        self._write, self._look_at = write, look_at
        told = (*standing.failed, *standing.borderline) if standing is not None else ()
        self._declared = told[:MOST_SHOWN]
        self.list = ChoiceList([names(key) for key in self._declared], look)
        for text in (words.CHECK_RUNS,) * checking + open_points(standing):
            self.add(plain_label(text, wrap=True))
        if replaces is not None:
            day = figures.day(replaces.at)
            self.add(plain_label(words.REPLACES.format(number=replaces.name, day=day), "bold", wrap=True))
        if standing is not None and standing.kind == "incomplete":
            self.add(plain_label(words.SAYS_INCOMPLETE, "caution", wrap=True))
        if self._declared:
            every = len(told) == len(self._declared)
            self.add(self.list, words.DECLARED if every else words.DECLARED_FIRST, focus=True)
            self._keys.setText(words.CERTIFICATE_KEYS_LOOK)
        self.finish(self.list if self._declared else self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_I and self._declared:
            chosen = self._declared[self.list.chosen]
            self.close_panel()
            self._look_at(chosen)
            return
        super().keyPressEvent(event)

    def commit(self) -> None:
        self._write()
