"""Short sounds for beats and outcomes. Silent where there is no output or no library: sound is never the only sign.

`miniaudio` is used if it is installed (self-contained wheels for Linux, Windows and macOS, no system library). One
output stays open; a generator mixes what is due, so `play` only sets a cursor and returns.
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib
import sys
import threading
import wave
from collections.abc import Generator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from station import RESOURCES

NAMES = ("beat", "done", "fail", "again", "prompt")
RATE_HZ = 44_100
FOLDER = RESOURCES / "sounds"
I16 = NDArray[np.int16]


_ALSA_SAYS = ctypes.CFUNCTYPE(None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p)


_say_nothing = _ALSA_SAYS(lambda *told: None)
"""in the place of what writes to standard error; kept, since the library does not hold it"""


def _quiet_alsa() -> None:
    """Without a sound card ALSA fills standard error with lines about its configuration; that there is no output is
    known without them. The handler is one for the process (alsa-lib, `snd_lib_error_set_handler`)."""
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_say_nothing)


class Mixer:
    """Sums the sounds that are being played into blocks of 16-bit mono. `play` may be called from any thread."""

    def __init__(self, samples: Mapping[str, I16]) -> None:
        self._samples = samples
        self._playing: list[tuple[I16, int]] = []
        self._lock = threading.Lock()

    def play(self, name: str) -> None:
        """Start a sound from its beginning; unknown names are silent."""
        if name in self._samples:
            with self._lock:
                self._playing = [*self._playing[-3:], (self._samples[name], 0)]

    def block(self, frames: int) -> bytes:
        """The next `frames` samples, 16-bit in the machine's order."""
        with self._lock:
            on = self._playing
            self._playing = [(sample, at + frames) for sample, at in on if at + frames < len(sample)]
        if not on:
            return bytes(2 * frames)
        out = np.zeros(frames, np.int32)
        for sample, at in on:
            piece = sample[at : at + frames]
            out[: len(piece)] += piece
        return np.clip(out, -32768, 32767).astype(np.int16).tobytes()


def load_samples(folder: Path = FOLDER) -> dict[str, I16]:
    """The sounds that are there; a missing or foreign file is left out."""
    found = {}
    for name in NAMES:
        try:
            with wave.open(str(folder / f"{name}.wav"), "rb") as file:
                if (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ):
                    found[name] = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.int16)
        except (OSError, EOFError, wave.Error):
            continue
    return found


class Sound:
    """The window's sound. `on` can be switched; without an output everything stays silent."""

    def __init__(self, samples: Mapping[str, I16] | None = None) -> None:
        self.on = True
        self._mixer = Mixer(load_samples() if samples is None else samples)
        self._device: Any = None
        self._closed = False

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
        _quiet_alsa()
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
        if self._closed:
            self.close()
        return not self._closed

    def open_beside(self) -> None:
        """`open` in a thread of its own: looking for outputs can take a moment."""
        threading.Thread(target=self.open, name="sound", daemon=True).start()

    def play(self, name: str) -> None:
        """Play and return at once."""
        if self.on and self._device is not None:
            self._mixer.play(name)

    def close(self) -> None:
        self._closed = True
        if self._device is not None:
            self._device.close()
            self._device = None

    def _stream(self) -> Generator[bytes, int, None]:
        frames = yield b""
        while True:
            frames = yield self._mixer.block(frames)
