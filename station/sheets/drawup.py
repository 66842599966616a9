"""A sheet drawn up from a report descriptor, for a device that no sheet fits (docs/formats.md, "Without a sheet").

The pairs X/Y, Z/Rz or Rx/Ry become sticks, axes that are left over triggers, Button n buttons; each is named by its
HID usage. Only what is safe is guessed: a pair of equal sticks or triggers are twins, a button has no twin (a wrong
one would void beats of a good button) and lies in the centre. Whether it vibrates is asked where HID tells how.
"""

from __future__ import annotations

from collections.abc import Iterable

from station.hid.types import Field, Layout
from station.hid.usages import usage_name, usage_slug
from station.sheets.load import MOST_CONTROLS
from station.sheets.model import ACCEL, GYRO, Ask, Control, ExplicitField, Place, Sheet, Zone
from station.sheets.sensed import in_degrees_a_second, in_g
from station.sheets.usages import (
    ACCELERATION_USAGES,
    DIGITIZERS_PAGE,
    GAME_APPLICATIONS,
    HAT_SWITCH,
    POWER_PAGES,
    RX,
    RY,
    RZ,
    TIP_SWITCH,
    TURNING_USAGES,
    X,
    Y,
    Z,
    usage_kind,
)
from station.sheets.vibration import standard_vibration
from station.sources.port import DeviceInfo
from station.words import sheets as words

_FEEL = Ask("rumble", words.FEEL_MOTORS)
_STICK_ZONES: tuple[Zone, Zone] = ("left hand", "right hand")


def draw_up(layout: Layout, info: DeviceInfo) -> Sheet:
    """The sheet that `layout` suggests, marked `drawn_up`; it may have no control at all."""
    fields = _usable(layout)
    sticks = _sticks(fields)
    in_sticks = {usage for pair in sticks for usage in pair}
    controls = [_stick(pair, zone) for pair, zone in zip(sticks, _STICK_ZONES, strict=False)]
    controls = _as_twins(controls) if _alike(fields, sticks) else controls
    sensed = _motion(layout) + _touches(layout)
    singles = [usage for usage in fields if usage not in in_sticks]
    triggers = [_single(usage, "top") for usage in singles if usage_kind(usage) == "trigger"]
    controls += _as_twins(triggers) if len(triggers) == 2 else triggers
    controls += _hats(fields.get(HAT_SWITCH, []))
    controls += [_single(usage, "centre") for usage in singles if usage_kind(usage) in ("button", "battery")]
    name = "".join(c for c in info.product if c.isprintable()).strip()[:80]
    return Sheet(
        name=name or words.DEVICE_OF_IDS.format(vendor=info.vendor_id, product=info.product_id),
        match=((info.vendor_id, info.product_id),),
        controls=tuple((controls + sensed)[:MOST_CONTROLS]),
        asks=(_FEEL,) if standard_vibration(layout) else (),
        drawn_up=True,
    )


def _usable(layout: Layout) -> dict[int, list[Field]]:
    """Usage → absolute input fields, in report order; game collections (and the cell's) only, where there are any."""
    inputs = [f for f in layout.input_fields() if not f.is_relative and not _of_touch_pad(f)]
    within = [f.collections[0].usage if f.collections else 0 for f in inputs]
    game = [f for f, usage in zip(inputs, within, strict=True) if usage in GAME_APPLICATIONS]
    cells = [f for f, usage in zip(inputs, within, strict=True) if usage >> 16 in POWER_PAGES]
    fields: dict[int, list[Field]] = {}
    for f in game + cells if game else inputs:
        for usage in f.usages if f.is_array else (f.usage,):
            if usage_kind(usage) is not None:
                fields.setdefault(usage, []).append(f)
    return fields


def _of_touch_pad(field: Field) -> bool:
    return any(c.usage >> 16 == DIGITIZERS_PAGE for c in field.collections)


