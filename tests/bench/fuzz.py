"""Random and damaged input for everything that reads foreign bytes: no crash, no hang, only errors of our own family.

    python tests/bench/fuzz.py [--cases 2000] [--seed 1] [--target descriptor]

Cases come in turn from the target's makers: sound input with some places damaged, input put together by the rules of
its format with odd values, and random bytes. Each case gets LIMIT_S of processor time; a slower one counts as a hang
(and is ended after ten times that). Another reader is one more entry of TARGETS. Exit status 1 where anything is
found; the last line is one JSON object.
"""

from __future__ import annotations

import argparse
import io
import json
import signal
import struct
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random
from types import FrameType
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from station.capture.file import read_capture, write_capture
from station.capture.journal import journal_header, read_journal
from station.capture.journal_writer import HEAD, MAGIC, NOTE, REPORTS, frame
from station.capture.types import Capture, CaptureMeta, Mark
from station.errors import InputError, StationError
from station.hid import ReportBlock, columns, encode, parse_descriptor, usage_column
from station.sheets.bind import bind
from station.sheets.drawup import draw_up
from station.sheets.learn import learn, walk
from station.sheets.learn.captured import as_capture, steps_in
from station.sheets.load import parse_sheet
from station.sheets.write import sheet_text
from station.sources.port import DeviceInfo
from tests.hid.hid_cases import CASES, MALFORMED, PAD, PAD_REST, block_of
from tests.sheets.learn_hand import walked
from tests.sheets.learn_pads import random_pad

LIMIT_S = 2.0


class Hang(BaseException):
    """A case took ten times the limit; no `except Exception` may swallow it."""


class Target(NamedTuple):
    """A reader of foreign bytes, and what makes bytes for it."""

    read: Callable[[bytes], None]
    makers: tuple[Callable[[Random], bytes], ...]


def _info(descriptor: bytes) -> DeviceInfo:
    return DeviceInfo("fuzz", 0x1209, 0x0001, "Pad", "", "simulated", descriptor)


def read_descriptor(data: bytes) -> None:
    """Descriptor → layout → a drawn-up sheet and columns of a few reports; packed again."""
    layout = parse_descriptor(data)
    fields = layout.input_fields()[:256]
    block = block_of(*(bytes([r.report_id]) + bytes(range(40)) for r in layout.reports[:8]), b"", b"\x01")
    columns(fields, block)
    for usage in {u for f in fields[:16] for u in (f.usage, *f.usages[:4]) if u}:
        usage_column(layout, usage, block)
    for report in layout.reports[:4]:
        try:
            encode(report, {})
        except InputError as error:
            raise AssertionError("a report at rest cannot be packed") from error
    bind(draw_up(layout, _info(data)), layout).signals(block)


def read_reports(data: bytes) -> None:
    """Reports of any bytes and lengths, decoded by sound layouts; sizes that lie included."""
    width = 1 + data[0] % 64 if data else 1
    count = len(data) // width
    raw = np.frombuffer(data[: count * width], np.uint8).reshape(count, width)
    size = np.frombuffer(data[:count].ljust(count, b"\0"), np.uint8).astype(np.uint16) * 2
    block = ReportBlock(0, np.arange(count), size, raw)
    for case in CASES:
        layout = parse_descriptor(case.descriptor)
        columns(layout.input_fields(), block)
        for usage in case.says:
            usage_column(layout, usage, block)


def read_sheet_text(data: bytes) -> None:
    """A sheet, written again and bound to a pad."""
    sheet = parse_sheet(data.decode("utf-8", "replace"), "fuzz.toml")
    assert parse_sheet(sheet_text(sheet), "again.toml") == sheet, "a sheet that was written again says something else"
    bind(sheet, parse_descriptor(PAD)).signals(block_of(PAD_REST))


def read_capture_bytes(data: bytes) -> None:
    """A capture, written again."""
    write_capture(read_capture(data))


