"""The page that checks without the program, in a real browser."""

from __future__ import annotations

import base64
import json
import random
import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from asn1crypto import cms

from station.certificate.page import render_pdf
from station.certificate.verify import Verdict
from tests.certificate import signed
from tests.certificate.browser import BROWSER, PAGE, judged_by, opened, started
from tests.certificate.signed import KEY, OTHER, judged, made, signed_pdf
from tests.certificate.test_content import certificate

pytestmark = [
    pytest.mark.usefixtures("qapp"),
    pytest.mark.skipif(BROWSER is None, reason="chromium is not installed"),
]


@pytest.fixture(scope="module")
def browser(qapp):
    pytest.importorskip("playwright")
    signed_pdf(), signed_pdf(OTHER)  # signing waits in a loop of its own, which the browser's does not allow
    with started() as running:
        yield running


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
        pytest.param(signed_pdf, FINGERPRINT[:-1], "partly", id="its last digit is missing"),
        pytest.param(signed_pdf, FINGERPRINT[:4], "partly", id="its first four digits"),
        pytest.param(signed_pdf, FINGERPRINT + "0", "partly", id="one digit more"),
        pytest.param(signed_pdf, FINGERPRINT.replace("0", "O"), "partly", id="the letter O for 0"),
        pytest.param(signed_pdf, FINGERPRINT.replace("a", "\u0430"), "partly", id="a letter that looks like an a"),
        pytest.param(signed_pdf, ".{32}", "partly", id="a pattern"),
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


def test_what_was_found_names_its_control_once(page):
    found = page.evaluate(
        """() => {
          const findings = [{text: "left shoulder: misses presses"}, {text: "moves at rest"}];
          const [, list] = facts({controls: [{name: "Left shoulder", lines: [{findings}]}]});
          return [...list.querySelectorAll("li")].map((one) => one.textContent);
        }"""
    )
    assert found == ["Left shoulder: misses presses", "Left shoulder: moves at rest"]


EVERY_BIT = """async ([given, from, to]) => {
  const text = atob(given), bytes = Uint8Array.from(text, (sign) => sign.charCodeAt(0)), taken = [];
  for (let place = from; place < to; place++) for (let bit = 0; bit < 8; bit++) {
    bytes[place] ^= 1 << bit;
    const sign = String.fromCharCode(bytes[place]);
    const found = await seal(bytes, text.slice(0, place) + sign + text.slice(place + 1));
    if (found && found.whole) taken.push([place - from, bit]);
    bytes[place] ^= 1 << bit;
  }
  return taken;
}"""


def test_no_bit_of_the_signature_itself_can_be_another(page):
    """A tag within it was not compared, nor one around the two numbers: 13 bits could be others."""
    data = signed_pdf()
    start, end = data.find(b"/Contents <"), data.find(b">", data.find(b"/Contents <")) + 1
    assert page.evaluate(EVERY_BIT, [base64.b64encode(data).decode(), start, end]) == []


def test_no_flipped_byte_is_genuine_on_the_page_or_in_the_program(page):
    """WebCrypto against `cryptography`: the same answer for each; most places are tried by tests/bench/edits.py."""
    draw, data = random.Random(13), signed_pdf()
    start = data.find(b"/Contents <") + 10
    digits = data.find(b">", start) + 1 - start
    places = [draw.randrange(len(data)) for _ in range(150)] + [start + draw.randrange(digits) for _ in range(150)]
    for place in places:
        changed = data[:place] + bytes([data[place] ^ (1 << draw.randrange(8))]) + data[place + 1 :]
        assert judged_by(page, changed, FINGERPRINT)[0] != "genuine", place
    assert judged(data).verdict is Verdict.GENUINE
    assert judged_by(page, signed_pdf(), FINGERPRINT)[0] == "genuine"


