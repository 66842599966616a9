"""Arrays that grow at the end, so that a running try costs no more at its end than at its beginning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from station.sheets.signals import Signal

_FIRST = 1024


class Growing:
    """One array of values, or of rows of that shape; `values` is a read-only view of all that was appended, without a
    copy."""

    def __init__(self, dtype: Any, row: tuple[int, ...] = ()) -> None:
        self._room: NDArray[Any] = np.empty((_FIRST, *row), dtype)
        self._length = 0

    def append(self, values: NDArray[Any]) -> None:
        """Put `values` at the end; views handed out before stay as they were."""
        end = self._length + len(values)
        if end > len(self._room):
            larger = np.empty((max(end, 2 * len(self._room)), *self._room.shape[1:]), self._room.dtype)
            larger[: self._length] = self._room[: self._length]
            self._room = larger
        self._room[self._length : end] = values
        self._length = end

    @property
    def values(self) -> NDArray[Any]:
        view = self._room[: self._length]
        view.flags.writeable = False
        return view


class SignalLog:
    """The signals of a try, piece by piece."""

    def __init__(self) -> None:
        self._like: dict[str, Signal] = {}
        self._arrays: dict[str, dict[str, Growing]] = {}

    def append(self, piece: Mapping[str, Signal]) -> None:
        """Put the signals of the next block at the end."""
        for control, signal in piece.items():
            if control not in self._arrays:
                self._like[control] = signal
                arrays = {name: getattr(signal, name) for name in type(signal).__slots__}
                self._arrays[control] = {
                    n: Growing(a.dtype, a.shape[1:]) for n, a in arrays.items() if isinstance(a, np.ndarray)
                }
            for name, growing in self._arrays[control].items():
                growing.append(getattr(signal, name))

    def signals(self) -> dict[str, Signal]:
        """Control id → everything it did so far; controls that never reported are absent."""
        found: dict[str, Signal] = {}
        for control, arrays in self._arrays.items():
            values: dict[str, Any] = {name: growing.values for name, growing in arrays.items()}
            found[control] = replace(self._like[control], **values)
        return found
