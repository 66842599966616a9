"""The command line itself: options before the command, a bug of ours, a terminal with few letters."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from station import SAMPLE_UNITS
from station.app import paths
from station.app.commands import log
from station.app.main import BUG, main

ROOT = Path(__file__).resolve().parents[2]


def test_the_records_may_be_named_before_learn(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path))  # main sets it: put it back afterwards
    assert main(["--records", str(tmp_path), "learn", "--capture", str(tmp_path / "gone.npz")]) == 2
    assert "gone.npz" in capsys.readouterr().err


def test_a_bug_is_told_in_one_sentence_and_leaves_a_report(capsys, monkeypatch):
    def bug(args):
        raise AttributeError("made up")

    monkeypatch.setattr(log, "run", bug)
    assert main(["log", "verify"]) == BUG
    said = capsys.readouterr().err
    assert said.startswith("restpoint: ")
    assert said.count("\n") == 1
    report = next(paths.log_folder().glob("crash-*.txt"))
    assert str(report) in said
    assert "AttributeError: made up" in report.read_text(encoding="utf-8")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_a_terminal_without_the_minus_sign_still_gets_the_readings(encoding):
    done = subprocess.run(
        [sys.executable, "-m", "station.app.main", "assess", str(SAMPLE_UNITS / "SM-07-03.npz")],
        env={**os.environ, "PYTHONIOENCODING": encoding},
        cwd=ROOT,
        capture_output=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert b"\\u2212" in done.stdout
