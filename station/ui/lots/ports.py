"""What the window may ask about lots. `app` implements it; see `ports.Desk`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from station.lots.view import LotView
from station.records.types import Lot, ShelfPart, Unit


@dataclass(frozen=True, slots=True)
class LotChanged:
    """The picture of this lot was worked out anew."""

    lot_id: str


@dataclass(frozen=True, slots=True)
class LotAnswer:
    """What is known of a lot (None: nothing yet), and whether it is up to date; a `LotChanged` follows if not."""

    view: LotView | None = None
    fresh: bool = False


class LotDesk(Protocol):
    """The part of the desk that keeps lots."""

    def lot_states(self) -> Mapping[str, Mapping[str, int]]:
        """Lot id → what its units became → how many."""
        ...

    def units_of_lot(self, lot_id: str) -> Sequence[Unit]: ...
    def lot_answer(self, lot_id: str) -> LotAnswer: ...
    def change_lot(self, lot: Lot) -> None: ...
    def give_up(self, unit: Unit, parts: Sequence[ShelfPart], reason: str) -> None:
        """Make the unit a donor and put its parts on the shelf, both or neither."""
        ...
