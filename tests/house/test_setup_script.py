"""What the setup script says when the machine does not let it: one true sentence each, and nothing half made."""

from __future__ import annotations

import shutil
import stat
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.house.papers import ROOT

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the script is for Debian and Ubuntu")

ALL_THERE = 'echo "install ok installed "'
NONE_THERE = "exit 1"
PYTHON = """
case "$*" in
  *ensurepip*) exit 0 ;;
  *version_info*) exit 0 ;;
  -V) echo Python 3.11.9 ;;
  "-m venv .venv") mkdir -p .venv/bin && cp "$0" .venv/bin/python ;;
  "-m pip --version") exit 0 ;;
  "-m pip install"*) %s ;;
  "-c ") exit 0 ;;
esac
"""


@dataclass(frozen=True)
class Machine:
    """Commands as they behave there, by name, and what it should come to."""

    commands: dict[str, str]
    says: str
    venv: bool = False
    """whether a .venv must be there at the end"""
    before: dict[str, str] = field(default_factory=dict)
    """files in .venv/bin before, by name"""


def pip(body: str) -> dict[str, str]:
    """A machine with every system package, whose pip behaves so."""
    return {"dpkg-query": ALL_THERE, "python3": PYTHON % body}


REFUSED = {"dpkg-query": NONE_THERE, "id": "echo 1000"}
MACHINES = {
    "no dpkg": Machine({"dpkg-query": ""}, "see README.md for other systems"),
    "no sudo": Machine(REFUSED, "there is no sudo here; as root, run: apt-get install libegl1"),
    "sudo refuses": Machine({**REFUSED, "sudo": "exit 1"}, "sudo did not allow it; ask whoever runs this machine"),
    "apt without network": Machine(
        {"dpkg-query": NONE_THERE, "id": "echo 0", "apt-get": "echo 'Temporary failure in name resolution'; exit 1"},
        "there is no network",
    ),
    "apt broken": Machine(
        {"dpkg-query": NONE_THERE, "id": "echo 0", "apt-get": "echo 'E: sources.list is malformed'; exit 100"},
        "apt-get update failed, its last words stand above",
    ),
    "a package is not to be had": Machine(
        {"dpkg-query": NONE_THERE, "id": "echo 0", "apt-get": "exit 0", "env": "echo 'E: no libegl1'; exit 100"},
        "apt-get could not install libegl1",
    ),
    "old python": Machine(
        {"dpkg-query": ALL_THERE, "python3": 'case "$*" in -V) echo Python 3.9.2 ;; *version_info*) exit 1 ;; esac'},
        "Python 3.11 or newer is needed; python3 here is Python 3.9.2",
    ),
    "broken venv": Machine(pip("exit 0"), "its Python does not start", venv=True, before={"python": "exit 127"}),
    "venv without pip": Machine(
        pip("exit 0"), "has no pip", venv=True, before={"python": 'case "$*" in *pip*) exit 1 ;; esac'}
    ),
    "pip without network": Machine(
        pip("echo NewConnectionError; exit 1"), "there is no network (or the Python packages", venv=True
    ),
    "pip fails": Machine(pip("echo 'error: no space'; exit 1"), "pip could not install the packages", venv=True),
}
NEEDED = (
    "bash",
    "sh",
    "readlink",
    "dirname",
    "mktemp",
    "tail",
    "grep",
    "cat",
    "cksum",
    "rm",
    "mkdir",
    "cp",
    "env",
    "chmod",
)


def run(folder: Path, machine: Machine) -> subprocess.CompletedProcess[str]:
    """The script in a checkout of its own, on a machine that has only these commands."""
    (folder / "resources").mkdir()
    shutil.copy(ROOT / "resources" / "bench", folder / "resources")
    shutil.copy(ROOT / "pyproject.toml", folder)
    places = {folder / "commands": machine.commands, folder / ".venv" / "bin": machine.before}
    (folder / "commands").mkdir()
    for name in NEEDED:
        if name not in machine.commands and (found := shutil.which(name)):
            (folder / "commands" / name).symlink_to(found)
    for place, commands in places.items():
        for name, body in commands.items():
            if body:
                place.mkdir(parents=True, exist_ok=True)
                (place / name).write_text(f"#!{shutil.which('bash')}\n{body}\n")
                (place / name).chmod(stat.S_IRWXU)
    (folder / "tmp").mkdir()
    return subprocess.run(
        [shutil.which("bash") or "bash", "resources/bench", "run", "--version"],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={"PATH": str(folder / "commands"), "TMPDIR": str(folder / "tmp")},
    )


@pytest.mark.parametrize("name", MACHINES)
def test_what_stops_it_is_said_in_one_true_sentence(tmp_path: Path, name: str) -> None:
    machine = MACHINES[name]
    done = run(tmp_path, machine)
    last = done.stderr.strip().splitlines()[-1]
    assert done.returncode == 1
    assert last.startswith("restpoint: ")
    assert machine.says in last
    assert (tmp_path / ".venv").exists() == machine.venv
    assert not list((tmp_path / "tmp").iterdir())


def test_noise_is_shown_only_where_something_fails(tmp_path: Path) -> None:
    good, bad = tmp_path / "good", tmp_path / "bad"
    good.mkdir()
    bad.mkdir()
    made = "printf '#!/bin/sh\\necho restpoint 1.0\\n' > .venv/bin/restpoint; chmod +x .venv/bin/restpoint"
    noise = "echo a deprecation nobody can help"
    fine = run(good, Machine(pip(f"{noise}; {made}"), ""))
    assert fine.returncode == 0, fine.stderr
    assert "deprecation" not in fine.stdout + fine.stderr
    assert fine.stdout.endswith("restpoint 1.0\n")
    assert not list((good / "tmp").iterdir())
    assert "deprecation" in run(bad, Machine(pip(f"{noise}; exit 1"), "")).stderr
