"""The page that checks, with the workshop's list beside it, in a real browser."""

from __future__ import annotations

import base64
import json
from typing import Any

import pytest

from station.certificate.content import content_sha256
from station.certificate.register import Entry, register_json
from station.certificate.signature import BenchKey
from station.judgement.issued import State
from tests.certificate.browser import BROWSER, opened, started
from tests.certificate.signed import KEY, OTHER, signed_pdf
from tests.certificate.test_content import certificate

pytestmark = [
    pytest.mark.usefixtures("qapp"),
    pytest.mark.skipif(BROWSER is None, reason="chromium is not installed"),
]
ASK = """async ([data, told, list]) => {
  const bytes = (text) => Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
  const answer = await byList(bytes(list), await judged(bytes(data), told));
  return [answer.kind, answer.listed || ""];
}"""


@pytest.fixture(scope="module")
def page(qapp):
    pytest.importorskip("playwright")
    signed_pdf()  # signing waits in a loop of its own, which the browser's does not allow
    with started() as browser, opened(browser) as made:
        yield made


def a_list(state: State = "genuine", *, key: BenchKey = KEY, content: str = "", **more: str) -> bytes:
    sha = content or content_sha256(certificate())
    entry = Entry(
        "8D9E0F-00042", "SM-07-04", "2026-03-09T10:00:00.000Z", sha, "ab" * 32, key.fingerprint, state, **more
    )
    return register_json(key, "Müller & Söhne “Pads”", "2026-03-12T10:00:00.000Z", [entry])


def asked(page: Any, a_list: bytes, told: str = KEY.fingerprint) -> tuple[str, str]:
    data, listed = (base64.b64encode(part).decode() for part in (signed_pdf(), a_list))
    return tuple(page.evaluate(ASK, [data, told, listed]))


@pytest.mark.parametrize(
    ("made", "told", "kind", "said"),
    [
        pytest.param(lambda: a_list(), KEY.fingerprint, "genuine", "still holds by the workshop’s list of 2026-03-12"),
        pytest.param(
            lambda: a_list("withdrawn", reason="wrong unit"),
            KEY.fingerprint,
            "withdrawn",
            "Withdrawn, by the list of 2026-03-12: wrong unit.",
        ),
        pytest.param(
            lambda: a_list("replaced", replaced_by="8D9E0F-00043"),
            KEY.fingerprint,
            "replaced",
            "Replaced by 8D9E0F-00043, by the list of 2026-03-12.",
        ),
        pytest.param(lambda: a_list("withdrawn", reason="x"), "", "unknown", "Withdrawn, by the list"),
        pytest.param(lambda: a_list("withdrawn", key=OTHER), KEY.fingerprint, "genuine", "signed with another key"),
        pytest.param(lambda: a_list(content="cd" * 32), KEY.fingerprint, "genuine", "does not name this certificate"),
        pytest.param(lambda: b"hello", KEY.fingerprint, "genuine", "none of certificates"),
        pytest.param(lambda: b"", KEY.fingerprint, "genuine", "none of certificates"),
        pytest.param(lambda: b"null", KEY.fingerprint, "genuine", "none of certificates"),
        pytest.param(
            lambda: a_list("withdrawn").replace(b'"withdrawn"', b'"genuine"'),
            KEY.fingerprint,
            "genuine",
            "not as it was",
        ),
        pytest.param(lambda: a_list() + b"\n", KEY.fingerprint, "genuine", "not as it was"),
    ],
    ids=[
        "it still holds", "withdrawn", "replaced", "no fingerprint", "the list of another shop", "not in the list",
        "a text", "nothing", "null", "changed to genuine", "one byte more",
    ],
)  # fmt: skip
def test_the_list_says_what_became_of_it(page, made, told: str, kind: str, said: str) -> None:
    found, listed = asked(page, made(), told)
    assert found == kind
    assert said in listed


def test_a_buyer_opens_both_and_reads_that_it_was_withdrawn(page, tmp_path) -> None:
    pdf, listed = tmp_path / "certificate.pdf", tmp_path / "list.json"
    pdf.write_bytes(signed_pdf())
    listed.write_bytes(a_list("withdrawn", reason="the wrong serial number"))
    page.get_by_label("The workshop’s fingerprint").fill(KEY.fingerprint)
    page.locator("#file").set_input_files(pdf)
    heard = page.get_by_role("status")
    heard.get_by_text("Genuine", exact=True).wait_for()
    page.get_by_label("The workshop’s list of certificates").set_input_files(listed)
    heard.get_by_text("Withdrawn", exact=True).wait_for()
    assert "the wrong serial number" in heard.inner_text()


def test_a_later_list_that_leaves_it_out_is_told_from_an_earlier_one(page) -> None:
    def made(at: str) -> bytes:
        return register_json(KEY, "Saltmarsh", at, [])

    assert "it was written later" in asked(page, made("2026-03-08T10:00:00.000Z"))[1]
    assert "ask the workshop why" in asked(page, made("2026-03-12T10:00:00.000Z"))[1]


def test_the_list_of_another_bench_by_the_same_key_says_so(page) -> None:
    """Two benches of a shop: that it is not in the other one's list is no reason to doubt it."""
    one = Entry(
        "A1B2C3-00007", "SM-07-05", "2026-03-09T10:00:00.000Z", "cd" * 32, "ab" * 32, KEY.fingerprint, "genuine"
    )
    said = asked(page, register_json(KEY, "Saltmarsh", "2026-03-12T10:00:00.000Z", [one]))[1]
    assert "another bench of the workshop" in said
    assert "do not rely" not in said


def test_the_list_is_canonical_json() -> None:
    data = a_list()
    assert json.dumps(json.loads(data), sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() == data


def test_a_list_that_is_opened_in_the_certificates_place_is_told_as_one(page: Any) -> None:
    """It said “This is no PDF” of the workshop's own list."""
    ask = "async (data) => (await judged(Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0)), '')).reasons"
    (reason,) = page.evaluate(ask, base64.b64encode(a_list()).decode())
    assert "the workshop’s list" in reason
    assert "below" in reason