def read_journal_bytes(data: bytes) -> None:
    """A journal as a capture, written as one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fuzz.journal"
        path.write_bytes(data)
        write_capture(read_journal(path))


def read_walk(data: bytes) -> None:
    """A kept walk, learned from; what is learned can be written."""
    capture = read_capture(data)
    learned = learn(steps_in(capture), layout=parse_descriptor(capture.descriptor) if capture.descriptor else None)
    sheet_text(learned.sheet)


# --- makers


def anything(random: Random) -> bytes:
    return random.randbytes(random.randrange(200))


def damaged(*sound: bytes) -> Callable[[Random], bytes]:
    """Sound bytes with one place changed, seldom more."""
    return lambda random: _damage(random.choice(sound), random)


def _damage(sound: bytes, random: Random) -> bytes:
    data = bytearray(sound)
    for _ in range(random.choice((1, 1, 1, 2, 3, 6))):
        at = random.randrange(len(data) + 1)
        match random.randrange(8):
            case 0 | 1 if at < len(data):
                data[at] ^= 1 << random.randrange(8)
            case 2 | 3 if at < len(data):
                data[at] = random.choice((0, 1, 0x7F, 0x80, 0xFE, 0xFF, random.randrange(256)))
            case 4:
                data[at:at] = random.randbytes(random.randint(1, 4))
            case 5:
                del data[at : at + random.randint(1, 8)]
            case 6:
                data[at:at] = data[at : at + random.randint(1, 64)] * random.choice((1, 2, 50))
            case _:
                del data[max(at, len(data) - random.randrange(1, 400)) :]
    return bytes(data)


_ITEMS = (0x04, 0x14, 0x24, 0x34, 0x44, 0x54, 0x64, 0x74, 0x94, 0x08, 0x08, 0x18, 0x80, 0x80, 0x80, 0x90, 0xB0)
_USAGE_MINIMUM, _USAGE_MAXIMUM = 0x18, 0x28
_DATA = {0x74: (1, 2, 7, 8, 10, 12, 16, 31, 32, 33, 64), 0x94: (0, 1, 2, 3, 8, 200), 0x04: (1, 2, 9, 7, 0xFF00)}
_ODD = (
    0,
    1,
    2,
    3,
    6,
    8,
    0x30,
    0x31,
    0x39,
    0x42,
    0x7F,
    0x80,
    0xFF,
    0x7FFF,
    0x8000,
    0xFFFF,
    0x10000,
    0x7FFFFFFF,
    0xFFFFFFFF,
)


def items(random: Random) -> bytes:
    """A game pad's collection of random items: well-formed in most places, odd in its numbers."""
    out = bytearray(bytes.fromhex("05 01 09 05 A1 01 15 00 26 FF 00 75 08 95 01"))
    for _ in range(random.randrange(60)):
        prefix = random.choice(_ITEMS)
        value = random.choice(_DATA.get(prefix, _ODD))
        out += _item(prefix, value, random)
        if prefix == _USAGE_MINIMUM:
            out += _item(_USAGE_MAXIMUM, min(value + random.randrange(300), 0xFFFFFFFF), random)
        if random.random() < 0.1:
            out += bytes.fromhex(
                random.choice(("A4", "A4 B4", "A1 02 C0", "A9 01 09 30 A9 00", "FE 01 00 00", "C0 A1 01"))
            )
    return bytes(out) + b"\xc0"


def _item(prefix: int, value: int, random: Random) -> bytes:
    size = random.choice([size for size in (1, 2, 4) if value < 1 << 8 * size])
    return bytes([prefix | {1: 1, 2: 2, 4: 3}[size]]) + value.to_bytes(size, "little")


def lines(*sound: bytes) -> Callable[[Random], bytes]:
    """Sound lines of text, some of them dropped, doubled, swapped, or with another value behind their `=`."""

    def make(random: Random) -> bytes:
        text = random.choice(sound).decode().splitlines()
        values = [line.split("=", 1)[1] for line in text if "=" in line]
        values += [
            " -1",
            " 1e400",
            " nan",
            ' ""',
            " []",
            " {}",
            " true",
            ' "\\u0000"',
            " 99999999999999999999",
            " 1979-05-27",
        ]
        for _ in range(random.choice((1, 1, 2, 4))):
            at, other = random.randrange(len(text)), random.randrange(len(text))
            match random.randrange(5):
                case 0:
                    text[at : at + 1] = []
                case 1:
                    text.insert(at, text[other])
                case 2:
                    text[at], text[other] = text[other], text[at]
                case _ if "=" in text[at]:
                    text[at] = text[at].split("=", 1)[0] + "=" + random.choice(values)
        return "\n".join(text).encode()

    return make


