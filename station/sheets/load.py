"""Model sheets from TOML (version 1, DESIGN §6): strict, bounded, one clear sentence for whatever is wrong.

A `Place`'s `up` has a meaning for the y axis of a stick (the end of its range that is up) and for a trigger or a button
(the end of its range where it is released), `right` for the x axis of a stick; elsewhere they are refused.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import cast

from station.errors import SheetError
from station.sheets.model import (
    GATES,
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
from station.sheets.table import IDENTIFIER, MOST_TEXT, Table, listed, shown
from station.sheets.write import save_sheet, sheet_text

__all__ = ["CheckNames", "load_sheet", "parse_sheet", "save_sheet", "sheet_text"]

CheckNames = Mapping[str, bool]
"""the checks that a sheet may name → whether a person answers them; the checks themselves stand above this layer"""
MOST_BYTES = 256 * 1024
MOST_CONTROLS = 256
MOST_ASKS = 64
MOST_PARTS = 256
MOST_MATCHES = 64
MOST_OPEN = 64
MOST_OPEN_BYTES = 4096
MOST_BIT = 8 * 4096


def load_sheet(path: Path, checks: CheckNames | None = None) -> Sheet:
    """The sheet in `path`. SheetError for anything that cannot be used, an unreadable file included.

    `checks`: those there are (`checks.registry.answered_by`); None: the names of checks in it are not looked at.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise SheetError(f"{path}: {reason}; check the name and who may read the file.") from error
    try:
        return parse_sheet(data.decode("utf-8"), str(path), checks)
    except UnicodeDecodeError as error:
        raise SheetError(f"{path}: byte {error.start} is not UTF-8 text; save the sheet as UTF-8.") from error


def parse_sheet(text: str, origin: str, checks: CheckNames | None = None) -> Sheet:
    """The sheet that `text` (TOML) describes; `origin` names it in messages, `checks` as for `load_sheet`. SheetError
    for anything wrong."""
    if len(text) > MOST_BYTES:
        raise SheetError(f"{origin}: larger than {MOST_BYTES // 1024} KiB, so not a model sheet; choose another file.")
    try:
        top = Table(origin, "", tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        reason = "lists nested too deeply" if isinstance(error, RecursionError) else shown(str(error), 160).strip('"')
        raise SheetError(f"{origin}: not valid TOML: {reason}; correct it there.") from error
    if top.raw("format") != "restpoint-sheet":
        top.fail("format", "this is not a model sheet", 'a sheet begins with format = "restpoint-sheet"')
    if top.raw("version") != 1 or top.raw("version") is True:
        top.fail("version", f"{shown(top.raw('version'))} is not known here",
                 "write version = 1, or use a newer Restpoint")  # fmt: skip
    model = Table(origin, "model", top.required("model", "add a [model] table with a name"))
    controls = _controls(top)
    asks = _asks(top, checks or {})
    sheet = Sheet(
        name=model.text("name"),
        match=_matches(model),
        open=_open_reports(model),
        controls=controls,
        asks=asks,
        parts=_parts(top, controls),
        limits=_limits(top, {ask.id for ask in asks}, checks),
        rumble=_rumble(model),
    )
    model.no_other_keys()
    top.no_other_keys()
    return sheet


def _matches(model: Table) -> tuple[tuple[int, int], ...]:
    pairs = []
    for number, entry in enumerate(model.items("match", MOST_MATCHES), 1):
        table = Table(model.origin, f"model, match {number}", entry)
        pairs.append((table.integer("vendor_id", 0, 0xFFFF), table.integer("product_id", 0, 0xFFFF)))
        table.no_other_keys()
    return tuple(pairs)


def _open_reports(model: Table) -> tuple[bytes, ...]:
    return tuple(_report(model, "open", entry) for entry in model.items("open", MOST_OPEN))


def _rumble(model: Table) -> dict[str, bytes]:
    """The reports that run the motors; whoever starts them must be able to stop them."""
    if not model.has("rumble"):
        model.raw("rumble")
        return {}
    table = Table(model.origin, "model", model.raw("rumble"), "rumble.")
    found = {key: _report(table, key, table.raw(key)) for key in (*MOTORS, "off") if table.has(key)}
    for key in (*MOTORS, "off"):
        table.raw(key)
    table.no_other_keys()
    if "off" not in found or len(found) < 2:
        model.fail("rumble", "it needs off and at least one of left, right and both", "add the missing report")
    return found


def _report(table: Table, key: str, entry: object) -> bytes:
    try:
        report = bytes.fromhex(entry) if isinstance(entry, str) else b""
    except ValueError:
        report = b""
    if not 0 < len(report) <= MOST_OPEN_BYTES:
        table.fail(key, f"{shown(entry)} is not a hex string of 1 to {MOST_OPEN_BYTES} bytes",
                   'write it like "05 01 ff", report id first')  # fmt: skip
    return report


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
            top.fail(f"{key} {identity}", f"the id stands {count} times", "give each one an id of its own")
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
        at=_place(table, "at", kind, copied) if kind != "stick" else None,
        x=_place(table, "x", kind, copied) if kind == "stick" else None,
        y=_place(table, "y", kind, copied) if kind == "stick" else None,
        seen_as=cast("str | None", table.raw("seen_as")),
    )
    if (control.x is None) != (control.y is None):
        table.fail("x and y", "one of the two is missing", "give both, or neither for a stick that is only seen_as")
    table.no_other_keys()
    return control


