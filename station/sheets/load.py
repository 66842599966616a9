"""Model sheets from TOML (version 1; docs/formats.md, "Model sheets"): strict, bounded, one sentence for a fault.

A `Place`'s `up` has a meaning for the y axis of a stick (the end of its range that is up) and for a trigger or a button
(the end of its range where it is released), `right` for the x axis of a stick; elsewhere they are refused.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import cast

from station.capture.regular import read_regular
from station.errors import SheetError
from station.sheets.model import (
    ACCEL,
    GATES,
    GYRO,
    KINDS,
    MOTORS,
    ZONES,
    Ask,
    Control,
    ExplicitField,
    Part,
    Place,
    Sheet,
)
from station.sheets.spoken import MOST_BEGINNING, hex_bytes, protocols, read_talk
from station.sheets.table import IDENTIFIER, MOST_TEXT, Table, shown
from station.sheets.write import save_sheet, sheet_text
from station.words import grammar
from station.words import sheets as words

__all__ = ["CheckNames", "load_sheet", "parse_sheet", "save_sheet", "sheet_text"]

CheckNames = Mapping[str, bool]
"""the checks that a sheet may name → whether a person answers them; the checks themselves stand above this layer"""
MOST_BYTES = 256 * 1024
MOST_CONTROLS = 256
MOST_ASKS = 64
MOST_PARTS = 256
MOST_MATCHES = 64
MOST_BIT = 8 * 4096


def load_sheet(path: Path, checks: CheckNames | None = None) -> Sheet:
    """The sheet in `path`. SheetError for anything that cannot be used, an unreadable file included.

    `checks`: those there are (`checks.registry.answered_by`); None: the names of checks in it are not looked at.
    """
    try:
        data = read_regular(path, MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or words.UNREADABLE
        raise SheetError(words.CANNOT_READ.format(path=path, reason=reason)) from error
    try:
        return parse_sheet(data.decode("utf-8-sig"), str(path), checks)
    except UnicodeDecodeError as error:
        raise SheetError(words.NOT_UTF8.format(path=path, byte=error.start)) from error


def parse_sheet(text: str, origin: str, checks: CheckNames | None = None) -> Sheet:
    """The sheet that `text` (TOML) describes; `origin` names it in messages, `checks` as for `load_sheet`. SheetError
    for anything wrong."""
    if len(text) > MOST_BYTES:
        raise SheetError(words.TOO_LARGE.format(file=origin, most=MOST_BYTES // 1024))
    try:
        top = Table(origin, "", tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        reason = words.TOO_DEEP if isinstance(error, RecursionError) else shown(str(error), 160).strip('"')
        raise SheetError(words.NOT_TOML.format(file=origin, reason=reason)) from error
    if top.raw("format") != "restpoint-sheet":
        top.fail("format", words.NOT_A_SHEET)
    if top.raw("version") != 1 or top.raw("version") is True:
        top.fail("version", words.UNKNOWN_VERSION.format(value=shown(top.raw("version"))))
    model = Table(origin, "model", top.required("model", words.NO_MODEL))
    controls = _controls(top)
    asks = _asks(top, checks or {})
    sheet = Sheet(
        name=model.text("name"),
        match=_matches(model),
        interfaces=protocols(model, MOST_MATCHES),
        talk=read_talk(model),
        controls=controls,
        asks=asks,
        parts=_parts(top, controls),
        limits=_limits(top, {ask.id for ask in asks}, checks),
        rumble=_rumble(model),
        absent=_absent(model, controls),
    )
    model.no_other_keys()
    top.no_other_keys()
    return sheet


def _matches(model: Table) -> tuple[tuple[int, int], ...]:
    pairs = []
    for number, entry in enumerate(model.items("match", MOST_MATCHES), 1):
        table = Table(model.origin, words.MATCH_ENTRY.format(number=number), entry)
        pairs.append((table.integer("vendor_id", 0, 0xFFFF), table.integer("product_id", 0, 0xFFFF)))
        table.no_other_keys()
    return tuple(pairs)


def _absent(model: Table, controls: tuple[Control, ...]) -> tuple[int, ...]:
    """The usages that are no control of this model; one that is named as a control cannot be absent."""
    named = {place.usage: control.id for control in controls for place in control.places if place.usage is not None}
    found = []
    for entry in model.items("absent", MOST_CONTROLS):
        usage = _usage(model, entry, "absent")
        if usage in named:
            model.fail("absent", words.ABSENT_AND_NAMED.format(value=shown(entry), control=named[usage]))
        found.append(usage)
    return tuple(dict.fromkeys(found))


def _rumble(model: Table) -> dict[str, bytes]:
    """The reports that run the motors; whoever starts them must be able to stop them."""
    if not model.has("rumble"):
        model.raw("rumble")
        return {}
    table = Table(model.origin, "model", model.raw("rumble"), "rumble.")
    found = {key: hex_bytes(table, key, table.raw(key)) for key in (*MOTORS, "off") if table.has(key)}
    for key in (*MOTORS, "off"):
        table.raw(key)
    table.no_other_keys()
    if "off" not in found or len(found) < 2:
        model.fail("rumble", words.RUMBLE_INCOMPLETE)
    if (same := next((motor for motor in MOTORS if found.get(motor) == found["off"]), None)) is not None:
        model.fail("rumble", words.RUMBLE_NEVER_OFF.format(motor=same))
    return found


def _tables(top: Table, key: str, most: int) -> list[tuple[str, Table]]:
    """The entries of [[key]] with their ids, which must differ."""
    found = []
    for number, entry in enumerate(top.items(key, most), 1):
        table = Table(top.origin, f"{key} {number}", entry)
        identity = table.identifier("id")
        table.where = f"{key} {identity}"
        found.append((identity, table))
    for identity, count in Counter(identity for identity, _ in found).items():
        if count > 1:
            top.fail(f"{key} {identity}", words.ID_REPEATED.format(count=count))
    return found


def _controls(top: Table) -> tuple[Control, ...]:
    tables = _tables(top, "control", MOST_CONTROLS)
    controls = {identity: _control(identity, table) for identity, table in tables}
    for identity, table in tables:
        _check_siblings(controls[identity], controls, table)
    return tuple(controls.values())


def _control(identity: str, table: Table) -> Control:
    kind = table.choice("kind", KINDS)
    copied = table.has("seen_as")
    control = Control(
        id=identity,
        kind=kind,  # type: ignore[arg-type]  # choice() returns one of KINDS
        name=table.text("name"),
        zone=table.choice("zone", ZONES, "centre"),  # type: ignore[arg-type]
        twin=cast("str | None", table.raw("twin")),
        gate=table.choice("gate", GATES, "round") if kind == "stick" else "round",  # type: ignore[arg-type]
        at=_place(table, "at", kind, copied) if kind not in ("stick", "motion") else None,
        x=_place(table, "x", kind, copied) if kind in ("stick", "touch") else None,
        y=_place(table, "y", kind, copied) if kind in ("stick", "touch") else None,
        axes=_motion_axes(table, copied) if kind == "motion" else (),
        seen_as=cast("str | None", table.raw("seen_as")),
    )
    if (control.x is None) != (control.y is None):
        table.fail(words.TWO_AXES, words.ONE_AXIS_MISSING)
    table.no_other_keys()
    return control


def _motion_axes(table: Table, copied: bool) -> tuple[tuple[str, Place], ...]:
    """The three axes of an accelerometer, of a gyro, or of both."""
    found: list[tuple[str, Place]] = []
    for sensor in (ACCEL, GYRO):
        places = [(key, place) for key in sensor if (place := _place(table, key, "motion", True)) is not None]
        if len(places) not in (0, len(sensor)):
            table.fail(" ".join(sensor), words.MOTION_AXIS_MISSING)
        found += places
    if not found and not copied:
        table.fail(" ".join(ACCEL), words.MOTION_AXIS_MISSING)
    return tuple(found)


def _check_siblings(control: Control, controls: Mapping[str, Control], table: Table) -> None:
    """`twin` and `seen_as` name another control of the same kind; a twin that names a third one is a slip."""
    for key, other_id in (("twin", control.twin), ("seen_as", control.seen_as)):
        if other_id is None:
            continue
        other = controls.get(other_id) if isinstance(other_id, str) else None
        if other is None or other is control:
            table.fail(key, words.NOT_ANOTHER_CONTROL.format(value=shown(other_id)))
        if other.kind != control.kind:
            table.fail(key, words.OTHER_KIND.format(other=other.id, kind=other.kind, wanted=control.kind))
        if key == "twin" and other.twin not in (None, control.id):
            table.fail(key, words.THIRD_TWIN.format(other=other.id, value=shown(other.twin)))
        if key == "seen_as" and other.seen_as is not None:
            table.fail(key, words.SEEN_AS_COPY.format(other=other.id))


def _place(table: Table, key: str, kind: str, optional: bool) -> Place | None:
    if optional and not table.has(key):
        table.raw(key)
        return None
    data = table.required(key, words.NO_PLACE.format(key=key))
    inner = Table(table.origin, table.where, data, f"{key}.")
    usage, field = inner.raw("usage"), inner.raw("field")
    if (usage is None) == (field is None):
        table.fail(key, words.USAGE_OR_FIELD)
    turned = key == "y" or kind in ("trigger", "button")
    place = Place(
        usage=_usage(inner, usage) if usage is not None else None,
        field=_field(inner, field) if field is not None else None,
        up=inner.choice("up", ("low", "high"), "low") if turned else "low",  # type: ignore[arg-type]
        right=inner.choice("right", ("low", "high"), "high") if key == "x" else "high",  # type: ignore[arg-type]
    )
    if not turned and inner.has("up"):
        inner.fail("up", words.UP_WITHOUT_MEANING)
    if key != "x" and inner.has("right"):
        inner.fail("right", words.RIGHT_WITHOUT_MEANING)
    inner.no_other_keys()
    return place


def _usage(table: Table, value: object, key: str = "usage") -> int:
    if not isinstance(value, list) or len(value) != 2:
        table.fail(key, words.NOT_A_PAIR.format(value=shown(value)))
    page, usage = (table.checked_integer(key, part, 1, 0xFFFF) for part in value)
    return page << 16 | usage


def _field(table: Table, value: object) -> ExplicitField:
    inner = Table(table.origin, table.where, value, f"{table.prefix}field.")
    bits = inner.integer("bits", 1, 32)
    signed = inner.flag("signed", False)
    least, most = (-(1 << bits - 1), (1 << bits - 1) - 1) if signed else (0, (1 << bits) - 1)
    field = ExplicitField(
        report=inner.integer("report", 0, 255, 0),
        bit=inner.integer("bit", 0, MOST_BIT),
        bits=bits,
        signed=signed,
        min=inner.integer("min", least, most, least),
        max=inner.integer("max", least, most, most),
        big_endian=inner.flag("big_endian", False),
        begins=hex_bytes(inner, "begins", inner.raw("begins"), MOST_BEGINNING) if inner.has("begins") else b"",
        length=inner.integer("length", 1, MOST_BIT // 8) if inner.has("length") else 0,
    )
    inner.raw("begins")
    inner.raw("length")
    if field.begins and field.report:
        inner.fail("begins", words.BEGINS_AND_REPORT)
    if field.min >= field.max:
        inner.fail("min", words.MIN_NOT_BELOW_MAX.format(low=field.min, high=field.max))
    if field.report and field.bit < 8:
        inner.fail("bit", words.BIT_IN_REPORT_ID.format(bit=field.bit))
    if field.length and field.bit + field.bits > 8 * field.length:
        inner.fail("length", words.BEYOND_ITS_LENGTH.format(bytes=(field.bit + field.bits + 7) // 8))
    if field.big_endian and (field.bits not in (16, 32) or field.bit % 8):
        inner.fail("big_endian", words.NOT_WHOLE_BYTES.format(bits=field.bits, bit=field.bit))
    inner.no_other_keys()
    return field


def _asks(top: Table, checks: CheckNames) -> tuple[Ask, ...]:
    asks = []
    for identity, table in _tables(top, "ask", MOST_ASKS):
        if not checks.get(identity, True):
            table.fail("id", words.MEASURING_CHECK.format(check=identity))
        meter = tuple(table.checked_text("meter", unit, 12) for unit in table.items("meter", 8))
        if len(set(meter)) != len(meter):
            table.fail("meter", words.READING_TWICE)
        asks.append(Ask(identity, table.text("text", most=MOST_TEXT), meter))
        table.no_other_keys()
    return tuple(asks)


def _parts(top: Table, controls: tuple[Control, ...]) -> tuple[Part, ...]:
    served = {control.id for control in controls}
    served |= {f"{control.id}.{axis}" for control in controls if control.kind == "stick" for axis in "xy"}
    parts = []
    for identity, table in _tables(top, "part", MOST_PARTS):
        serves = tuple(table.checked_text("serves", name) for name in table.items("serves", MOST_CONTROLS))
        for name in serves:
            if name not in served:
                table.fail("serves", words.SERVES_NOTHING.format(value=shown(name)))
        parts.append(Part(identity, table.text("name"), serves))
        table.no_other_keys()
    return tuple(parts)


def _limits(top: Table, asks: set[str], checks: CheckNames | None) -> dict[str, dict[str, tuple[float, float]]]:
    if not top.has("limits"):
        top.raw("limits")
        return {}
    limits: dict[str, dict[str, tuple[float, float]]] = {}
    for check, entry in Table(top.origin, "limits", top.raw("limits")).data.items():
        if checks is not None and check not in checks and check not in asks:
            known = grammar.either(tuple(checks))
            top.fail(f"limits.{shown(check)[1:-1]}", words.UNKNOWN_CHECK.format(checks=known))
        table = Table(top.origin, f"limits.{check}", entry)
        for reading in table.data:
            if not IDENTIFIER.fullmatch(reading):
                table.fail(shown(reading), words.NOT_A_READING)
            limits.setdefault(check, {})[reading] = table.limits(reading)
    return limits