def arrays(random: Random) -> bytes:
    """A capture's arrays with one of them replaced, missing, or of another type or length; sound as a zip file."""
    meta: dict[str, object] = {"format": "restpoint-capture", "version": 1, "vendor_id": 0x1209, "product_id": 1}
    count = random.randrange(6)
    found: dict[str, np.ndarray] = {
        "descriptor": np.frombuffer(PAD, np.uint8),
        "time_ns": np.arange(count, dtype=np.int64),
        "size": np.full(count, len(PAD_REST), np.uint16),
        "report": np.tile(np.frombuffer(PAD_REST, np.uint8), (count, 1)),
    }
    odd = (None, -1, 2**63, 1.5, "x", "\x00" * 9, [], [{"time_ns": -1}], {}, True, "usb", "2025-01-01", "9999")
    keys = (
        "format",
        "version",
        "vendor_id",
        "product_id",
        "product",
        "serial",
        "bus",
        "started_at",
        "sheet",
        "lost",
        "marks",
    )
    if random.random() < 0.5:
        meta[random.choice(keys)] = random.choice(odd)
    found["meta"] = np.array(json.dumps(meta))
    name = random.choice(sorted(found))
    match random.randrange(6):
        case 0:
            del found[name]
        case 1 if name != "meta":
            found[name] = found[name].astype(random.choice(("i1", "u1", "<i8", ">i8", "<f8", "?", "<c16")))
        case 2 if name != "meta":
            found[name] = np.resize(found[name], random.choice(((0,), (3,), (2, 13), (1, 1, 1), ())))
        case 3 if name in ("time_ns", "size") and count:
            found[name][random.randrange(count)] = random.choice((0, 1, 12, 14, 65535))
    file = io.BytesIO()
    random.choice((np.savez, np.savez_compressed))(file, **found)
    return file.getvalue()


def frames(random: Random) -> bytes:
    """A journal of frames with sound checksums and damaged payloads."""
    header = json.dumps(journal_header(CaptureMeta(0x1209, 0x0001, "Pad"), PAD)).encode()
    count = random.randrange(4)
    batch = struct.pack("<I", count) + np.arange(count).tobytes() + struct.pack("<H", len(PAD_REST)) * count
    payloads = [(HEAD, header), (REPORTS, batch + PAD_REST * count), (NOTE, b'{"lost": 3}')]
    hurt = random.randrange(6)
    return MAGIC + b"".join(
        frame(tag, _damage(payload, random) if i == hurt else payload) for i, (tag, payload) in enumerate(payloads)
    )


def _captures() -> list[bytes]:
    block = block_of(*[PAD_REST] * 50)
    meta = CaptureMeta(0x1209, 0x0001, "Pad", "1", "simulated", "2025-01-01T00:00:00Z")
    marks = (Mark(0, "begin", "rest", "left_stick"), Mark(40_000_000, "end", "rest", "left_stick"))
    return [write_capture(Capture(PAD, block, meta, marks)), write_capture(Capture(b"", block_of(), meta))]


def _sheets() -> list[bytes]:
    return [sheet_text(draw_up(parse_descriptor(c.descriptor), _info(c.descriptor))).encode() for c in CASES[:8]]


def _walks() -> list[Capture]:
    """Walks of small made-up pads, thinned to some hundred reports."""
    made = []
    for number in (4001, 4002, 4003, 4004):
        pad = random_pad(number)
        some = [next(c for c in pad.controls if c.kind == kind) for kind in ("stick", "button")]
        steps = [replace(s, block=_thinned(s.block)) for s in walked(pad, walk(some))]
        made.append(as_capture(steps, pad.descriptor, CaptureMeta(0x1209, 0x0001, "Pad")))
    return made


