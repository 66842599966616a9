"""Reading a foreign `.npz` without trusting it: every size is known and bounded before it is allocated.

`numpy.load` allocates what a header claims, so the zip directory and the npy headers (format: NEP 1,
versions 1 and 2) are read here first. A member's claimed size must fit both its header and the directory,
and data are inflated piece by piece, so a header that lies costs no more than what is really in the file.
"""

from __future__ import annotations

import ast
import io
import math
import re
import struct
import zipfile
import zlib
from dataclasses import dataclass
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from station.errors import CaptureError
from station.words import captures as words

MAX_FILE = 1_200_000_000
MAX_MEMBERS = 64
_MAX_HEADER = 4096
_PIECE = 1 << 20
_MAGIC = b"\x93NUMPY"
_EPOCH = (1980, 1, 1, 0, 0, 0)
BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    RuntimeError,
    NotImplementedError,
    ValueError,
    struct.error,
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a member may be: dtype kind and item size (0 = any), dimensions, and the most bytes it may take."""

    kind: str
    item: int
    ndim: int
    max_bytes: int


@dataclass(frozen=True, slots=True)
class _Header:
    dtype: np.dtype[Any]
    shape: tuple[int, ...]
    fortran: bool


def open_directory(file: IO[bytes]) -> zipfile.ZipFile:
    """The zip directory of an open file; CaptureError if it is none or has too many members."""
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    if size > MAX_FILE:
        raise CaptureError(words.FILE_TOO_LARGE.format(most=MAX_FILE // 10**6))
    try:
        archive = zipfile.ZipFile(file)
    except BROKEN:
        raise CaptureError(words.NO_ARCHIVE) from None
    names = archive.namelist()
    if len(names) > MAX_MEMBERS or len(set(names)) != len(names):
        raise CaptureError(words.TOO_MANY_ARRAYS)
    return archive


def read_member(archive: zipfile.ZipFile, name: str, wanted: Wanted) -> NDArray[Any]:
    """The array `name` as the agreed type in native byte order; CaptureError says what is wrong with it."""
    try:
        entry = archive.getinfo(name + ".npy")
    except KeyError:
        raise CaptureError(words.NO_ARRAY.format(name=name)) from None
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) or entry.flag_bits & 1:
        raise CaptureError(words.ARRAY_PACKED.format(name=name))
    try:
        with archive.open(entry) as stream:
            return _read_array(stream, name, wanted, entry.file_size)
    except BROKEN:
        raise CaptureError(words.ARRAY_DAMAGED.format(name=name)) from None


def _read_array(stream: IO[bytes], name: str, wanted: Wanted, file_size: int) -> NDArray[Any]:
    header, header_bytes = _read_header(stream, name)
    dtype, shape = header.dtype, header.shape
    if dtype.kind != wanted.kind or (wanted.item and dtype.itemsize != wanted.item) or len(shape) != wanted.ndim:
        kind = words.TEXT_ARRAY if wanted.kind == "U" else np.dtype(f"{wanted.kind}{wanted.item}").name
        raise CaptureError(words.ARRAY_KIND.format(name=name, dimensions=wanted.ndim, kind=kind))
    nbytes = dtype.itemsize * math.prod(shape)
    if nbytes > wanted.max_bytes or any(n > wanted.max_bytes for n in shape):
        raise CaptureError(words.ARRAY_TOO_LARGE.format(name=name))
    if header_bytes + nbytes != file_size:
        raise CaptureError(words.ARRAY_LENGTH.format(name=name))
    data = bytearray()
    while len(data) < nbytes:
        piece = stream.read(min(_PIECE, nbytes - len(data)))
        if not piece:
            raise CaptureError(words.ARRAY_SHORT.format(name=name))
        data += piece
    if stream.read(1):  # also makes zipfile compare the checksum
        raise CaptureError(words.ARRAY_LONG.format(name=name))
    array = np.frombuffer(data, dtype=dtype).reshape(shape, order="F" if header.fortran else "C")
    return array.astype(dtype.newbyteorder("="), copy=False)


def _read_header(stream: IO[bytes], name: str) -> tuple[_Header, int]:
    start = stream.read(8)
    if len(start) < 8 or start[:6] != _MAGIC or start[6] not in (1, 2):
        raise CaptureError(words.ARRAY_FOREIGN.format(name=name))
    width, code = (2, "<H") if start[6] == 1 else (4, "<I")
    (length,) = struct.unpack(code, stream.read(width))
    if length > _MAX_HEADER:
        raise CaptureError(words.ARRAY_HEADER.format(name=name))
    text = stream.read(length).decode("latin-1")
    try:
        fields = ast.literal_eval(text)
        descr, shape, fortran = fields["descr"], fields["shape"], fields["fortran_order"]
        right = re.fullmatch(r"[<>|=][biufcSUV]\d{1,9}", descr) and type(shape) is tuple and type(fortran) is bool
        if not right or not all(type(n) is int and 0 <= n < 2**48 for n in shape) or len(shape) > 2:
            raise ValueError(descr)
        header = _Header(np.dtype(descr), shape, fortran)
    except (ValueError, SyntaxError, TypeError, KeyError, RecursionError, MemoryError):
        raise CaptureError(words.ARRAY_UNKNOWN.format(name=name)) from None
    return header, 8 + width + length


def pack(arrays: dict[str, NDArray[Any]]) -> bytes:
    """A compressed `.npz`; equal arrays give equal bytes (fixed time stamps, fixed order)."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, array in arrays.items():
            entry = zipfile.ZipInfo(name + ".npy", _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            with archive.open(entry, "w") as stream:
                np.lib.format.write_array(stream, array, allow_pickle=False)
    return out.getvalue()
