"""The page that checks without the program, in a real browser."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest

from station.certificate.page import render_pdf
from station.certificate.verify import Verdict
from tests.certificate import signed
from tests.certificate.browser import BROWSER, PAGE, judged_by, opened, started
from tests.certificate.signed import KEY, OTHER, judged, signed_pdf
from tests.certificate.test_content import certificate

pytestmark = [
    pytest.mark.usefixtures("qapp"),
    pytest.mark.skipif(BROWSER is None, reason="chromium is not installed"),
]


@pytest.fixture(scope="module")
def browser(qapp):
    pytest.importorskip("playwright")
    signed_pdf(), signed_pdf(OTHER)  # signing waits in a loop of its own, which the browser's does not allow
    with started() as made:
        yield made


@pytest.fixture(scope="module")
def page(browser):
    with opened(browser) as made:
        yield made


FINGERPRINT = KEY.fingerprint
SEALED = Path(__file__).parent / "signed_before" / "version_4.pdf"


def test_the_page_is_small_and_asks_the_network_for_nothing():
    text = PAGE.read_text("utf-8")
    assert len(text.encode()) <= 60_000
    assert not re.search(r"https?://|src=|@import|fetch\(|XMLHttpRequest", text)
    assert "default-src 'none'" in text


@pytest.mark.parametrize(
    ("make", "told", "kind"),
    [
        pytest.param(signed_pdf, FINGERPRINT, "genuine", id="the fingerprint as it is printed"),
        pytest.param(signed_pdf, FINGERPRINT.replace(" ", "").upper(), "genuine", id="in capitals, without blanks"),
        pytest.param(signed_pdf, "", "unknown", id="no fingerprint"),
        pytest.param(signed_pdf, OTHER.fingerprint, "other", id="another fingerprint"),
        pytest.param(lambda: signed_pdf(OTHER), FINGERPRINT, "other", id="a stranger's file"),
        pytest.param(lambda: render_pdf(certificate()), FINGERPRINT, "unsigned", id="not signed"),
        pytest.param(lambda: signed_pdf() + b"\n", FINGERPRINT, "altered", id="one byte more"),
        pytest.param(lambda: signed_pdf()[:-1], FINGERPRINT, "altered", id="one byte less"),
        pytest.param(lambda: signed.rewritten(signed_pdf()), FINGERPRINT, "altered", id="saved again"),
        pytest.param(SEALED.read_bytes, FINGERPRINT, "unread", id="signed in the older form"),
        pytest.param(lambda: b"%PDF-1.6\n%%EOF\n", FINGERPRINT, "unread", id="another PDF"),
        pytest.param(lambda: b"hello", FINGERPRINT, "unread", id="no PDF"),
    ],
)
def test_the_page_says_the_same_as_the_program(page, make, told: str, kind: str):
    assert judged_by(page, make(), told)[0] == kind


def test_no_flipped_byte_is_genuine_on_the_page_or_in_the_program(page):
    """WebCrypto against `cryptography`: the same answer for each; most places are tried by tests/bench/edits.py."""
    draw, data = random.Random(13), signed_pdf()
    start = data.find(b"/Contents <") + 10
    places = [draw.randrange(len(data)) for _ in range(150)] + [start + draw.randrange(4100) for _ in range(150)]
    for place in places:
        changed = data[:place] + bytes([data[place] ^ (1 << draw.randrange(8))]) + data[place + 1 :]
        assert judged_by(page, changed, FINGERPRINT)[0] != "genuine", place
    assert judged(data).verdict is Verdict.GENUINE
    assert judged_by(page, signed_pdf(), FINGERPRINT)[0] == "genuine"


def test_a_buyer_works_it_by_keyboard_and_hears_the_answer(browser, tmp_path):
    path = tmp_path / "certificate.pdf"
    path.write_bytes(signed_pdf())
    with opened(browser, "#" + FINGERPRINT.replace(" ", "")) as page:
        chosen: list[Any] = []
        page.on("filechooser", lambda chooser: chosen.append(chooser))
        page.wait_for_timeout(500)  # the browser is told on the side that somebody waits for the chooser
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "file"
        page.keyboard.press("Enter")
        while not chosen:
            page.wait_for_timeout(50)
        chosen[0].set_files(path)
        heard = page.get_by_role("status")
        heard.wait_for()
        text = heard.inner_text()
        assert text.startswith("Genuine by the link")  # whoever sent the link chose the fingerprint
        assert FINGERPRINT in text
        for fact in ("SM-07-04", "Plover T2", "PT2-0004", "Not tested"):
            assert fact in text, fact
        assert page.evaluate("document.activeElement.id") == "verdict"
        page.get_by_label("The workshop’s fingerprint").fill(KEY.fingerprint)
        heard.get_by_text("Genuine", exact=True).wait_for()
        page.get_by_label("The workshop’s fingerprint").fill(OTHER.fingerprint)
        heard.get_by_text("Unknown key").wait_for()
        fields = page.get_by_role("textbox").all()
        assert [field.get_attribute("aria-describedby") for field in fields] == ["told-hint"]


@pytest.mark.parametrize("told", ["#%zz", "#<img src=x>", "#" + "a" * 10_000, "#&name=x"])
def test_a_strange_link_opens_the_page_all_the_same(browser, told: str):
    with opened(browser, told) as page:
        assert page.locator("h1").inner_text() == "Check a certificate"
        assert judged_by(page, signed_pdf(), FINGERPRINT)[0] == "genuine"