def _thinned(block: ReportBlock) -> ReportBlock:
    kept = slice(None, None, max(1, len(block) // 60))
    return ReportBlock(0, block.t_ns[kept], block.size[kept], block.raw[kept], 0)


def walks(*sound: Capture) -> Callable[[Random], bytes]:
    """Walks with columns of their reports overwritten, reports cut, steps swapped, lost or empty."""

    def make(random: Random) -> bytes:
        capture = random.choice(sound)
        raw, size = capture.block.raw.copy(), capture.block.size.copy()
        marks = list(capture.marks)
        rows, columns_ = raw.shape
        for _ in range(random.choice((1, 1, 2, 4, 8))):
            at = random.randrange(columns_)
            match random.randrange(8):
                case 0:
                    raw[:, at] = random.choice((0, 255, random.randrange(256)))
                case 1:
                    raw[:, at] = np.frombuffer(random.randbytes(rows), np.uint8)
                case 2:
                    raw[:, at] = np.arange(rows) // random.choice((1, 2, 7, 60))
                case 3:
                    raw[:, at] = raw[:, random.randrange(columns_)]
                case 4:
                    raw[:, at] ^= np.uint8(1 << random.randrange(8)) * (np.arange(rows) % 60 < random.randrange(60))
                case 5:
                    size[random.randrange(rows) :: random.choice((1, 2, 50))] = random.randrange(columns_ + 1)
                case 6:
                    one, other = random.randrange(len(marks)), random.randrange(len(marks))
                    swapped = marks[other].control
                    marks[other] = replace(marks[other], control=marks[one].control)
                    marks[one] = replace(marks[one], control=swapped)
                case _:
                    del marks[(at := random.randrange(len(marks))) : at + 2]
        block = ReportBlock(0, capture.block.t_ns, size, raw, 0)
        return write_capture(replace(capture, block=block, marks=tuple(marks) or capture.marks))

    return make


_DESCRIPTORS = [c.descriptor for c in CASES] + [bad.descriptor[:400] for bad in MALFORMED]
TARGETS: dict[str, Target] = {
    "descriptor": Target(read_descriptor, (damaged(*_DESCRIPTORS), items, anything)),
    "reports": Target(read_reports, (damaged(*(c.report * 9 for c in CASES)), anything)),
    "sheet": Target(read_sheet_text, (lines(*_sheets()), damaged(*_sheets()), anything)),
    "journal": Target(read_journal_bytes, (frames, damaged(frames(Random(4))), anything)),
    "walk": Target(read_walk, (walks(*_walks()),)),
    "capture": Target(read_capture_bytes, (arrays, damaged(*_captures()), anything)),
}


def run(target: Target, cases: int, random: Random) -> tuple[Counter[str], float, list[str]]:
    """Outcomes by kind, the slowest case in seconds, and one line for each thing found. Needs `stop` installed."""
    outcomes: Counter[str] = Counter()
    slowest, found = 0.0, []
    for i in range(cases):
        data = target.makers[i % len(target.makers)](random)
        begun = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, 10 * LIMIT_S)
        try:
            target.read(data)
            outcome = "read"
        except StationError as error:
            outcome = type(error).__name__ if str(error) else "error without a sentence"
        except Hang:
            outcome = "hang"
        except Exception as error:  # noqa: BLE001 - whatever comes is what we look for
            outcome = "crash"
            place = traceback.extract_tb(error.__traceback__)[-1]
            found.append(f"{type(error).__name__}: {error} at {Path(place.filename).name}:{place.lineno} {data.hex()}")
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        took = time.process_time() - begun
        slowest = max(slowest, took)
        if took > LIMIT_S:
            outcome = "hang"
        if outcome in ("hang", "error without a sentence"):
            found.append(f"{outcome} {took:.1f} s {data.hex()}")
        outcomes[outcome] += 1
    return outcomes, slowest, found


def stop(_number: int, _frame: FrameType | None) -> None:
    """The handler of SIGVTALRM: whoever calls `run` installs it."""
    raise Hang


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=2000, help="for each target")
    parser.add_argument("--seed", type=int, default=None, help="default: a fresh one, printed")
    parser.add_argument("--target", choices=sorted(TARGETS), action="append")
    options = parser.parse_args()
    seed = Random().randrange(2**32) if options.seed is None else options.seed
    signal.signal(signal.SIGVTALRM, stop)
    print(f"seed {seed}")
    result: dict[str, object] = {}
    findings: list[str] = []
    for name in options.target or TARGETS:
        outcomes, slowest, found = run(TARGETS[name], options.cases, Random(f"{seed} {name}"))
        findings += found
        result[name] = {"cases": options.cases, "found": len(found), "slowest_s": round(slowest, 4), **outcomes}
        print(f"{name:12} {dict(outcomes)} slowest {slowest * 1000:.1f} ms")
        for line in found[:5]:
            print("   ", line[:2000])
    print(json.dumps({"bench": "fuzz", "seed": seed, "found": len(findings), "ok": not findings, "targets": result}))
    return 1 if findings else 0


if __name__ == "__main__":
    raise SystemExit(main())
