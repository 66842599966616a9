"""Which unit to go on with while the one that was plugged in cannot be read."""

from __future__ import annotations

from collections.abc import Collection

from station.records.store import Store
from station.records.types import Unit

OVER = ("donor", "sell as is", "scrap", "sold", "ready")
"""what became of a unit that nothing is to be tested on any more"""


def next_to_plug_in(store: Store, held: Unit | None, today: str, but: Collection[str]) -> Unit | None:
    """A unit that is ready for its second test; else the first of the same lot (that of the newest unit where `held` is
    not known) that was never tested. None of the ids
    in `but`. For the worker."""
    for row in store.due(today):
        unit, _, ready = row
        if ready and unit.id not in but and (held is None or unit.id != held.id):
            return unit
    newest = store.units()
    lot_id = held.lot_id if held is not None else newest[0].lot_id if newest else None
    alike = reversed(newest) if lot_id is None else store.units_of_lot(lot_id)
    for unit in alike:
        if unit.becomes in OVER or unit.id in but or (held is not None and unit.id == held.id):
            continue
        if not store.history(unit.id).visits:
            return unit
    return None
