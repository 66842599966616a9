"""What stands at the top level, and what is published: the source archive and the installed copy."""

from __future__ import annotations

import subprocess
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

import station

ROOT = Path(__file__).resolve().parents[2]
AGREED = {"README.md", "DEVELOPERS.md", "pyproject.toml", "station", "resources", "tests", "sample_units", "docs"}
"""all that is visible at the top level"""
CHECKOUT_ONLY = {"resources/bench", "resources/bundle.py", "resources/bundle.spec", "sample_units/make.py"}
"""of use in a checkout, not in an installed copy"""
MADE_ON_THE_WAY = ("__pycache__", ".pyc", ".so", ".old", ".orig", ".rej", ".db")


def kept() -> list[str]:
    """Every file of the checkout that git keeps (or would keep), as it lies in the folder now."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        found = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this is no git checkout")
    return [name for name in found if name and (ROOT / name).is_file()]


def test_nothing_else_is_visible_at_the_top_level() -> None:
    assert {top for name in kept() if not (top := name.split("/")[0]).startswith(".")} == AGREED


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the source archive and the wheel, made as pip makes them."""
    pytest.importorskip("hatchling", reason="hatchling is not installed; run: bash resources/bench test")
    from hatchling.builders.sdist import SdistBuilder
    from hatchling.builders.wheel import WheelBuilder

    folder = tmp_path_factory.mktemp("published")
    for builder in (SdistBuilder, WheelBuilder):
        assert list(builder(str(ROOT)).build(directory=str(folder), versions=["standard"]))
    return folder


def test_the_source_archive_holds_every_visible_file_and_no_other(published: Path) -> None:
    (archive,) = published.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        names = {name.split("/", 1)[1] for name in tar.getnames()}
    visible = {name for name in kept() if not name.startswith(".")}
    assert names - {"PKG-INFO", ".gitignore"} == visible


def test_the_wheel_holds_the_package_with_resources_and_sample_units_inside_and_no_stray_file(published: Path) -> None:
    (wheel,) = published.glob("*.whl")
    with zipfile.ZipFile(wheel) as zipped:
        names = {name for name in zipped.namelist() if ".dist-info/" not in name}
    assert not [name for name in names if name.endswith(MADE_ON_THE_WAY) or "__pycache__" in name]
    code = {name for name in kept() if name.startswith("station/")}
    beside = {name for name in kept() if name.startswith(("resources/", "sample_units/"))} - CHECKOUT_ONLY
    assert names == code | {f"station/{name}" for name in beside}


def test_an_editable_copy_is_the_checkout_itself(published: Path, tmp_path: Path) -> None:
    from hatchling.builders.wheel import WheelBuilder

    (wheel,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["editable"])
    with zipfile.ZipFile(wheel) as zipped:
        (pointer,) = [name for name in zipped.namelist() if ".dist-info/" not in name]
        assert pointer.endswith(".pth")
        assert zipped.read(pointer).decode().split() == [str(ROOT)]


def test_the_version_stands_in_one_place() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    assert "version" not in project["project"]
    assert (ROOT / project["tool"]["hatch"]["version"]["path"]).samefile(station.__file__)
