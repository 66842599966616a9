"""Makes the five sounds of the window: beat, done, fail, again, prompt. Run: python resources/sounds/make.py"""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np

RATE_HZ = 44_100
HERE = Path(__file__).resolve().parent


def tone(frequency_hz: float, duration_s: float, decay_s: float, level: float) -> np.ndarray:
    """A sine that begins in 2 ms and dies away, float64[n] in −1…1."""
    t = np.arange(round(duration_s * RATE_HZ)) / RATE_HZ
    attack = np.minimum(t / 0.002, 1.0)
    release = np.minimum((duration_s - t) / 0.005, 1.0)
    return level * np.sin(2 * np.pi * frequency_hz * t) * attack * release * np.exp(-t / decay_s)


def write(name: str, samples: np.ndarray) -> None:
    with wave.open(str(HERE / f"{name}.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())


if __name__ == "__main__":
    write("beat", tone(1760, 0.045, 0.012, 0.7) + tone(3520, 0.045, 0.006, 0.2))
    write("done", np.concatenate((tone(660, 0.09, 0.08, 0.45), tone(990, 0.16, 0.10, 0.45))))
    write("fail", np.concatenate((tone(330, 0.12, 0.10, 0.5), tone(233, 0.24, 0.14, 0.5))))
    write("again", np.concatenate((tone(523, 0.08, 0.06, 0.4), tone(523, 0.12, 0.08, 0.4))))
    write("prompt", np.concatenate((tone(784, 0.06, 0.05, 0.4), tone(1175, 0.14, 0.09, 0.4))))
