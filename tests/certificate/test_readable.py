"""A certificate is read by people: on paper of either size, in black and white, and by a screen reader."""

from __future__ import annotations

import io
import json
import math
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
from PySide6.QtGui import QColor, QImage, QPainter

from station.certificate.content import build_certificate
from station.certificate.figures import draw_dial, draw_outcome
from station.certificate.formats import A4, LETTER, Format
from station.certificate.page import render_pdf
from station.certificate.paper import BORDERLINE, DIM, FAIL, INK, MM, PASS, Paper
from station.certificate.types import Certificate, ControlLine, Dial, StandingLine, TreatmentLine
from station.certificate.unpack import read_pdf
from station.checks.types import Outcome
from station.words import certificate as words
from tests.certificate import sample_history as sample
from tests.certificate.signed import signed_pdf

pytestmark = pytest.mark.usefixtures("qapp")
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler's tools are not installed")
SHAPED = (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL, Outcome.NOT_DONE)
POINTS = 72 / 25.4
"""of a millimetre"""


@cache
def full() -> Certificate:
    """A certificate whose first page has to leave out much."""
    history = sample.make_history()
    buttons = (sample.Step("contact", f"button_{i}", "Contact", f"Button {i}", "top") for i in range(24))
    treatments = (
        replace(history.treatments[0], id=f"t{i}", part="Left stick sensor", note="a note " * 20) for i in range(12)
    )
    dials = [Dial(f"s{i}", f"Stick {i}", (1, 2), 5, 92, (95.0,) * 72, ((0, 0),)) for i in range(2)]
    return build_certificate(
        replace(history, treatments=tuple(treatments)),
        [*sample.STEPS, *buttons],
        sample.SHEET,
        number="8D9E0F-00042",
        issued_at="2026-03-09T10:00:00Z",
        bench="Mill Lane Repairs",
        person="Ines",
        dials=dials,
    )


def poppler(pdf: bytes, folder: Path, *asked: str) -> str:
    path = folder / "c.pdf"
    path.write_bytes(pdf)
    return subprocess.run(["pdftotext", *asked, path, "-"], capture_output=True, text=True, check=True).stdout


# --- on paper -----------------------------------------------------------------------------------------


@needs_poppler
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_nothing_runs_off_the_paper_or_into_its_foot(paper: Format, tmp_path: Path) -> None:
    boxes = re.findall(
        r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">',
        poppler(render_pdf(full(), paper=paper), tmp_path, "-bbox"),
    )
    edge, foot = 12 * POINTS, (paper.height_mm - 14) * POINTS
    found = [tuple(map(float, box)) for box in boxes]
    assert len(found) > 500
    assert [box for box in found if box[0] < edge or box[2] > paper.width_mm * POINTS - edge] == []
    assert [box for box in found if box[1] < foot < box[3] or box[3] > paper.height_mm * POINTS] == []


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_the_first_page_is_one_page_however_much_there_is_to_tell(paper: Format) -> None:
    first, second, *_ = (" ".join(page.split()) for page in read_pdf(render_pdf(full(), paper=paper)).pages)
    assert words.HOW_TO_CHECK in first
    assert words.ANNEX in second


WHY = "the sensor was changed on Friday and the customer wants it for the weekend, so it goes out as it is, "
FAULT = "noisy track, 28 spikes between 27 and 38 %, up to 9.09 % at 32 % of travel"
MUCH: dict[str, dict[str, Any]] = {
    "reasons": {
        "rest": f"Declared ready without the rest: {WHY}",
        "deviations": tuple(f"Left stick, slow sweep {i}: a person decided the outcome ({WHY})." for i in range(6)),
        "not_tested": tuple(f"Charge {i} (skipped: {WHY})" for i in range(4)),
    },
    "a reason without end": {"rest": WHY * 60, "deviations": (WHY * 60,) * 3, "not_tested": (WHY * 60,) * 3},
    "faults": {
        "summary": tuple(ControlLine(f"Button {i}", Outcome.FAIL, FAULT) for i in range(24)),
        "standing": StandingLine("faults", "Sold with declared faults: " + "; ".join([FAULT] * 4), 20, 0),
    },
    "work": {"treatments": (TreatmentLine("2026-03-02", "replace sensor", WHY * 60, 0, WHY * 60, "", ""),) * 9},
}


@pytest.mark.parametrize("much", MUCH.values(), ids=MUCH)
def test_long_reasons_and_many_faults_push_nothing_off_the_first_page(much: dict[str, Any]) -> None:
    """How to check it stood alone on the second page."""
    made = replace(full(), **much)
    pages = [" ".join(page.split()) for page in read_pdf(render_pdf(made, paper=LETTER)).pages]
    assert words.UNSIGNED in pages[0]
    assert words.ANNEX in pages[1]


