"""A pipe, a device or a folder in the place of a file ends in one sentence, at once."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from station import SAMPLE_UNITS
from station.app.main import main
from tests.records.records_kit import open_store

SAMPLE = SAMPLE_UNITS / "SM-07-06.npz"
MOST_S = 20


@pytest.fixture(autouse=True)
def _ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Whoever waits for a pipe is ended; records of our own are there."""
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names on this system")

    def late(*_: object) -> None:
        raise AssertionError("it waited, or read without end")

    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "data"))
    open_store(tmp_path / "data").close()
    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(MOST_S)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def a_pipe(folder: Path) -> Path:
    os.mkfifo(folder / "given")
    return folder / "given"


def a_folder(folder: Path) -> Path:
    (folder / "given").mkdir()
    return folder / "given"


THINGS = [
    pytest.param(a_pipe, id="pipe"),
    pytest.param(lambda _: Path("/dev/zero"), id="endless"),
    pytest.param(lambda _: Path("/dev/tty"), id="terminal"),
    pytest.param(a_folder, id="folder"),
]


@pytest.mark.parametrize("make", THINGS)
@pytest.mark.parametrize(
    "command",
    [
        pytest.param(["assess", "{}"], id="capture"),
        pytest.param(["assess", str(SAMPLE), "--sheet", "{}"], id="sheet"),
        pytest.param(["learn", "--capture", "{}"], id="walk"),
        pytest.param(["verify", "{}"], id="certificate"),
        pytest.param(["key", "--trust", "{}", "--name", "x", "--fingerprint", "y"], id="key"),
        pytest.param(["merge", "{}", "--yes"], id="records"),
        pytest.param(["restore", "{}"], id="back-up"),
    ],
)
def test_it_ends_in_one_sentence(tmp_path: Path, capsys, make: Callable[[Path], Path], command: list[str]):
    thing = make(tmp_path)
    assert main([part.format(thing) for part in command]) == 2
    said = capsys.readouterr().err
    assert said.startswith("restpoint: ")
    assert said.count("\n") == 1
    assert said.rstrip().endswith("."), said


@pytest.mark.parametrize("beside", ["restpoint.db", "restpoint.db-wal", "restpoint.db-journal"])
def test_a_pipe_in_the_folder_of_the_other_bench(tmp_path: Path, capsys, beside: str):
    open_store(tmp_path / "other").close()
    (tmp_path / "other" / beside).unlink(missing_ok=True)
    os.mkfifo(tmp_path / "other" / beside)
    assert main(["merge", str(tmp_path / "other"), "--yes"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