def _motion(layout: Layout) -> list[Control]:
    """Accelerometer and gyro by the usages of the Sensors page, or vectors of Generic Desktop that HID gives the unit
    of; nothing else says that it is one."""
    there = {f.usage: f for f in layout.input_fields() if not f.is_relative and not f.is_array}
    axes: list[tuple[str, Place]] = []
    for names, choices, unit in ((ACCEL, ACCELERATION_USAGES, in_g), (GYRO, TURNING_USAGES, in_degrees_a_second)):
        for usages in choices:
            fields = [there.get(usage) for usage in usages]
            if all(f is not None and unit(f) is not None for f in fields):
                axes += [(name, Place(usage=usage)) for name, usage in zip(names, usages, strict=True)]
                break
    return [Control("motion", "motion", words.MOTION_SENSOR, "centre", axes=tuple(axes))] if axes else []


def _touches(layout: Layout) -> list[Control]:
    """The contacts of a touch pad inside the game collection, each named by its bits: usages repeat for each finger.

    A touch pad that is a collection of its own moves a pointer; it is private and not read.
    """
    fingers: list[dict[int, Field]] = []
    for f in layout.input_fields():
        within = f.collections[0].usage if f.collections else 0
        if within not in GAME_APPLICATIONS or not _of_touch_pad(f) or f.usage not in (TIP_SWITCH, X, Y):
            continue
        if not fingers or f.usage in fingers[-1]:
            fingers.append({})
        fingers[-1][f.usage] = f
    whole = [finger for finger in fingers if len(finger) == 3]
    found = []
    for number, finger in enumerate(whole, 1):
        at, x, y = (by_bits(finger[usage]) for usage in (TIP_SWITCH, X, Y))
        name = words.TOUCH_CONTACT.format(number=number)
        found.append(Control(f"touch_{number}", "touch", name, "centre", at=at, x=x, y=y))
    return found


def by_bits(f: Field) -> Place:
    """A field by its bits, where its usage does not tell it apart."""
    return Place(field=ExplicitField(f.report_id, f.bit_offset, f.bit_width, f.signed, f.logical_min, f.logical_max))


def _sticks(fields: dict[int, list[Field]]) -> list[tuple[int, int]]:
    """The pairs of axes that are sticks. With both Z/Rz and Rx/Ry there, the pair scaled like X is the second one."""
    first = [(X, Y)] if X in fields and Y in fields else []
    seconds = [pair for pair in ((Z, RZ), (RX, RY)) if pair[0] in fields and pair[1] in fields]
    if len(seconds) == 2 and first:
        like_first = [pair for pair in seconds if _alike(fields, [first[0], pair])]
        seconds = like_first[:1] or seconds
    return first + seconds[:1]


def _alike(fields: dict[int, list[Field]], pairs: Iterable[tuple[int, int]]) -> bool:
    """True if all axes of the pairs have the same size and range."""
    axes = [fields[usage][0] for pair in pairs for usage in pair]
    return len({(f.bit_width, f.logical_min, f.logical_max) for f in axes}) == 1


def _stick(pair: tuple[int, int], zone: Zone) -> Control:
    x, y = pair
    identity = f"{usage_slug(x)}_{usage_slug(y)}"
    name = words.STICK_OF.format(x=usage_name(x), y=usage_name(y))
    return Control(identity, "stick", name, zone, x=Place(usage=x), y=Place(usage=y))


def _single(usage: int, zone: Zone) -> Control:
    kind = usage_kind(usage)
    assert kind is not None  # only known usages come here
    return Control(usage_slug(usage), kind, usage_name(usage), zone, at=Place(usage=usage))


def _hats(hats: list[Field]) -> list[Control]:
    """The first hat by its usage; more in the same report carry the same usage, so they are named by their bits."""
    found = []
    for number, f in enumerate([f for f in hats if f.report_id == hats[0].report_id], 1):
        if number == 1:
            found.append(_single(HAT_SWITCH, "left hand"))
            continue
        place = by_bits(f)
        name = words.HAT_NUMBER.format(number=number)
        found.append(Control(f"hat_switch_{number}", "hat", name, "left hand", at=place))
    return found


def _as_twins(pair: list[Control]) -> list[Control]:
    """Two controls that name each other; anything but two is left alone."""
    if len(pair) != 2:
        return pair
    one, other = pair
    return [_twin(one, other.id), _twin(other, one.id)]


def _twin(control: Control, twin: str) -> Control:
    return Control(control.id, control.kind, control.name, control.zone, twin, at=control.at, x=control.x, y=control.y)
