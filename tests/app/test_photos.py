"""The newest pictures of a folder, and the folder that is remembered."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QImage

from station.app import paths, photos
from station.app.desk import StationDesk
from station.records.types import Note, Unit
from tests.records.records_kit import open_store


def picture(path: Path, at: float) -> Path:
    image = QImage(8, 6, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    assert image.save(str(path))
    os.utime(path, (at, at))
    return path


def test_the_newest_come_first_and_nothing_but_pictures(tmp_path: Path) -> None:
    old, new = picture(tmp_path / "a.png", 1_000), picture(tmp_path / "B.JPG", 2_000)
    (tmp_path / "notes.txt").write_text("no picture")
    (tmp_path / "folder.png").mkdir()
    assert photos.newest(str(tmp_path)) == (str(new), str(old))


def test_at_most_so_many_are_offered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST", 2)
    made = [picture(tmp_path / f"{n}.png", n) for n in range(4)]
    assert photos.newest(str(tmp_path)) == (str(made[3]), str(made[2]))


def test_a_folder_that_is_gone_offers_nothing(tmp_path: Path) -> None:
    assert photos.newest(str(tmp_path / "gone")) == ()


def test_the_folder_of_the_last_photo_is_remembered(tmp_path: Path) -> None:
    shot = picture(tmp_path / "shot.png", 3_000)
    desk = StationDesk(open_store(paths.records_folder()), watch=False)
    try:
        desk.units.add(Unit("", "SM-1", "Pad"))
        desk.settle()
        unit = desk.units.find("SM-1")[0]
        desk.units.note(Note("", unit.id, "", "scratch"), str(shot))
        desk.settle()
        assert desk.units.photos() == (str(shot),)
        assert desk.units.history(unit.id).notes[-1].photo_sha256
    finally:
        desk.close()