def test_no_bit_around_the_last_digits_of_the_signature_is_free(page):
    """The tag of the signed attributes and all of the pair of numbers (RFC 5652, 5.3; RFC 3279, 2.2.3), bit by bit."""
    data = signed_pdf()
    start = data.find(b"/Contents <") + 11
    der = bytes.fromhex(data[start : data.find(b">", start)].decode())
    signer = cms.ContentInfo.load(der.rstrip(b"\0"), strict=False)["content"]["signer_infos"][0]
    pair, attributes = signer["signature"].dump(), signer["signed_attrs"].dump()
    heads = [(der.find(attributes), 2), (der.find(pair), 8), (der.find(pair) + len(pair) - 3, 3)]
    for first, count in heads:
        for place in range(start + 2 * first, start + 2 * (first + count)):
            for bit in range(8):
                changed = data[:place] + bytes([data[place] ^ (1 << bit)]) + data[place + 1 :]
                assert judged_by(page, changed, FINGERPRINT)[0] != "genuine", (place - start, bit)


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
        heard.get_by_text("Unknown key, named by the link").wait_for()  # whoever sent the link chose the fingerprint
        assert FINGERPRINT in heard.inner_text()
        assert "Plover T2" not in heard.inner_text(), "all that it says would be read aloud with every change"
        said = page.get_by_role("region").inner_text()
        for fact in ("SM-07-04", "Plover T2", "PT2-0004", "Not tested"):
            assert fact in said, fact
        assert page.evaluate("document.activeElement.id") == "verdict"
        page.get_by_label("The workshop’s fingerprint").fill(KEY.fingerprint)
        heard.get_by_text("Genuine", exact=True).wait_for()
        page.get_by_label("The workshop’s fingerprint").fill(OTHER.fingerprint)
        heard.get_by_text("Unknown key").wait_for()
        page.keyboard.press("Shift+Tab")
        assert page.evaluate("document.activeElement.id") == "file"
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "told"
        fields = page.get_by_role("textbox").all()
        assert [one.inner_text() for one in page.get_by_role("heading").all()][1] == "Unknown key"
        assert [field.get_attribute("aria-describedby") for field in fields] == ["told-hint"]


@pytest.mark.parametrize("told", ["#%zz", "#<img src=x>", "#" + "a" * 10_000, "#&name=x"])
def test_a_strange_link_opens_the_page_all_the_same(browser, told: str):
    with opened(browser, told) as page:
        assert page.locator("h1").inner_text() == "Check a certificate"
        assert judged_by(page, signed_pdf(), FINGERPRINT)[0] == "genuine"


def given(page, name: str, data: bytes) -> None:
    page.set_input_files("#file", {"name": name, "mimeType": "application/pdf", "buffer": data})


def shown(page) -> str:
    """What stands there, once it is no longer read."""
    while page.locator("#verdict").inner_text() in ("", "Reading …"):
        page.wait_for_timeout(20)
    return page.locator("#answer").inner_text()


def another_shop(**says: object) -> bytes:
    """A genuine file of somebody who took the name of the shop."""
    told = replace(certificate(), **says)
    with ThreadPoolExecutor(1) as apart:  # signing waits in a loop of its own
        return apart.submit(render_pdf, told, made(777, "bench 1")).result()


@pytest.mark.parametrize("name", ["bench 1", "b\u0435nch 1"], ids=["the same", "one that looks the same"])
def test_another_shop_of_the_same_name_is_never_called_genuine(browser, name: str):
    data = another_shop(bench=name)
    digits = made(777, "bench 1").fingerprint
    for link in ("", "#" + digits.replace(" ", ""), "#" + FINGERPRINT.replace(" ", "")):
        with opened(browser, link) as page:
            given(page, "SM-07-04.pdf", data)
            text = shown(page)
            assert text.startswith("Unknown key")
            assert "Genuine" not in text
            assert digits in text
            assert "What the file claims, as long as nobody vouches for its key" in text


def test_what_a_file_says_is_shown_as_letters(browser):
    script = '<img src=x onerror="document.title=1"><script>document.title=1</script>'
    with opened(browser) as page:
        given(page, "SM-07-04.pdf", another_shop(model=script, contact=script, serial="\u202egnp.exe", bench="Genuine"))
        text = shown(page)
        assert text.startswith("Unknown key")
        assert text.count("<script>") == 2
        assert "\u202e" not in text
        assert page.title() == "Check a Restpoint certificate"
        assert page.locator("#answer img, #answer script").count() == 0


