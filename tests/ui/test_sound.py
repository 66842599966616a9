"""Sounds: the files that ship, the mixer, and silence where there is no output."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from station.ui import sound as module
from station.ui.sound import NAMES, Mixer, Sound, load_samples


def samples(values: list[int]) -> np.ndarray:
    return np.array(values, np.int16)


def heard(block: bytes) -> list[int]:
    return np.frombuffer(block, np.int16).tolist()


def test_all_sounds_ship_and_are_short() -> None:
    found = load_samples()
    assert set(found) == set(NAMES)
    assert all(0.02 < len(s) / module.RATE_HZ < 0.5 for s in found.values())


def test_a_foreign_file_is_left_out(tmp_path: Path) -> None:
    (tmp_path / "beat.wav").write_bytes(b"RIFF nonsense")
    assert load_samples(tmp_path) == {}


def test_the_mixer_plays_a_sound_once_from_its_beginning() -> None:
    mixer = Mixer({"beat": samples([1, 2, 3, 4, 5])})
    mixer.play("beat")
    assert heard(mixer.block(3)) == [1, 2, 3]
    assert heard(mixer.block(4)) == [4, 5, 0, 0]
    assert heard(mixer.block(2)) == [0, 0]


def test_the_mixer_adds_sounds_and_never_overflows() -> None:
    mixer = Mixer({"a": samples([30000, 100])})
    mixer.play("a")
    mixer.play("a")
    assert heard(mixer.block(2)) == [32767, 200]


def test_an_unknown_sound_is_silence() -> None:
    mixer = Mixer({})
    mixer.play("fanfare")
    assert heard(mixer.block(2)) == [0, 0]


def test_without_a_library_playing_is_silent_and_harmless(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> object:
        raise ImportError(name)

    monkeypatch.setattr(module.importlib, "import_module", missing)
    sound = Sound()
    assert sound.open() is False
    sound.play("beat")
    sound.close()
    assert not sound.available


class Output:
    """A stand-in for the audio library: keeps the stream and asks it for samples."""

    class SampleFormat:
        SIGNED16 = 2

    class MiniaudioError(Exception):
        pass

    broken = False

    class PlaybackDevice:
        def __init__(self, **options: object) -> None:
            if Output.broken:
                raise Output.MiniaudioError("no output")
            self.options = options
            self.closed = False

        def start(self, stream: object) -> None:
            self.stream = stream

        def close(self) -> None:
            self.closed = True


def test_with_a_library_the_sound_reaches_the_output(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Output, "broken", False)
    monkeypatch.setattr(module.importlib, "import_module", lambda name: Output)
    sound = Sound({"done": samples([7, 8])})
    assert sound.open() is True
    sound.play("done")
    assert heard(sound._device.stream.send(3)) == [7, 8, 0]
    sound.on = False
    sound.play("done")
    assert heard(sound._device.stream.send(2)) == [0, 0]
    sound.close()


def test_a_machine_without_an_output_stays_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Output, "broken", True)
    monkeypatch.setattr(module.importlib, "import_module", lambda name: Output)
    assert Sound({}).open() is False