def _check_siblings(control: Control, controls: Mapping[str, Control], table: Table) -> None:
    """`twin` and `seen_as` name another control of the same kind; a twin that names a third one is a slip."""
    for key, other_id in (("twin", control.twin), ("seen_as", control.seen_as)):
        if other_id is None:
            continue
        other = controls.get(other_id) if isinstance(other_id, str) else None
        if other is None or other is control:
            table.fail(key, f"{shown(other_id)} is not another control of this sheet", "name one of its ids")
        if other.kind != control.kind:
            table.fail(key, f"{other.id} is a {other.kind}, not a {control.kind}", "name a control of the same kind")
        if key == "twin" and other.twin not in (None, control.id):
            table.fail(key, f"{other.id} names {shown(other.twin)} as its own twin", "let the two name each other")
        if key == "seen_as" and other.seen_as is not None:
            table.fail(key, f"{other.id} is itself seen as another control", "name the control that really reports")


def _place(table: Table, key: str, kind: str, optional: bool) -> Place | None:
    if optional and not table.has(key):
        table.raw(key)
        return None
    data = table.required(key, f"say where it is, as {key} = {{ usage = [9, 1] }}")
    inner = Table(table.origin, table.where, data, f"{key}.")
    usage, field = inner.raw("usage"), inner.raw("field")
    if (usage is None) == (field is None):
        table.fail(key, "it needs either usage or field", "write usage = [page, usage], or field = { … }")
    turned = key == "y" or kind in ("trigger", "button")
    place = Place(
        usage=_usage(inner, usage) if usage is not None else None,
        field=_field(inner, field) if field is not None else None,
        up=inner.choice("up", ("low", "high"), "low") if turned else "low",  # type: ignore[arg-type]
        right=inner.choice("right", ("low", "high"), "high") if key == "x" else "high",  # type: ignore[arg-type]
    )
    if not turned and inner.has("up"):
        inner.fail("up", "it has a meaning for y, triggers and buttons only", "remove it")
    if key != "x" and inner.has("right"):
        inner.fail("right", "it has a meaning for x only", "remove it")
    inner.no_other_keys()
    return place


def _usage(table: Table, value: object) -> int:
    if not isinstance(value, list) or len(value) != 2:
        table.fail("usage", f"{shown(value)} is not a pair", "write [page, usage], such as [0x01, 0x30] for X")
    page, usage = (table.checked_integer("usage", part, 1, 0xFFFF) for part in value)
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
    )
    if field.min >= field.max:
        inner.fail("min", f"{field.min} is not below max, {field.max}", "give the smallest and the largest code")
    if field.report and field.bit < 8:
        inner.fail("bit", f"bit {field.bit} lies in the report id", "count from the id byte on: the first is 8")
    if field.big_endian and (field.bits not in (16, 32) or field.bit % 8):
        inner.fail("big_endian", f"{field.bits} bits from bit {field.bit} on are not 2 or 4 whole bytes",
                   "give the whole bytes as bits = 16 or 32 and their range with min and max")  # fmt: skip
    inner.no_other_keys()
    return field


def _asks(top: Table, checks: CheckNames) -> tuple[Ask, ...]:
    asks = []
    for identity, table in _tables(top, "ask", MOST_ASKS):
        if not checks.get(identity, True):
            table.fail("id", f"{identity} is a check that measures", "choose another word")
        meter = tuple(table.checked_text("meter", unit, 12) for unit in table.items("meter", 8))
        if len(set(meter)) != len(meter):
            table.fail("meter", "a reading stands twice", "name each one once")
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
                table.fail("serves", f"{shown(name)} is no control of this sheet",
                           "name a control, or an axis such as left_stick.x")  # fmt: skip
        parts.append(Part(identity, table.text("name"), serves))
        table.no_other_keys()
    return tuple(parts)


def _limits(top: Table, asks: set[str], checks: CheckNames | None) -> dict[str, dict[str, tuple[float, float]]]:
    do = "write [pass, fail beyond], such as [5.0, 10.0]"
    if not top.has("limits"):
        top.raw("limits")
        return {}
    limits: dict[str, dict[str, tuple[float, float]]] = {}
    for check, entry in Table(top.origin, "limits", top.raw("limits")).data.items():
        if checks is not None and check not in checks and check not in asks:
            top.fail(f"limits.{shown(check)[1:-1]}", "there is no such check", f"write {listed(checks)}")
        table = Table(top.origin, f"limits.{check}", entry)
        for reading in table.data:
            if not IDENTIFIER.fullmatch(reading):
                table.fail(shown(reading), "this is not the name of a reading", "see docs/METHOD.md for the names")
            good, bad = table.numbers(reading, 2, do)
            limits.setdefault(check, {})[reading] = (good, bad)
    return limits
