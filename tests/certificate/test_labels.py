"""Labels: sizes, places, and codes read back by a decoder that we did not make (zxing-cpp)."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pypdf
import pytest
import zxingcpp

from station.app.labels import SIZES, file_for
from station.app.main import main
from station.app.opening import open_records
from station.certificate.formats import A4, LETTER
from station.certificate.label_page import labels_pdf
from station.certificate.labels import SIZES_FILE, Label, places, size_named, sizes
from station.errors import InputError
from station.records.types import Lot, Unit
from station.ui.start import load_fonts
from tests.certificate.test_qr import page_image


@pytest.fixture
def fonts(qapp) -> None:
    load_fonts()


SHIPPED = sizes()
LABELS = [Label(f"SM-07-{n:02}", "Plover T2", "lot SM-07") for n in range(1, 31)]


@pytest.mark.parametrize("size", SHIPPED, ids=lambda size: size.name)
def test_every_label_lies_on_its_sheet_and_none_on_another(size):
    found = list(places(LABELS, size))
    for one in found:
        assert 0 <= one.x <= size.page[0] - size.label[0] + 0.05
        assert 0 <= one.y <= size.page[1] - size.label[1] + 0.05
    first = [one for one in found if one.page == 0]
    for i, one in enumerate(first):
        for other in first[i + 1 :]:
            beside = abs(one.x - other.x) >= size.label[0] - 1e-6
            assert beside or abs(one.y - other.y) >= size.label[1] - 1e-6
    assert found[-1].page == (len(LABELS) - 1) // size.each


def test_a_sheet_that_was_begun_is_gone_on_with():
    size = size_named("sheet of 24", SHIPPED)
    assert [(p.page, p.x, p.y) for p in places(LABELS[:2], size, 24)] == [(0, 140.0, 259.5), (1, 0.0, 0.5)]
    for start in (0, 25):
        with pytest.raises(InputError, match="has 24 labels"):
            list(places(LABELS, size, start))


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's tools are not installed")
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", SHIPPED, ids=lambda size: size.name)
@pytest.mark.parametrize("tag", ["SM-07-04", "Regal 3 / Fach 12"], ids=["short", "long"])
def test_the_code_reads_back_as_the_tag_at_the_resolution_of_a_printer(qapp, tmp_path, size, dpi, tag):
    image = page_image(labels_pdf([Label(tag, "Plover T2", "lot SM-07")], size), tmp_path, dpi)
    assert [code.text for code in zxingcpp.read_barcodes(image)] == [tag]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler's tools are not installed")
@pytest.mark.parametrize("size", SHIPPED, ids=lambda size: size.name)
def test_tag_and_model_stand_on_the_label_within_its_edges(qapp, tmp_path, size):
    path = tmp_path / "labels.pdf"
    path.write_bytes(labels_pdf([Label("SM-07-04", "A model with a name that goes on " * 3, "lot SM-07")], size))
    box = pypdf.PdfReader(path).pages[0].mediabox
    assert (float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4) == pytest.approx(size.page, abs=0.3)
    said = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True).stdout
    found = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', said)
    assert found[0][-1] == "SM-07-04"
    for word in found:
        _x, _y, right, bottom = (float(number) / 72 * 25.4 for number in word[:4])
        assert right <= size.left + size.label[0]
        assert bottom <= size.top + size.label[1]


def test_a_tag_too_long_for_a_small_label_says_what_to_do(qapp):
    with pytest.raises(InputError, match="choose a larger one"):
        labels_pdf([Label("x" * 200, "")], size_named("sheet of 65", SHIPPED))


def test_a_shops_own_sizes_come_first_and_take_the_place_of_those_that_ship(tmp_path):
    path = tmp_path / SIZES
    path.write_text(
        '[[label]]\nname = "mine"\npage = [80, 40]\nlabel = [80, 40]\ncolumns = 1\nrows = 1\n'
        '[[label]]\nname = "sheet of 24"\npage = [210, 297]\nlabel = [64, 33.9]\ncolumns = 3\nrows = 8\n',
        "utf-8",
    )
    found = sizes(path)
    assert [size.name for size in found][:2] == ["mine", "sheet of 24"]
    assert sum(size.name == "sheet of 24" for size in found) == 1
    assert size_named("", found).name == "mine"
    assert len(found) == len(SHIPPED) + 1


@pytest.mark.parametrize(("paper", "first"), [(A4, "sheet of 24"), (LETTER, "letter sheet of 30")])
def test_a_sheet_of_the_shops_paper_is_used_when_none_is_named(tmp_path, paper, first):
    """Who prints on Letter was given a sheet of A4."""
    assert size_named("", sizes(None, paper)).name == first
    own = tmp_path / SIZES
    own.write_text('[[label]]\nname = "mine"\npage = [80, 40]\nlabel = [80, 40]\ncolumns = 1\nrows = 1\n', "utf-8")
    assert [one.name for one in sizes(own, paper)][:2] == ["mine", first]


RIGHT = {"name": '"x"', "page": "[210, 297]", "label": "[70, 37]", "columns": "3", "rows": "8"}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": '""'}, "needs a name of its own"),
        ({"page": "[210]"}, "“page” as two lengths"),
        ({"label": "[70, -1]"}, "“label” as two lengths"),
        ({"label": "[10, 10]"}, "could not be scanned"),
        ({"columns": "0"}, "“columns” as a whole number from 1 to 60"),
        ({"rows": "1.5"}, "“rows” as a whole number"),
        ({"columns": "4"}, "labels that lie on the page"),
        ({"step": "[60, 37]"}, "labels that lie on the page"),
        ({"left": '"a"'}, "“left” as a length"),
        ({"top": "nan"}, "“top” as a length"),
        ({"gap": "1"}, "no entry “gap”"),
    ],
)
def test_a_wrong_size_is_named_with_what_it_needs(tmp_path: Path, changes, said):
    path = tmp_path / SIZES
    path.write_text("[[label]]\n" + "\n".join(f"{k} = {v}" for k, v in (RIGHT | changes).items()), "utf-8")
    with pytest.raises(InputError) as caught:
        sizes(path)
    assert said in str(caught.value)
    assert str(path) in str(caught.value)


@pytest.mark.parametrize(
    "text", ["[[label", "label = 3", "\x00", "[" * 5000, "a" + ".a" * 20_000 + " = 1", "x = " + "9" * 5000]
)
def test_a_file_that_is_no_table_of_sizes_is_refused_in_a_sentence(tmp_path: Path, text: str):
    path = tmp_path / SIZES
    path.write_text(text, "utf-8")
    with pytest.raises(InputError, match=r"; (mend|take)"):
        sizes(path)


def test_the_comment_of_the_table_names_every_entry_it_has():
    comment = "".join(line for line in SIZES_FILE.read_text("utf-8").splitlines(True) if line.startswith("#"))
    for key in ("name", "page", "label", "columns", "rows", "left", "top", "step"):
        assert re.search(rf"^# .*\b{key}\b", comment, re.MULTILINE), key


def test_the_command_prints_a_lot(tmp_path, monkeypatch, capsys, qapp):
    monkeypatch.setenv("RESTPOINT_DATA", str(tmp_path / "records"))
    monkeypatch.chdir(tmp_path)
    with open_records() as store:
        store.add_lot(Lot("l1", "SM-07", "2026-03-02", "", 0))
        for tag in ("SM-07-02", "SM-07-01"):
            store.add_unit(Unit(tag, tag, "Plover T2", "l1"))
    assert main(["labels"]) == 0
    assert "sheet of 24" in capsys.readouterr().out
    assert main(["labels", "SM-07", "--size", "single 50 × 30"]) == 0
    assert "2 labels" in capsys.readouterr().out
    pages = pypdf.PdfReader(tmp_path / "labels-SM-07.pdf").pages
    assert [page.extract_text().split("\n")[0] for page in pages] == ["SM-07-01", "SM-07-02"]
    with open_records() as store:
        store.set_setting("paper", "Letter")
    assert main(["labels", "SM-07"]) == 0
    (page,) = pypdf.PdfReader(tmp_path / "labels-SM-07.pdf").pages
    assert [round(float(side)) for side in page.mediabox[2:]] == [612, 792], "Letter, in points"
    assert main(["labels", "SM-08"]) == 2
    assert "there are: SM-07" in capsys.readouterr().err


LONG_TAG = "Regal 3 / Fach 12 – Büro Straße, zweite Lieferung, Kiste 107"


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler's tools are not installed")
@pytest.mark.parametrize("size", SHIPPED, ids=lambda size: size.name)
@pytest.mark.parametrize("tag", [LONG_TAG, "A" * 60, "SM-07-04"], ids=["words", "one word", "short"])
def test_what_stands_on_a_label_can_be_read(fonts, tmp_path, size, tag):
    """A long tag was set on one line as small as it had to be, less than half a millimetre high."""
    path = tmp_path / "labels.pdf"
    path.write_bytes(labels_pdf([Label(tag, "A model with a name that goes on " * 3, "lot SM-07")], size))
    said = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True).stdout
    words = re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)</word>', said)
    bare = "".join(word for _, _, word in words)
    assert tag.replace(" ", "")[:40] in bare
    assert min(float(bottom) - float(top) for top, bottom, _ in words) >= 6.0, "points"


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's tools are not installed")
def test_a_label_is_black_and_white(fonts, tmp_path):
    """A printer of single labels draws grey as dots."""
    path = tmp_path / "labels.pdf"
    path.write_bytes(labels_pdf([LABELS[0]], size_named("single 62 × 29", SHIPPED)))
    listed = pypdf.PdfReader(path).pages[0].get_contents().get_data().decode("latin-1")
    assert set(re.findall(r"^(.*) (?:sc|scn|rg|g)$", listed, re.MULTILINE)) <= {"0 0 0", "1 1 1", "0", "1"}


@pytest.mark.parametrize("name", ["A/B", "../../x", "C:\\labels", "lot " * 60, "Büro 3"])
def test_the_file_is_named_by_the_lot_and_lies_where_it_belongs(name):
    """A lot called "A/B" was written into a folder "labels-A"."""
    found = file_for(name)
    assert Path(found).name == found
    assert len(found) < 120
    assert not set(found) & set('\\/:*?"<>|')
