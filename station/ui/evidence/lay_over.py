"""The question which other try to lay over the one that is shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QWidget

from station.evidence.laid_over import OtherTry, other_told
from station.records.types import Unit
from station.ui.painting.look import Look
from station.ui.painting.widgets import ChoiceList
from station.ui.panels.panel import Panel
from station.words import common
from station.words import evidence_room as words

MOST, MOST_OF_UNIT = 9, 5
"""so many are offered, each with its digit, and of those so many of the unit itself"""


def offered(mine: Sequence[OtherTry], good: Sequence[OtherTry], under_cursor: str) -> tuple[OtherTry, ...]:
    """Those to choose from, what to propose first. `mine`: of the unit, what to compare with first; `under_cursor`: id
    of the result that the person pointed at."""
    pointed = sorted(mine, key=lambda other: other.result.id != under_cursor)
    own = pointed[: MOST_OF_UNIT if good else MOST]
    return (*own, *good[: MOST - len(own)])


class LayOverPanel(Panel):
    """The tries of the unit, then those of good units of its model."""

    width_px = 560
    keys = words.LAY_OVER_KEYS

    def __init__(
        self,
        others: Sequence[OtherTry],
        unit: Unit,
        wanted: Callable[[OtherTry], None],
        look: Look,
        parent: QWidget,
    ) -> None:
        """`unit`: the one that is shown."""
        super().__init__(words.LAY_OVER, look, parent)
        self._others, self._wanted = tuple(others), wanted
        self.list = ChoiceList([self._said(other, unit) for other in others], look)
        self.add(self.list, focus=True)
        self.finish(self.list)

    def _said(self, other: OtherTry, unit: Unit) -> str:
        outcome = common.OUTCOMES[other.result.assessment.outcome.value]
        return words.OTHER_TRY.format(visit=other_told(other, unit), outcome=outcome)

    def commit(self) -> None:
        self._wanted(self._others[self.list.chosen])
