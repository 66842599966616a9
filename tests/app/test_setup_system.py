"""What a system is told of the program: put in place, current, valid by the validators of those formats, taken away."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from station.app import paths, system
from station.app.main import main
from tests.house.papers import ROOT

linux = pytest.mark.skipif(sys.platform != "linux", reason="other systems need none of it")


def all_files(folder: Path) -> set[str]:
    """Every file below a folder, by its place in it."""
    return {str(file.relative_to(folder)) for file in folder.rglob("*") if file.is_file()}


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a home (`data`), the system's rules (`rules`) and a sudo that lets everything be done."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(system, "RULES", tmp_path / "rules")
    monkeypatch.setattr(system, "_RELOAD", "true")
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    set_sudo(tmp_path, monkeypatch, 'exec "$@"')
    return tmp_path


def set_sudo(folder: Path, monkeypatch: pytest.MonkeyPatch, body: str | None) -> None:
    """Nothing but the shell and what a rule needs can be found, and a sudo that does this (None: no sudo)."""
    commands = folder / "commands"
    shutil.rmtree(commands, ignore_errors=True)
    commands.mkdir()
    for name in ("sh", "install", "rm", "true"):
        (commands / name).symlink_to(str(shutil.which(name, path="/usr/bin:/bin")))
    if body is not None:
        (commands / "sudo").write_text(f"#!/bin/sh\n{body}\n")
        (commands / "sudo").chmod(0o755)
    monkeypatch.setenv("PATH", str(commands))


@linux
def test_it_is_put_in_place_and_taken_away_again(machine: Path, capsys: pytest.CaptureFixture[str]) -> None:
    records = machine / "data" / "restpoint" / "records.db"
    records.parent.mkdir(parents=True)
    records.write_bytes(b"a person's")
    assert main(["setup-system", "--yes"]) == 0
    there = all_files(machine / "data")
    assert {"applications/org.restpoint.Restpoint.desktop", "man/man1/restpoint.1"} <= there
    assert all_files(machine / "rules") == {file.name for file in (ROOT / "resources").glob("*.rules")}
    said = capsys.readouterr().out
    assert all(name in said for name in there - {"restpoint/records.db"})
    assert main(["setup-system", "--yes"]) == 0  # a second time the rule asks for nobody's password
    assert "administrator" not in capsys.readouterr().out
    assert main(["setup-system", "--remove", "--yes"]) == 0
    assert all_files(machine / "data") == {"restpoint/records.db"}
    assert not all_files(machine / "rules")
    assert str(paths.records_folder()) in capsys.readouterr().out
    assert main(["setup-system", "--remove", "--yes"]) == 0
    assert "Nothing of it is there" in capsys.readouterr().out


@linux
@pytest.mark.parametrize(
    ("sudo", "said"),
    [("exit 1", "sudo did not allow it"), (None, "there is no sudo here")],
    ids=["refuses", "is missing"],
)
def test_what_needs_an_administrator_is_said_and_the_rest_is_done(
    machine: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], sudo: str | None, said: str
) -> None:
    set_sudo(machine, monkeypatch, sudo)
    assert main(["setup-system", "--yes"]) == 1
    last = capsys.readouterr().out.splitlines()[-1]
    assert said in last
    assert (machine / "data/applications/org.restpoint.Restpoint.desktop").is_file()
    assert not (machine / "rules").exists()
    # the command that it names does it
    monkeypatch.undo()
    subprocess.run(shlex.split(last.rpartition(" run: ")[2]), check=True)
    assert all_files(machine / "rules")


@linux
def test_without_a_yes_nothing_is_changed(machine: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["setup-system"]) == 1
    assert "nobody was there to say yes" in capsys.readouterr().out
    assert not (machine / "data").exists()


@linux
@pytest.mark.skipif(shutil.which("desktop-file-validate") is None, reason="desktop-file-utils is not installed")
@pytest.mark.parametrize("place", ["/opt/restpoint/restpoint", '/home/a b/50 %/$x "y" `z` \\w/restpoint'])
def test_the_menu_entry_is_valid_and_starts_the_program_wherever_it_lies(tmp_path: Path, place: str) -> None:
    """desktop-file-validate of desktop-file-utils."""
    file = tmp_path / "a.desktop"
    file.write_text(system.entry([place]), "utf-8")
    done = subprocess.run(["desktop-file-validate", file], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "")


def test_an_argument_is_quoted_as_the_specification_says() -> None:
    """Desktop Entry Specification 1.5, "The Exec key": a literal dollar sign in a quoted argument is written `\\\\$`, a
    literal backslash as four of them; %% is a literal percent sign."""
    assert system.quoted("a b$c\\d%") == '"a b\\\\$c\\\\\\\\d%%"'


@linux
@pytest.mark.skipif(shutil.which("appstreamcli") is None, reason="appstream is not installed")
def test_what_software_centres_show_is_valid(tmp_path: Path) -> None:
    """appstreamcli of AppStream."""
    file = tmp_path / f"{system.APP_ID}.metainfo.xml"
    file.write_text(system.about(), "utf-8")
    done = subprocess.run(
        ["appstreamcli", "validate", "--no-net", "--no-color", file], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_the_manual_page_is_that_of_the_command_line() -> None:
    sys.path.insert(0, str(ROOT / "resources" / "system"))
    try:
        import make
    finally:
        sys.path.pop(0)
    kept = system.MANUAL.read_text("utf-8")
    assert kept.split() == make.manual().split(), "run: python resources/system/make.py"


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_the_completion_knows_every_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    text = capsys.readouterr().out
    assert all(name in text for name in ("setup-system", "verify", "labels", "--records"))
    found = shutil.which(shell)
    if found is not None:  # it can be read by that shell
        assert subprocess.run([found, "-n", "-c", text], check=False).returncode == 0


def test_the_notices_name_all_that_runs_with_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["notices"]) == 0
    text = capsys.readouterr().out
    for name in ("numpy", "PySide6", "cryptography", "Atkinson Hyperlegible", "Python ", "the Restpoint maintainers"):
        assert name in text
    assert "LGPL" in text
    assert "https://download.qt.io" in text
    assert "pytest" not in text.split("\n\n---")[0]
