"""Makes the stand-alone program: a folder that carries its own Python, tried, and an archive of it.

    bash resources/bench bundle [FOLDER]     (FOLDER: where both go; without one, dist)

The archive is only written after the folder did what a bench does: list devices, work through a sample unit, verify
the certificate, and keep its window open for ten seconds.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tarfile
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from station import __version__  # noqa: E402
from station.app.notices import FILE, notices  # noqa: E402

WINDOW_S = 10.0
MOST_S = 300.0
"""a step that takes longer hangs"""


class BundleError(Exception):
    """A step did not do what it should; the message says which."""


def build(folder: Path, work: Path) -> Path:
    """The program's folder in `folder`, made anew."""
    (inner := work / "bundle").mkdir()  # PyInstaller's own name for the folder it works in
    (inner / FILE).write_text(notices(), "utf-8")
    command = [sys.executable, "-m", "PyInstaller", "--noconfirm", "--log-level=ERROR"]
    places = [f"--distpath={folder}", f"--workpath={work}", str(HERE / "bundle.spec")]
    if subprocess.run([*command, *places], check=False).returncode:
        raise BundleError("PyInstaller could not make it; its own words stand above")
    return folder / "restpoint"


def attempt(program: Path, work: Path) -> dict[str, float]:
    """How long each step took, s. BundleError at the first that went wrong."""
    home = work / "home"
    home.mkdir()
    drawn = {} if os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") else {"QT_QPA_PLATFORM": "offscreen"}
    # no library and no module of the machine that it was made on may help it
    kept = {name: value for name, value in os.environ.items() if name in ("DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY")}
    environment = {"HOME": str(home), "PATH": "/usr/bin:/bin", "LANG": "C.UTF-8", **kept, **drawn}
    runtime = os.environ.get("XDG_RUNTIME_DIR")
    environment |= {"XDG_RUNTIME_DIR": runtime} if runtime else {}
    took: dict[str, float] = {}

    def step(name: str, *arguments: str) -> str:
        begun = time.monotonic()
        done = subprocess.run(
            [program / "restpoint", *arguments],
            cwd=home,
            env=environment,
            capture_output=True,
            text=True,
            timeout=MOST_S,
        )
        took[name] = time.monotonic() - begun
        if done.returncode or done.stderr.strip():
            reports = "".join(file.read_text("utf-8") for file in home.rglob("crash-*.txt"))
            raise BundleError(f"{name}: exit status {done.returncode}\n{done.stdout}{done.stderr}{reports}".strip())
        return done.stdout

    step("version", "--version")
    step("devices", "devices")
    step("notices", "notices")
    step("demo", "demo", "--auto", "--folder", str(home / "demo"))
    (certificate,) = (home / "demo").rglob("*.pdf")
    step("plan", "--records", str(home / "demo"), "plan", "SM-07", "--hours", "8")
    step("verify", "--records", str(home / "demo"), "verify", str(certificate))
    took["window"] = _window(program, environment, home)
    return took


def _window(program: Path, environment: dict[str, str], home: Path) -> float:
    """The window stays open for ten seconds, and ends when it is told to."""
    begun = time.monotonic()
    with subprocess.Popen(
        [program / "restpoint"], cwd=home, env=environment, stderr=subprocess.PIPE, text=True
    ) as shown:
        with contextlib.suppress(subprocess.TimeoutExpired):
            shown.wait(WINDOW_S)
        if shown.poll() is not None:
            raise BundleError(
                f"window: ended by itself, exit status {shown.returncode}\n{shown.communicate()[1]}".strip()
            )
        shown.terminate()
        said = shown.communicate(timeout=MOST_S)[1]
    if "Error" in said or "Traceback" in said:
        raise BundleError(f"window:\n{said}")
    return time.monotonic() - begun


def pack(program: Path) -> Path:
    """The archive beside the folder, with the version and the machine in its name."""
    archive = program.parent / f"restpoint-{__version__}-{sys.platform}-{os.uname().machine}.tar.gz"
    with tarfile.open(archive, "w:gz", compresslevel=6) as tar:
        tar.add(program, program.name)
    return archive


def size_mb(path: Path) -> float:
    """Of a file, or of all files in a folder."""
    files = [path] if path.is_file() else [file for file in path.rglob("*") if file.is_file() and not file.is_symlink()]
    return sum(file.stat().st_size for file in files) / 1e6


def main() -> int:
    """Make, try, pack, and say what came of it."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "dist").absolute()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="restpoint-bundle-") as name:
        try:
            program = build(folder, Path(name))
            made_s = time.monotonic() - begun
            took = attempt(program, Path(name))
        except BundleError as error:
            print(f"restpoint: no stand-alone program was made. {error}", file=sys.stderr)
            return 1
    archive = pack(program)
    for step, seconds in took.items():
        print(f"{step:10s} {seconds:6.2f} s")
    print(f"made in {made_s:.0f} s: {program} ({size_mb(program):.0f} MB), {archive} ({size_mb(archive):.0f} MB)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