def test_what_was_measured_of_a_control_stands_on_one_page() -> None:
    pages = ["".join(page.split()) for page in read_pdf(render_pdf(full())).pages][1:]
    assert len(full().controls) >= 3
    for block in full().controls:
        asked = ["".join(text.split()) for text in (block.name or "Whole unit", *(line.title for line in block.lines))]
        assert any(all(text in page for text in asked) for page in pages), block.name


# --- in black and white -----------------------------------------------------------------------------------


def black(draw: Callable[[Paper], object]) -> np.ndarray:
    """bool[600, 600]: where a drawing of 20 by 20 mm is dark, once its colours are gone."""
    image = QImage(600, 600, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.scale(600 / (20 * MM), 600 / (20 * MM))
    draw(Paper(painter))
    painter.end()
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    return np.frombuffer(grey.constBits(), np.uint8).reshape(600, grey.bytesPerLine())[:, :600] < 128


def test_no_outcome_is_told_by_colour_alone() -> None:
    shapes = [black(lambda paper, one=one: draw_outcome(paper, 10, 10, 12, one)) for one in SHAPED]
    for number, one in enumerate(shapes):
        for other in shapes[number + 1 :]:
            assert (one != other).sum() > 2000


def test_no_sector_of_a_dial_is_told_by_colour_alone() -> None:
    def dial(reach: float) -> np.ndarray:
        made = Dial("s", "", None, None, 92, (reach, *(math.nan,) * 71))
        return black(lambda paper: draw_dial(paper, made, 10, 10, 6))

    good, short, unknown = dial(99.0), dial(70.0), dial(math.nan)
    for one, other in ((good, short), (good, unknown), (short, unknown)):
        assert (one != other).sum() > 100


@pytest.mark.parametrize("color", [INK, DIM, PASS, BORDERLINE, FAIL], ids=["ink", "dim", "pass", "borderline", "fail"])
def test_every_colour_of_a_text_reads_on_white(color: QColor) -> None:
    """WCAG 2.2, 1.4.3: a contrast of at least 4.5 to 1, by its formula of relative luminance."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    light = 0.2126 * linear(color.redF()) + 0.7152 * linear(color.greenF()) + 0.0722 * linear(color.blueF())
    assert 1.05 / (light + 0.05) >= 4.5


# --- read out -----------------------------------------------------------------------------------------------


@needs_poppler
def test_the_first_page_is_read_out_from_top_to_foot(tmp_path: Path) -> None:
    """The order of the words in the file is that in which a screen reader says them."""
    text = poppler(render_pdf(full()), tmp_path, "-raw", "-l", "1")
    asked = (
        "Test certificate", "tested by Ines", "Plover T2", "Unit SM-07-04", "Incomplete: ", "Left stick",
        "Left shoulder", "Button 23", "Stick 0", "Stick 1", words.DONE_TO_IT, words.NOT_TESTED_AND_UNSEEN,
        words.HOW_TO_CHECK, "Content SHA-256", "page 1 of",
    )  # fmt: skip
    at = 0
    for one in asked:
        at = text.find(one, at)
        assert at >= 0, one


def test_a_screen_reader_is_told_the_language_and_the_title() -> None:
    reader = pypdf.PdfReader(io.BytesIO(signed_pdf()))
    assert reader.root_object["/Lang"] == "en"
    assert reader.root_object["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata.title == "Test certificate 8D9E0F-00042"


def test_two_readers_read_the_first_page_in_the_order_in_which_it_was_painted(tmp_path: Path) -> None:
    """pdftotext in the order of the file, and pypdf; the signed statement has the words as they were painted."""
    data = signed_pdf()
    reader = pypdf.PdfReader(io.BytesIO(data))
    painted = json.loads(reader.attachments["signature.json"][0])["pages"][0]
    for text in (poppler(data, tmp_path, "-raw", "-l", "1"), reader.pages[0].extract_text()):
        assert "".join(text.split()) == "".join("".join(painted).split())


def test_between_two_words_stands_a_blank_and_no_tab() -> None:
    """Qt told readers that a blank's glyph is a tab: what was copied or looked for had tabs in it."""
    pages = pypdf.PdfReader(io.BytesIO(signed_pdf())).pages
    assert [page.extract_text().count("\t") for page in pages] == [0] * len(pages)
    assert "Test certificate 8D9E0F-00042" in pages[0].extract_text()
