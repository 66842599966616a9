"""The capture file: what is written comes back, foreign and hostile files get one sentence."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from station.capture.file import (
    Capture,
    CaptureMeta,
    Mark,
    capture_sha256,
    make_block,
    read_capture,
    save_capture,
    write_capture,
)
from station.capture.types import check_mark
from station.errors import CaptureError

META: dict[str, Any] = {
    "format": "restpoint-capture",
    "version": 1,
    "vendor_id": 0x1209,
    "product_id": 1,
    "product": "Plover T2",
    "serial": "SM07-01",
    "bus": "usb",
    "started_at": "2025-03-04T10:00:00Z",
    "sheet": None,
    "lost": 0,
    "marks": [],
}


def example() -> Capture:
    """Three reports of two sizes, with two marks."""
    return Capture(
        b"\x05\x01",
        make_block([0, 1_000_000, 1_000_000], [b"\x01\x02\x03", b"\x02\xff", b"\x01\x05\x06"], lost=2),
        CaptureMeta(0x1209, 1, "Plover T2", "SM07-01", "usb", "2025-03-04T10:00:00Z", "Plover T2", 2),
        (
            Mark(0, "begin", "light", "left_shoulder", "right_shoulder"),
            Mark(1_000_000, "end", "light", "left_shoulder", "right_shoulder"),
        ),
    )


def npz_bytes(**changes: Any) -> bytes:
    """A capture made by numpy alone, as anybody would; `changes` replace arrays (None removes one)."""
    arrays: dict[str, Any] = {
        "descriptor": np.zeros(2, np.uint8),
        "time_ns": np.arange(3, dtype=np.int64),
        "size": np.full(3, 2, np.uint16),
        "report": np.ones((3, 2), np.uint8),
        "meta": np.array(json.dumps(META)),
    }
    arrays.update(changes)
    out = io.BytesIO()
    np.savez_compressed(out, **{name: array for name, array in arrays.items() if array is not None})
    return out.getvalue()


def meta_array(**changes: Any) -> Any:
    """The meta array with some entries replaced."""
    return np.array(json.dumps({**META, **changes}))


def zip_bytes(members: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip with these raw members."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return out.getvalue()


def npy_header(text: str, version: int = 1) -> bytes:
    """An npy header that claims `text`."""
    width = 2 if version == 1 else 4
    return b"\x93NUMPY" + bytes([version, 0]) + len(text).to_bytes(width, "little") + text.encode()


def with_member(name: str, data: bytes) -> bytes:
    """An otherwise right capture with one raw member replaced."""
    with zipfile.ZipFile(io.BytesIO(npz_bytes())) as archive:
        members = {n: archive.read(n) for n in archive.namelist()}
    members[name] = data
    return zip_bytes(members)


def test_a_written_capture_comes_back_whole() -> None:
    before = example()
    after = read_capture(write_capture(before))
    assert after.descriptor == before.descriptor
    assert after.meta == before.meta
    assert after.marks == before.marks
    assert after.block.lost == 2
    for name in ("t_ns", "size", "raw"):
        old, new = getattr(before.block, name), getattr(after.block, name)
        assert old.dtype == new.dtype
        assert np.array_equal(old, new)
        assert not new.flags.writeable


def test_equal_captures_give_equal_bytes() -> None:
    assert capture_sha256(write_capture(example())) == capture_sha256(write_capture(example()))


def test_numpy_alone_reads_what_we_write() -> None:
    with np.load(io.BytesIO(write_capture(example())), allow_pickle=False) as found:
        assert sorted(found) == ["descriptor", "meta", "report", "size", "time_ns"]
        assert (found["time_ns"].dtype, found["size"].dtype, found["report"].dtype) == (np.int64, np.uint16, np.uint8)
        meta = json.loads(str(found["meta"]))
        assert found["meta"].shape == ()
    assert meta["format"] == "restpoint-capture"
    assert "witness" in meta["marks"][0]


def test_a_mass_in_the_fingers_place_comes_back_and_is_absent_otherwise() -> None:
    before = example()
    weighed = replace(before, marks=(replace(before.marks[0], mass_g=160.0), *before.marks[1:]))
    assert read_capture(write_capture(weighed)).marks == weighed.marks
    with np.load(io.BytesIO(write_capture(weighed)), allow_pickle=False) as found:
        marks = json.loads(str(found["meta"]))["marks"]
    assert [mark.get("mass_g") for mark in marks] == [160.0, None]
    assert "mass_g" not in marks[1]


@pytest.mark.parametrize("mass_g", [0, -1.0, 5000.5, float("nan"), float("inf"), True, "160"])
def test_an_impossible_mass_is_refused(mass_g: Any) -> None:
    with pytest.raises(CaptureError, match="mass_g must be grams, above 0 and at most 5000"):
        check_mark(Mark(0, "begin", "light", "a", None, mass_g))


def test_we_read_what_numpy_alone_wrote() -> None:
    capture = read_capture(npz_bytes())
    assert len(capture.block) == 3
    assert capture.meta.product == "Plover T2"


def test_an_empty_recording_is_a_capture() -> None:
    empty = Capture(b"", make_block([], []), CaptureMeta(0x1209, 1))
    after = read_capture(write_capture(empty))
    assert len(after.block) == 0
    assert after.descriptor == b""


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"time_ns": np.arange(3, dtype=">i8")}, id="big-endian times are read"),
        pytest.param({"report": np.asfortranarray(np.arange(6, dtype=np.uint8).reshape(3, 2))}, id="Fortran order"),
        pytest.param({"extra": np.zeros(3)}, id="an unknown array is ignored"),
        pytest.param({"meta": meta_array(note="hello")}, id="an unknown entry of meta is ignored"),
    ],
)
def test_variants_of_the_format_are_read(changes: dict[str, Any]) -> None:
    capture = read_capture(npz_bytes(**changes))
    assert capture.block.t_ns.tolist() == [0, 1, 2]
    if "report" in changes:
        assert capture.block.raw.tolist() == [[0, 1], [2, 3], [4, 5]]


def test_bytes_beyond_a_report_are_zeroed() -> None:
    capture = read_capture(npz_bytes(size=np.array([2, 1, 0], np.uint16)))
    assert capture.block.raw.tolist() == [[1, 1], [1, 0], [0, 0]]


def test_strings_of_a_foreign_capture_become_plain() -> None:
    capture = read_capture(npz_bytes(meta=meta_array(product="Plo\x1b[31mver\u202e\n" + "x" * 500)))
    assert capture.meta.product.startswith("Plo[31mver x")
    assert len(capture.meta.product) == 64


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param(b"", "not a capture", id="an empty file"),
        pytest.param(b"hello" * 100, "not a capture", id="a foreign file"),
        pytest.param(npz_bytes()[:-30], "not a capture", id="a file whose end is missing"),
        pytest.param(npz_bytes(meta=None), "no array named meta", id="no meta"),
        pytest.param(npz_bytes(report=None), "no array named report", id="no report"),
        pytest.param(npz_bytes(meta=np.array("{")), "not JSON", id="meta that is not JSON"),
        pytest.param(npz_bytes(meta=np.array("[" * 100_000)), "not JSON", id="meta nested too deep"),
        pytest.param(npz_bytes(meta=np.array('{"lost": NaN}')), "not JSON", id="a NaN in meta"),
        pytest.param(npz_bytes(meta=meta_array(format="other")), "not a restpoint-capture", id="another format"),
        pytest.param(npz_bytes(meta=meta_array(version=2)), "update the program", id="a newer version"),
        pytest.param(npz_bytes(meta=meta_array(vendor_id=70000)), "vendor_id", id="a vendor id out of range"),
        pytest.param(npz_bytes(meta=meta_array(vendor_id=True)), "vendor_id", id="a vendor id that is no number"),
        pytest.param(npz_bytes(meta=meta_array(bus="serial")), "bus", id="an unknown bus"),
        pytest.param(npz_bytes(meta=meta_array(started_at="yesterday")), "ISO 8601", id="a date that is none"),
        pytest.param(npz_bytes(meta=meta_array(product=3)), "product", id="a product that is no text"),
        pytest.param(npz_bytes(meta=meta_array(sheet=[])), "sheet must be text", id="a sheet that is no text"),
        pytest.param(npz_bytes(meta=meta_array(marks={})), "marks", id="marks that are no list"),
        pytest.param(npz_bytes(meta=meta_array(marks=[{}])), "A mark needs", id="a mark without entries"),
        pytest.param(
            npz_bytes(meta=meta_array(marks=[{"time_ns": 1, "event": "stop", "check": "", "control": ""}])),
            "event",
            id="a mark of an unknown event",
        ),
        pytest.param(
            npz_bytes(meta=meta_array(marks=[{"time_ns": -1, "event": "beat", "check": "", "control": ""}])),
            "time_ns",
            id="a mark before the beginning",
        ),
        pytest.param(npz_bytes(time_ns=np.array([2, 1, 3], np.int64)), "run backwards", id="times that run backwards"),
        pytest.param(npz_bytes(time_ns=np.array([-1, 1, 3], np.int64)), "run backwards", id="a negative time"),
        pytest.param(npz_bytes(time_ns=np.arange(2, dtype=np.int64)), "differ in length", id="too few times"),
        pytest.param(npz_bytes(time_ns=np.arange(3.0)), "int64", id="times as floating point"),
        pytest.param(npz_bytes(report=np.ones(6, np.uint8)), "2-dimensional", id="reports in one dimension"),
        pytest.param(npz_bytes(size=np.full(3, 3, np.uint16)), "larger than its reports", id="a size beyond L"),
        pytest.param(npz_bytes(descriptor=np.zeros(70_000, np.uint8)), "larger than", id="a huge descriptor"),
        pytest.param(
            with_member("report.npy", npy_header("{'descr':'|u1','fortran_order':False,'shape':(1<<40,9)}")),
            "of a kind",
            id="a header that is an expression",
        ),
        pytest.param(
            with_member("report.npy", npy_header(f"{{'descr':'|u1','fortran_order':False,'shape':({2**30},{2**30})}}")),
            "larger than",
            id="a header that claims an exabyte",
        ),
        pytest.param(
            with_member("report.npy", npy_header("{'descr':'|u1','fortran_order':False,'shape':(1000,1000)}")),
            "shorter or longer",
            id="a header that claims more than is there",
        ),
        pytest.param(with_member("report.npy", npy_header("(" * 4000)), "of a kind", id="a header of brackets"),
        pytest.param(
            with_member("report.npy", npy_header("{'descr':'|O','fortran_order':False,'shape':(3,2)}") + b"\x80"),
            "of a kind",
            id="pickled objects",
        ),
        pytest.param(with_member("report.npy", npy_header(" " * 5000)), "too long", id="a header too long"),
        pytest.param(with_member("report.npy", b"\x93NUM"), "not an npy", id="a member cut short"),
        pytest.param(zip_bytes({f"a{i}.npy": b"" for i in range(65)}), "more than a capture", id="too many members"),
        pytest.param(zip_bytes({"meta.npy": b"x"}, zipfile.ZIP_LZMA), "packed in a way", id="an unusual packing"),
    ],
)
def test_a_bad_file_gets_one_sentence(data: bytes, says: str) -> None:
    with pytest.raises(CaptureError, match=says) as caught:
        read_capture(data)
    assert "\n" not in str(caught.value)


def test_a_flipped_bit_never_gets_past_the_checksum() -> None:
    good = npz_bytes(report=np.arange(6, dtype=np.uint8).reshape(3, 2))
    reference = read_capture(good)
    for at in range(0, len(good), 7):
        bad = bytearray(good)
        bad[at] ^= 0x10
        try:
            found = read_capture(bytes(bad))
        except CaptureError:
            continue
        assert np.array_equal(found.block.raw, reference.block.raw)
        assert found.meta == reference.meta


def test_every_truncation_is_refused() -> None:
    good = write_capture(example())
    for cut in range(0, len(good) - 1, 11):
        with pytest.raises(CaptureError):
            read_capture(good[:cut])


def test_a_capture_that_breaks_a_rule_is_not_written() -> None:
    with pytest.raises(CaptureError, match="run backwards"):
        write_capture(Capture(b"", make_block([2, 1], [b"a", b"b"]), CaptureMeta(1, 1)))
    with pytest.raises(CaptureError, match="event"):
        write_capture(
            Capture(b"", make_block([1], [b"a"]), CaptureMeta(1, 1), (Mark(0, "stop", "rest", ""),))  # type: ignore[arg-type]
        )


def test_a_saved_capture_is_named_by_its_hash(tmp_path: Path) -> None:
    path = tmp_path / "unit.npz"
    digest = save_capture(path, example())
    assert digest == capture_sha256(path.read_bytes())
    assert [p.name for p in tmp_path.iterdir()] == ["unit.npz"]


def test_a_failed_save_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "unit.npz"
    path.write_bytes(b"before")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(CaptureError, match=r"unit\.npz: the capture cannot be saved \(No space left"):
        save_capture(path, example())
    assert path.read_bytes() == b"before"
    assert [p.name for p in tmp_path.iterdir()] == ["unit.npz"]


def test_a_missing_file_names_the_path(tmp_path: Path) -> None:
    with pytest.raises(CaptureError, match=r"none\.npz.*check the path"):
        read_capture(tmp_path / "none.npz")
