"""Short sounds for beats and outcomes. Silent where there is no output or no library: sound is never the only sign.

`miniaudio` is used if it is installed (self-contained wheels for Linux, Windows and macOS, no system library). One
output stays open; a generator mixes what is due, so `play` only sets a cursor and returns.
"""

from __future__ import annotations

import array
import importlib
import wave
from collections.abc import Callable, Generator
from pathlib import Path
from typing import Any

from station import RESOURCES

NAMES = ("beat", "done", "fail", "again")
RATE_HZ = 44_100
FOLDER = RESOURCES / "sounds"
Play = Callable[[str], None]


class Mixer:
    """Sums the sounds that are being played into blocks of 16-bit mono. `play` may be called from any thread."""

    def __init__(self, samples: dict[str, array.array[int]]) -> None:
        self._samples = samples
        self._playing: list[tuple[array.array[int], int]] = []

    def play(self, name: str) -> None:
        """Start a sound from its beginning; unknown names are silent."""
        if name in self._samples:
            self._playing = [*self._playing[-3:], (self._samples[name], 0)]

    def block(self, frames: int) -> array.array[int]:
        """The next `frames` samples."""
        out = array.array("h", bytes(2 * frames))
        on = self._playing
        for sample, at in on:
            for k, value in enumerate(sample[at : at + frames]):
                out[k] = max(-32768, min(32767, out[k] + value))
        left = [(s, at + frames) for s, at in on if at + frames < len(s)]
        # a sound that began meanwhile is kept
        self._playing = left + [p for p in self._playing if p not in on]
        return out


def load_samples(folder: Path = FOLDER) -> dict[str, array.array[int]]:
    """The sounds that are there; a missing or foreign file is left out."""
    found = {}
    for name in NAMES:
        try:
            with wave.open(str(folder / f"{name}.wav"), "rb") as file:
                if (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ):
                    found[name] = array.array("h", file.readframes(file.getnframes()))
        except (OSError, EOFError, wave.Error):
            continue
    return found


class Sound:
    """The window's sound. `on` can be switched; without an output everything stays silent."""

    def __init__(self, samples: dict[str, array.array[int]] | None = None) -> None:
        self.on = True
        self._mixer = Mixer(load_samples() if samples is None else samples)
        self._device: Any = None

    @property
    def available(self) -> bool:
        """True while an output is open."""
        return self._device is not None

    def open(self) -> bool:
        """Open the output if there is one. Never raises: no sound is no fault."""
        try:
            library = importlib.import_module("miniaudio")
        except ImportError:
            return False
        try:
            device = library.PlaybackDevice(
                output_format=library.SampleFormat.SIGNED16, nchannels=1, sample_rate=RATE_HZ, buffersize_msec=30
            )
            stream = self._stream()
            next(stream)
            device.start(stream)
        except (library.MiniaudioError, OSError):
            return False
        self._device = device
        return True

    def play(self, name: str) -> None:
        """Play and return at once."""
        if self.on and self._device is not None:
            self._mixer.play(name)

    def close(self) -> None:
        if self._device is not None:
            self._device.close()
            self._device = None

    def _stream(self) -> Generator[array.array[int], int, None]:
        frames = yield array.array("h")
        while True:
            frames = yield self._mixer.block(frames)