def test_the_result_is_told_whole_and_a_cut_is_marked(browser, monkeypatch):
    line = "Sold with declared faults: " + ", ".join(f"fault {k} of the left stick" for k in range(30))
    told = {"standing": {"headline": line}, "model": "m" * 500, "controls": [], "not_tested": []}
    content = json.dumps({"certificate": told, "format": "x"}).encode()
    monkeypatch.setattr("station.certificate.page.to_json", lambda _: content)
    with opened(browser) as page:
        given(page, "SM-07-04.pdf", another_shop())
        page.get_by_text(line).wait_for()
        assert "m" * 399 + "…" in shown(page)


def test_content_of_another_shape_leaves_nothing_of_the_file_before(browser, monkeypatch):
    odd = b'{"certificate":{"controls":5,"grade":{"name":1},"not_tested":"x","standing":7},"format":"x"}'
    monkeypatch.setattr("station.certificate.page.to_json", lambda _: odd)
    data = another_shop()
    with opened(browser) as page:
        given(page, "SM-07-04.pdf", signed_pdf())
        assert "Plover T2" in shown(page)
        given(page, "other.pdf", data)
        page.get_by_text("What it says cannot be read by this page.").wait_for()
        assert "Plover T2" not in shown(page)


def test_the_answer_is_about_the_file_that_was_opened_last(browser):
    """An answer about a large file came after that about the next one, and stood there for it."""
    slow = signed_pdf() + b"/ByteRange [0 1 2 3]\n" * 400_000
    with opened(browser) as page:
        page.evaluate(
            """([slow, fast]) => {
              const file = (text) => new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], "a.pdf");
              open(file(slow)); return open(file(fast));
            }""",
            [base64.b64encode(one).decode() for one in (slow, signed_pdf())],
        )
        page.wait_for_timeout(3000)
        assert shown(page).startswith("Unknown key")


def test_the_same_name_once_more_is_read_anew(browser):
    with opened(browser) as page:
        given(page, "SM-07-04.pdf", signed_pdf())
        assert shown(page).startswith("Unknown key")
        assert page.evaluate("document.getElementById('file').value") == "", "else nothing would be told of the second"


def test_a_file_full_of_names_is_told_of_in_time(browser):
    """Each attachment was looked for in all of the file: a megabyte of names kept a phone busy for minutes."""
    many = signed_pdf() + b"/F (\xfe\xff\0c\0e) /EF <</F 9 0 R>>" * 120_000
    ours = signed_pdf() + b"/F (" + "certificate.json".encode("utf-16") + b") /EF <</F 9 0 R>>"
    with opened(browser) as page:
        page.set_default_timeout(30_000)
        for data in (many, ours * 9, signed_pdf() + b"\n9 0 obj <<" * 300_000):
            assert judged_by(page, data, FINGERPRINT)[0] == "altered"


def test_it_fits_a_telephone_and_its_fingerprint_can_be_read(browser):
    with opened(browser, "#" + FINGERPRINT.replace(" ", ""), width=320, height=640) as page:
        given(page, "SM-07-04.pdf", signed_pdf())
        shown(page)
        field = "document.getElementById('told')"
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        assert page.evaluate(f"{field}.scrollHeight - {field}.clientHeight") <= 1, "all of it is in sight"
        assert page.evaluate(f"{field}.value") == FINGERPRINT
        for target in ("#drop", "#told"):
            assert page.locator(target).bounding_box()["height"] >= 44  # WCAG 2.2, 2.5.5: target size


def test_a_screen_reader_is_not_told_at_each_letter(browser):
    with opened(browser) as page:
        given(page, "SM-07-04.pdf", signed_pdf())
        before = shown(page)
        page.evaluate(
            "() => { globalThis.changes = 0; new MutationObserver(() => changes++)"
            ".observe(document.querySelector('[role=status]'), {childList: true, subtree: true}); }"
        )
        page.locator("#told").press_sequentially(FINGERPRINT)
        page.get_by_text("Genuine", exact=True).wait_for()
        assert before.startswith("Unknown key")
        assert page.evaluate("() => changes") <= 4
