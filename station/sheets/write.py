"""Writing a model sheet as TOML (docs/formats.md, "Model sheets"). What is written reads back as the same sheet."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from station.errors import SheetError
from station.sheets.model import Control, Place, Sheet
from station.sheets.spoken import talk_lines
from station.words import sheets as words

_SHORT = {"\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r", '"': '\\"', "\\": "\\\\"}


def save_sheet(path: Path, sheet: Sheet) -> None:
    """Write `sheet` to `path` in one step: after a crash there is the old file or the new one, never half of one."""
    name = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", newline="\n", dir=path.parent, prefix=".", suffix=".part", delete=False
        ) as file:
            name = file.name
            file.write(sheet_text(sheet))
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except OSError as error:
        if name:
            with suppress(OSError):
                os.unlink(name)
        reason = error.strerror or words.UNWRITABLE
        raise SheetError(words.CANNOT_SAVE.format(path=path, reason=reason)) from error


def sheet_text(sheet: Sheet) -> str:
    """The sheet as TOML."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    yield 'format = "restpoint-sheet"'
    yield "version = 1"
    yield "\n[model]"
    yield f"name = {_text(sheet.name)}"
    pairs = (f"{{ vendor_id = {vendor:#06x}, product_id = {product:#06x} }}" for vendor, product in sheet.match)
    yield f"match = [{', '.join(pairs)}]"
    if sheet.interfaces:
        yield f"interfaces = {_texts(bytes.fromhex(one).hex(' ') for one in sheet.interfaces)}"
    yield from talk_lines(sheet.talk)
    if sheet.rumble:
        inner = ", ".join(f"{motor} = {_text(report.hex(' '))}" for motor, report in sheet.rumble.items())
        yield f"rumble = {{ {inner} }}"
    if sheet.absent:
        yield absent_line(sheet.absent)
    for control in sheet.controls:
        yield from _control(control)
    for ask in sheet.asks:
        yield f"\n[[ask]]\nid = {_text(ask.id)}\ntext = {_text(ask.text)}"
        if ask.meter:
            yield f"meter = {_texts(ask.meter)}"
    for part in sheet.parts:
        yield f"\n[[part]]\nid = {_text(part.id)}\nname = {_text(part.name)}\nserves = {_texts(part.serves)}"
    for check, readings in sheet.limits.items():
        yield f"\n[limits.{check}]"
        for reading, (good, bad) in readings.items():
            yield f"{reading} = [{good!r}, {bad!r}]"


def absent_line(usages: Iterable[int]) -> str:
    """The line of a sheet that says which usages are no control of its model."""
    return f"absent = [{', '.join(f'[{usage >> 16:#04x}, {usage & 0xFFFF:#04x}]' for usage in usages)}]"


def _control(control: Control) -> Iterator[str]:
    yield f"\n[[control]]\nid = {_text(control.id)}\nkind = {_text(control.kind)}\nname = {_text(control.name)}"
    yield f"zone = {_text(control.zone)}"
    if control.twin is not None:
        yield f"twin = {_text(control.twin)}"
    if control.kind == "stick":
        yield f"gate = {_text(control.gate)}"
    for key, place in (("at", control.at), ("x", control.x), ("y", control.y)):
        if place is not None:
            yield f"{key} = {_place(place)}"
    for key, place in control.axes:
        yield f"{key} = {_place(place)}"
    if control.seen_as is not None:
        yield f"seen_as = {_text(control.seen_as)}"


def _place(place: Place) -> str:
    if place.field is not None:
        f = place.field
        signed = "true" if f.signed else "false"
        order = ", big_endian = true" if f.big_endian else ""
        order += f', begins = "{f.begins.hex(" ")}"' if f.begins else ""
        order += f", length = {f.length}" if f.length else ""
        inner = (
            f"field = {{ report = {f.report}, bit = {f.bit}, bits = {f.bits}, signed = {signed}, "
            f"min = {f.min}, max = {f.max}{order} }}"
        )
    else:
        usage = place.usage or 0
        inner = f"usage = [{usage >> 16:#04x}, {usage & 0xFFFF:#04x}]"
    turned = ', up = "high"' if place.up == "high" else ""
    turned += ', right = "low"' if place.right == "low" else ""
    return f"{{ {inner}{turned} }}"


def _text(text: str) -> str:
    """A TOML basic string."""
    return '"' + "".join(_SHORT.get(c, c if c.isprintable() else f"\\U{ord(c):08X}") for c in text) + '"'


def _texts(texts: Iterable[str]) -> str:
    return "[" + ", ".join(_text(text) for text in texts) + "]"
