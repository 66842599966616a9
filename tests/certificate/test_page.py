"""The PDF itself, read back by other programs."""

from __future__ import annotations

import io
import json
import math
import shutil
import subprocess
from dataclasses import replace

import pypdf
import pytest

from station.certificate.content import build_certificate, to_json
from station.certificate.control_rows import NAME_MM
from station.certificate.formats import A4, LETTER
from station.certificate.page import render_pdf
from station.certificate.paper import TEXT, text_width
from station.certificate.types import Dial
from station.certificate.unpack import read_pdf
from station.checks.registry import described
from station.checks.said import reading_name
from station.checks.types import Assessment, Outcome
from station.ui.start import load_fonts
from station.words import certificate as words
from station.words import common
from tests.certificate.test_content import certificate, sample


@pytest.fixture
def pdf(qapp) -> bytes:
    return render_pdf(certificate())


def test_the_attachment_is_the_content(pdf):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    assert reader.attachments["certificate.json"][0] == to_json(certificate())


@pytest.mark.parametrize(("paper", "points"), [(A4, (595, 842)), (LETTER, (612, 792))], ids=["A4", "Letter"])
def test_it_is_pdf_1_6_of_the_size_of_its_paper(qapp, paper, points):
    reader = pypdf.PdfReader(io.BytesIO(render_pdf(certificate(), paper=paper)))
    assert reader.pdf_header == "%PDF-1.6"
    for page in reader.pages:
        assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == points


def test_the_page_shows_the_words_for_the_data_and_the_content_keeps_the_data(qapp, monkeypatch):
    shown = {
        "BECOMES": ("ready", "goes out"),
        "CLAIM_STATES": ("confirmed", "seen here too"),
        "VISIT_KINDS": ("after rest", "second look"),
        "TREATMENT_KINDS": ("clean the sensor", "wash the sensor"),
        "OUTCOMES": ("pass", "sound"),
        "ZONES": ("left hand", "west"),
    }
    for name, (data, word) in shown.items():
        monkeypatch.setattr(common, name, {**getattr(common, name), data: word})
    monkeypatch.setattr(words, "CLOCKS", {**words.CLOCKS, "process": "the reader"})
    made = certificate()
    text = " ".join(" ".join(read_pdf(render_pdf(made)).pages).split())
    expected = (
        "goes out",
        "– seen here too",
        "Visit 2, second look",
        "Wash the sensor: ",
        "sound",
        "west",
        "the reader",
    )
    assert [word for word in expected if word not in text] == []
    assert (made.becomes, made.claim_state, made.visits[1].kind) == ("ready", "confirmed", "after rest")
    assert made.controls[0].lines[0].outcome.value == "pass"


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler's tools are not installed")
def test_poppler_reads_number_pages_and_readings(pdf, tmp_path):
    path = tmp_path / "c.pdf"
    path.write_bytes(pdf)
    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    number = certificate().number
    assert f"Test certificate {number}" in text
    assert f"End of certificate {number}" in text
    assert "page 1 of 3" in text
    assert "These results hold for this unit only" in text
    assert "1.20 ± 0.31 %" in text


@pytest.mark.parametrize(("person", "said"), [("Ines", "bench 1 · tested by Ines"), ("", "bench 1")])
def test_a_shop_that_names_no_person_has_its_name_alone_at_the_head(qapp, person, said):
    """“tested by not named” stood there."""
    first = (
        pypdf.PdfReader(io.BytesIO(render_pdf(replace(certificate(), person=person))))
        .pages[0]
        .extract_text()
        .replace("\t", " ")
    )
    assert said in first.splitlines()
    assert "not named" not in first


def test_the_first_page_says_how_much_was_not_tested_again_since_the_work_on_it(qapp):
    """The headline counted it as not tested, and "What was not tested" passed it over."""
    history = sample.make_history()
    before = replace(history, results=tuple(r for r in history.results if r.id != "r2"))
    for of, said in ((history, False), (before, True)):
        (first, *_) = pypdf.PdfReader(io.BytesIO(render_pdf(certificate(of)))).pages
        text = " ".join(first.extract_text().split())
        assert ("Not tested again since the work on it: 1 check. The annex marks them as older." in text) is said
        assert ("not tested since the unit was repaired" in text) is said


def test_many_controls_flow_over_pages_and_every_page_says_its_number(qapp):
    history = sample.make_history()
    steps = [sample.Step("contact", "left_shoulder", "Contact", f"Button {i}", "top") for i in range(120)]
    dials = [Dial(f"s{i}", f"Stick {i}", (1, 2), 5, 92, (math.nan,) * 72, ((0, 0),)) for i in range(3)]
    c = build_certificate(
        history, steps, sample.SHEET, number="8D9E0F-00042", issued_at="2026-03-09", bench="b", person="p", dials=dials
    )
    reader = pypdf.PdfReader(io.BytesIO(render_pdf(c)))
    total = len(reader.pages)
    assert total > 3
    assert json.loads(reader.attachments["certificate.json"][0])["certificate"]["tag"] == "SM-07-04"
    for page in reader.pages:
        assert float(page.mediabox.height) > 800


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ((), "2026-03-09, first try"),
        ((Outcome.FAIL,), "2026-03-09, try 1 of 2"),
        ((Outcome.INTERRUPTED,) * 4, "2026-03-09, try 1 of 5"),
    ],
    ids=["one", "two", "four interrupted"],
)
def test_the_page_says_which_try_it_was_and_when(qapp, more, said):
    history = sample.make_history()
    tries = [replace(history.results[1], id=f"t{n}", assessment=Assessment(one)) for n, one in enumerate(more)]
    made = certificate(replace(history, results=(history.results[0], *tries, *history.results[1:])))
    page = " ".join(" ".join(read_pdf(render_pdf(made)).pages).replace("\N{NO-BREAK SPACE}", " ").split())
    assert said in page
    assert ("4 tries interrupted" in page) == (len(more) == 4)


READINGS = [
    pytest.param(check, name, id=f"{check}.{name}")
    for check, about in described().items()
    if not about.counts
    for kind in about.readings
    for name in (kind.name, *(f"{kind.name}_{part}" for part in kind.parts))
]


@pytest.mark.parametrize(("check", "name"), READINGS)
def test_the_name_of_a_reading_leaves_its_value_free(qapp, check, name):
    load_fonts()
    assert text_width(reading_name(check, name), TEXT) < NAME_MM
