"""The unit's photo and the shop's mark on its certificates: chosen in the window, and no certificate fails by them."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from PySide6.QtGui import QColor, QImage

from station.app import paths
from station.app.certify import Written, certify
from station.app.desk import StationDesk
from station.errors import InputError
from station.records.store import Store
from station.records.types import Note
from tests.app.test_verify_command import SHEET, a_certificate
from tests.records.records_kit import open_store

pytestmark = pytest.mark.usefixtures("qapp")


def picture(path: Path, color: str) -> Path:
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    image.fill(QColor(color))
    assert image.save(str(path))
    return path


@pytest.fixture
def shot(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    a_certificate()
    return picture(tmp_path / "shot.png", "red")


def take(shot: Path, *, on_certificate: bool) -> None:
    """A note with a photo, as the window's panel saves it."""
    desk = StationDesk(open_store(paths.records_folder()), watch=False)
    try:
        unit = desk.units.find("SM-07-04")[0]
        desk.units.note(Note("", unit.id, "", "from the front"), str(shot), on_certificate=on_certificate)
        desk.settle()
    finally:
        desk.close()


def again(change: object = None) -> Written:
    with open_store(paths.records_folder()) as store:
        if callable(change):
            change(store)
        (unit,) = store.units("SM-07-04")
        return certify(store, unit.id, SHEET, now=store.now())


def pictures_in(written: Written) -> list[str]:
    page = pypdf.PdfReader(io.BytesIO(written.path.read_bytes())).pages[0]
    return list(page.images.keys())


@pytest.mark.parametrize(("chosen", "count"), [(True, 1), (False, 0)], ids=["chosen", "with the note alone"])
def test_the_photo_that_was_chosen_stands_on_it(shot: Path, chosen: bool, count: int) -> None:
    take(shot, on_certificate=chosen)
    written = again()
    assert (len(pictures_in(written)), written.note) == (count, "")


def test_a_photo_whose_note_was_withdrawn_is_on_it_no_more(shot: Path) -> None:
    take(shot, on_certificate=True)

    def withdraw(store: Store) -> None:
        (unit,) = store.units("SM-07-04")
        store.withdraw("note", store.history(unit.id).notes[-1].id, "another unit's photo")

    assert pictures_in(again(withdraw)) == []


@pytest.mark.parametrize("broken", [None, b"", b"no picture"], ids=["gone", "empty", "no picture"])
def test_a_photo_that_is_gone_or_broken_costs_a_sentence(shot: Path, broken: bytes | None) -> None:
    take(shot, on_certificate=True)
    (kept,) = (paths.records_folder() / "photos").rglob("*.png")
    kept.unlink()
    if broken is not None:
        kept.write_bytes(broken)
    written = again()
    assert written.path.exists()
    assert pictures_in(written) == []
    assert written.note.startswith("The unit's photo was left out (")
    assert written.note.endswith("add it to the unit again with N, then write the certificate.")


def test_the_mark_of_the_shop_stands_on_it_and_one_that_is_gone_costs_a_sentence(shot: Path, tmp_path: Path) -> None:
    mark = picture(tmp_path / "mark.png", "blue")
    assert len(pictures_in(again(lambda store: store.set_setting("mark", str(mark))))) == 1
    mark.unlink()
    written = again()
    assert pictures_in(written) == []
    assert written.note.startswith(f"The shop's mark {mark} was left out (")


def test_a_paper_that_is_too_small_takes_no_number(shot: Path) -> None:
    with pytest.raises(InputError, match="does not fit on the paper “A5”"):
        again(lambda store: store.set_setting("paper", "A5"))
    with open_store(paths.records_folder()) as store:
        assert len(store.certificates()) == 1
