"""What a pad declares and does not have, by a walk in which every control was asked for."""

from __future__ import annotations

from station.hid.decode import find_field
from station.hid.types import Layout
from station.sheets.beyond import Extra, beyond
from station.sheets.learn.types import Learned

_SENSED = ("motion", "touch")
"""what no walk asks for"""
_MOVED = ("sensor", "other")


def lacking(learned: Learned, layout: Layout | None) -> tuple[int, ...]:
    """The usages that are no control of this model: nothing of them moved by itself while the hand worked every control
    that the pad has. None where a control that was asked for stayed out of the sheet: it may be one of them."""
    there = {control.id for control in learned.sheet.controls}
    if layout is None or not there.issuperset(learned.confidences):
        return ()
    extras = beyond(learned.sheet, (layout,)).unnamed
    return tuple(dict.fromkeys(one.usage for one in extras if one.sort not in _SENSED and _still(one, learned, layout)))


def _still(one: Extra, learned: Learned, layout: Layout) -> bool:
    """Whether it did not move, or only together with a control that the sheet names."""
    field = find_field(layout, one.usage)
    if field is None or field.is_array:
        return True
    end = field.bit_offset + field.bit_width
    return not any(
        i.what in _MOVED and i.report == field.report_id and i.bit < end and field.bit_offset < i.bit + i.bits
        for i in learned.ignored
    )
