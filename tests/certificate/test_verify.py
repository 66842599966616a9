"""What is said of a certificate whose file was changed, in every way we could think of."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfWriter
from pypdf.annotations import FreeText
from pypdf.generic import FloatObject

from station.certificate.content import VERSION, to_json
from station.certificate.identity import self_signed
from station.certificate.keys import KnownKey
from station.certificate.page import render_pdf
from station.certificate.signature import read_statement, statement_json, succeeds
from station.certificate.unpack import Attached, Unpacked, read_pdf, unpack
from station.certificate.verify import Verdict, _says, check, find_seal, is_whole
from station.errors import InputError
from tests.certificate import signed
from tests.certificate.signed import KEY, KNOWN, OTHER, judged, signed_pdf, unpacked
from tests.certificate.test_content import certificate

BEFORE = Path(__file__).parent / "signed_before"
SEALED = (BEFORE / "version_4.pdf").read_bytes()

SPELT = b"/ByteRange".decode("utf-16-be")
"""the mark as the signs of a PDF's title spell it"""

pytestmark = pytest.mark.usefixtures("qapp")


def test_an_untouched_file_of_a_known_bench_is_genuine_and_says_what_it_is():
    found = judged(signed_pdf())
    assert (found.verdict, found.reasons) == (Verdict.GENUINE, ())
    assert (found.signed_by, found.fingerprint) == ("bench 1", KEY.fingerprint)
    assert found.says["tag"] == "SM-07-04"


@pytest.mark.parametrize("path", sorted(BEFORE.glob("*.pdf")), ids=lambda path: path.stem)
def test_what_was_signed_before_is_still_genuine(path: Path):
    """Files of this project, one for each version of the content that was ever signed."""
    data = path.read_bytes()
    found = check(data, unpack(data), KNOWN)
    assert (found.verdict, found.reasons, found.says["tag"]) == (Verdict.GENUINE, (), "SM-07-04")


def test_a_key_that_a_known_former_one_vouches_for_is_known():
    """A bench that signed by Ed25519 before has one more key now, and its buyers know the old one."""
    said = succeeds(signed.FORMER, OTHER.public)
    former = {said.former: KnownKey("bench 1", said.former)}
    found = check(data := signed_pdf(replace(OTHER, succession=said)), read_pdf(data), former)
    assert (found.verdict, found.signed_by, found.fingerprint) == (Verdict.GENUINE, "bench 1", OTHER.fingerprint)


@pytest.mark.parametrize("word", ["of a stranger", "for another key", "by nobody"])
def test_no_other_word_makes_a_key_known(word: str):
    stranger = Ed25519PrivateKey.from_private_bytes(bytes(range(5, 37)))
    said = {
        "of a stranger": succeeds(stranger, OTHER.public),
        "for another key": succeeds(signed.FORMER, KEY.public),
        "by nobody": replace(succeeds(stranger, OTHER.public), former=signed.FORMER.public_key().public_bytes_raw()),
    }[word]
    former = signed.FORMER.public_key().public_bytes_raw()
    data = signed_pdf(replace(OTHER, succession=said))
    assert check(data, read_pdf(data), {former: KnownKey("bench 1", former)}).verdict is Verdict.UNKNOWN_KEY


def test_every_version_that_was_signed_has_its_file():
    assert [path.stem for path in sorted(BEFORE.glob("*.pdf"))] == [f"version_{n}" for n in range(2, VERSION + 1)]


def test_a_key_nobody_vouched_for_is_unknown():
    found = check(signed_pdf(OTHER), read_pdf(signed_pdf(OTHER)), KNOWN)
    assert (found.verdict, found.fingerprint, found.signed_by) == (Verdict.UNKNOWN_KEY, OTHER.fingerprint, "")


def test_an_unsigned_certificate_says_so_and_proves_nothing():
    data = render_pdf(certificate())
    text = " ".join("\n".join(read_pdf(data).pages).split())
    assert "This file is not signed" in text
    assert judged(data).verdict is Verdict.NOT_SIGNED


def test_the_process_apart_reads_the_same():
    assert unpack(signed_pdf()) == unpacked()


def test_an_unchanged_file_is_judged_without_the_text_of_its_pages():
    data = signed_pdf()
    bare = unpack(data, text=False)
    assert bare == replace(unpacked(), pages=None)
    assert check(data, bare, KNOWN) == judged(data)
    assert is_whole(data)
    for changed in (data + b"\n", data[:-1], signed.rewritten(data), render_pdf(certificate())):
        assert not is_whole(changed)


def test_the_words_on_every_page_read_back_as_they_were_drawn():
    """The comparison that names a changed page would be worth nothing if it differed in an untouched file."""
    resaved = judged(signed.rewritten(signed_pdf()))
    assert not [reason for reason in resaved.reasons if reason.startswith("page")]
    assert any("words on the pages are those that were signed" in reason for reason in resaved.reasons)


def test_the_headline_is_told_whole(monkeypatch):
    line = "Sold with declared faults: " + ", ".join(f"fault {k} of the left stick" for k in range(30))
    content = json.dumps({"certificate": {"standing": {"headline": line}, "tag": "x" * 100}})
    says = _says(content.encode())
    assert says["headline"] == line
    assert len(says["tag"]) == 64


@pytest.mark.parametrize("mark", ["/ByteRange [0 1 2 3]\n", "%restpoint-seal 2 x", "%restpoint-seal ", SPELT])
def test_the_marks_of_a_signature_in_what_a_certificate_says_break_nothing(mark: str):
    fields = ("number", "tag", "model", "serial", "bench", "person", "contact", "claim")
    odd = render_pdf(replace(certificate(), **dict.fromkeys(fields, f"SM-{mark}-04")), KEY)
    assert (judged(odd).verdict, judged(odd).reasons) == (Verdict.GENUINE, ())
    assert judged(odd.replace(b"%%EOF", b"%%EOf", 1)).verdict is Verdict.ALTERED


@pytest.mark.parametrize(
    "claim",
    [
        "שני לחצנים, left",
        "شاشة مكسورة",
        "左摇杆坏了",
        "हिन्दी",
        "pad 👍🏽 ok",
        "ﬁne ½ № Łódź",
        "soft\u00adhyphen",
        "w" * 300,
        "ệ",
    ],
)
def test_words_of_any_script_are_not_taken_for_a_change(claim: str):
    odd = render_pdf(replace(certificate(), claim=claim, condition=claim), KEY)
    assert judged(odd).verdict is Verdict.GENUINE
    assert not [reason for reason in judged(signed.rewritten(odd)).reasons if reason.startswith("page")]


# --- changed files ----------------------------------------------------------------------------------


def _other_words(writer: PdfWriter) -> None:
    stream, shown = signed.text_operators(writer, 0)
    operations = list(stream.operations)
    operations[shown[3]] = operations[shown[0]]
    stream.operations = operations
    signed.put_content(writer, 0, stream)


def _laid_over(writer: PdfWriter) -> None:
    writer.add_annotation(0, FreeText(text="All 5 checks passed", rect=(60, 650, 300, 700)))


def _picture_over(writer: PdfWriter) -> None:
    stream, _ = signed.text_operators(writer, 0)
    stream.operations = [
        *stream.operations,
        ([], b"q"),
        ([FloatObject(n) for n in (60, 650, 300, 40)], b"re"),
        ([], b"f"),
        ([], b"Q"),
    ]
    signed.put_content(writer, 0, stream)


def _page_less(writer: PdfWriter) -> None:
    writer.remove_page(1)


def _page_more(writer: PdfWriter) -> None:
    writer.add_blank_page()


CONTENT = to_json(certificate())
BETTER = to_json(replace(certificate(), failed=0, condition="like new"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param(_other_words, "page 1 was changed", id="a value on a page"),
        pytest.param(_laid_over, "not as it was signed", id="a note over it"),
        pytest.param(_picture_over, "not as it was signed", id="a bar over it"),
        pytest.param(_page_less, "it had 3 pages when it was signed and has 2 now", id="a page gone"),
        pytest.param(_page_more, "it had 3 pages when it was signed and has 4 now", id="a page more"),
        pytest.param(signed.without_attachment("certificate.json"), "certificate.json is missing", id="content gone"),
        pytest.param(signed.without_attachment("signature.json"), "signature.json is missing", id="signature gone"),
        pytest.param(
            signed.with_attachment("certificate.json", BETTER), "not the one that was signed", id="other content"
        ),
        pytest.param(
            signed.with_attachment("signature.json", statement_json(OTHER, CONTENT, [["x"]])),
            "not as it was signed",
            id="signature by another key",
        ),
        pytest.param(signed.with_attachment("signature.json", b"{}"), "does not hold", id="signature rubbish"),
        pytest.param(
            lambda writer: writer.add_attachment("certificate.json", BETTER),
            "more than one attachment certificate.json",
            id="a second content",
        ),
        pytest.param(
            lambda writer: writer.add_attachment("warranty.txt", b"ten years"),
            "an attachment was added: warranty.txt",
            id="something attached",
        ),
    ],
)
def test_a_changed_file_is_altered_and_it_says_what(change, said):
    found = judged(signed.rewritten(signed_pdf(), change))
    assert found.verdict is Verdict.ALTERED
    assert said in "; ".join(found.reasons)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        pytest.param(b"\n", "1 byte was added after", id="one byte"),
        pytest.param(b"\n% more\n", "8 bytes were added after", id="a comment"),
    ],
)
@pytest.mark.parametrize("sealed", ["today", "before"])
def test_what_is_written_after_what_was_signed_is_seen(more, said, sealed):
    """An incremental update (ISO 32000-1, 7.5.6) leaves every signed byte where it is and still changes the pages."""
    found = judged((signed_pdf() if sealed == "today" else SEALED) + more)
    assert found.verdict is Verdict.ALTERED
    assert said in found.reasons[0]


@pytest.mark.parametrize("sealed", ["today", "before"])
def test_a_file_without_what_covers_it_is_altered(sealed):
    data = signed_pdf() if sealed == "today" else SEALED
    cut = data[: data.rfind(b"%restpoint-seal")] if sealed == "before" else data[: data.find(b"%%EOF") + 6]
    found = judged(cut)
    assert found.verdict is Verdict.ALTERED
    assert "the signature over the whole file is missing" in found.reasons[0]


def test_the_signature_of_one_file_does_not_fit_another():
    other = render_pdf(replace(certificate(), tag="SM-07-05"), KEY)
    digits = [re.search(rb"/Contents <[0-9A-F]+>", data).group() for data in (other, signed_pdf())]
    assert judged(other).verdict is Verdict.GENUINE
    assert judged(other.replace(*digits)).verdict is Verdict.ALTERED


def test_a_seal_of_before_around_a_file_of_today_is_by_another_key():
    body = signed_pdf()
    line = f"restpoint-seal 1 sha256 {hashlib.sha256(body).hexdigest()}\n".encode()
    public = signed.FORMER.public_key().public_bytes_raw()
    found = judged(body + f"%restpoint-seal 1 {public.hex()} {signed.FORMER.sign(line).hex()}\n".encode())
    assert (found.verdict, found.reasons[0]) == (Verdict.ALTERED, "seal and signature are by different keys")


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda digits: digits.lower(), id="small letters"),
        pytest.param(lambda digits: digits[:-1] + (b"1" if digits.endswith(b"0") else b"0"), id="the last"),
        pytest.param(lambda digits: digits[:-2] + b"  ", id="a blank"),
        pytest.param(lambda digits: digits.replace(b"0500", b"0501", 1), id="parameters of the hash"),
        pytest.param(lambda digits: digits.replace(b"3082", b"308300", 1)[:-2], id="a longer length"),
    ],
)
def test_nothing_in_the_digits_of_the_signature_can_be_another(change):
    """Other readers pass over some of these; a genuine file has one form."""
    data = signed_pdf()
    digits = re.search(rb"/Contents <([0-9A-F]+)>", data).group(1)
    assert change(digits) != digits
    assert judged(data.replace(digits, change(digits))).verdict is Verdict.ALTERED


@pytest.mark.parametrize("name", ["b", "Saltmarsh, bench 1", "Ω" * 40])
def test_the_signature_fills_its_room_to_the_last_digit(name):
    """A reader passes over padding, so that a digit of it could be another."""
    key = replace(KEY, certificate=self_signed(KEY.secret, name))
    for tag in ("a", "b", "c"):
        data = render_pdf(replace(certificate(), tag=tag), key)
        digits = bytes.fromhex(re.search(rb"/Contents <([0-9A-F]+)>", data).group(1).decode())
        assert len(digits) == 4 + int.from_bytes(digits[2:4], "big")
        assert judged(data).verdict is Verdict.GENUINE


def test_a_signature_of_before_with_padding_behind_it_is_genuine_and_its_padding_is_zeros():
    padded = (BEFORE / "version_5.pdf").read_bytes()
    digits = re.search(rb"/Contents <([0-9A-F]+)>", padded).group(1)
    assert digits.endswith(b"0" * 100)
    assert judged(padded.replace(digits, digits[:-1] + b"1")).verdict is Verdict.ALTERED


def test_somebody_elses_attachments_in_a_sealed_file_are_altered():
    data = signed_pdf(OTHER)
    found = check(data, unpacked(), KNOWN)
    assert found.verdict is Verdict.ALTERED
    assert "seal and signature are by different keys" in found.reasons


def test_a_pdf_of_something_else_is_refused_with_what_to_do():
    writer = PdfWriter()
    writer.add_blank_page(595, 842)
    out = io.BytesIO()
    writer.write(out)
    with pytest.raises(InputError, match="as the bench wrote it"):
        judged(out.getvalue())


@pytest.mark.parametrize(
    "rubbish",
    [
        b"",
        b"[" * 100_000,
        b'{"a":' * 100_000,
        b"1" * 10_000,
        b"\xff\xfe",
        b'{"certificate": 3}',
        b'{"format":"restpoint-certificate","certificate":{"tag":"\\ud800","passed":[],"not_tested":7}}',
    ],
    ids=["nothing", "deep list", "deep object", "long number", "no text", "no certificate", "lone surrogate"],
)
def test_rubbish_in_place_of_an_attachment_is_altered(rubbish: bytes):
    for found in (_with(content=rubbish or b" "), _with(statement=rubbish or b" ")):
        assert check(signed_pdf(), found, KNOWN).verdict is Verdict.ALTERED


@pytest.mark.parametrize("version", [b"3", b"17"])
def test_a_file_of_a_newer_version_is_not_called_altered(version: bytes):
    newer_seal = SEALED.replace(b"%restpoint-seal 1 ", b"%restpoint-seal " + version + b" ")
    newer_statement = _with(statement=b'{"format":"restpoint-signature","version":' + version + b"}")
    for data, found in ((newer_seal, read_pdf(newer_seal)), (signed_pdf(), newer_statement)):
        with pytest.raises(InputError, match="newer Restpoint"):
            check(data, found, KNOWN)


# --- any change whatever ----------------------------------------------------------------------------


@settings(max_examples=300, deadline=None)
@given(where=st.floats(0, 1, exclude_max=True), by=st.integers(1, 255), before=st.booleans())
def test_no_flipped_byte_of_the_file_leaves_the_seal_whole(where: float, by: int, before: bool):
    data = bytearray(SEALED if before else signed_pdf())
    data[int(where * len(data))] ^= by
    found = find_seal(bytes(data))
    assert found is None or not found.holds or found.added


@settings(max_examples=200, deadline=None)
@given(where=st.floats(0, 1, exclude_max=True), by=st.integers(1, 255))
def test_no_flipped_byte_of_the_signed_content_is_genuine(where: float, by: int):
    """The seal is left whole here on purpose: the signature of the content has to see it alone."""
    content = bytearray(CONTENT)
    content[int(where * len(content))] ^= by
    found = check(signed_pdf(), _with(content=bytes(content)), KNOWN)
    assert found.verdict is Verdict.ALTERED


@settings(max_examples=200, deadline=None)
@given(where=st.floats(0, 1, exclude_max=True), by=st.integers(1, 255))
def test_no_flipped_byte_of_the_statement_is_genuine(where: float, by: int):
    statement = bytearray(next(one.content() for one in unpacked().attached if one.name == "signature.json"))
    statement[int(where * len(statement))] ^= by
    try:
        verdict = check(signed_pdf(), _with(statement=bytes(statement)), KNOWN).verdict
    except InputError as error:
        verdict = "newer" in str(error)  # the flipped byte was the version
    assert verdict in (Verdict.ALTERED, True)


@settings(max_examples=10, deadline=None)
@given(page=st.integers(0, 1), what=st.floats(0, 1, exclude_max=True), by=st.floats(0, 1, exclude_max=True))
def test_no_exchanged_words_on_a_page_are_genuine_and_the_page_is_named(page: int, what: float, by: float):
    def change(writer: PdfWriter) -> None:
        nonlocal same
        stream, shown = signed.text_operators(writer, page)
        old, new = shown[int(what * len(shown))], shown[int(by * len(shown))]
        operations = list(stream.operations)
        same = operations[old] == operations[new]
        operations[old] = operations[new]
        stream.operations = operations
        signed.put_content(writer, page, stream)

    same = False
    found = judged(signed.rewritten(signed_pdf(), change))
    assert found.verdict is Verdict.ALTERED
    assert same or f"page {page + 1} was changed" in "; ".join(found.reasons)


def _with(*, content: bytes = b"", statement: bytes = b"") -> Unpacked:
    new = {"certificate.json": content, "signature.json": statement}
    return Unpacked(
        tuple(
            Attached(one.name, base64.b64encode(new[one.name]).decode()) if new.get(one.name) else one
            for one in unpacked().attached
        ),
        unpacked().pages,
    )


# --- the file for other programs --------------------------------------------------------------------


def test_pypdf_reads_a_sealed_file_strictly():
    reader = pypdf.PdfReader(io.BytesIO(signed_pdf()), strict=True)
    assert reader.attachments["certificate.json"] == [CONTENT]
    statement = read_statement(reader.attachments["signature.json"][0])
    assert statement is not None
    assert statement.holds


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault_in_a_sealed_file(tmp_path):
    path = tmp_path / "c.pdf"
    path.write_bytes(signed_pdf())
    done = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler's tools are not installed")
def test_poppler_reads_a_sealed_file_without_a_word(tmp_path):
    path = tmp_path / "c.pdf"
    path.write_bytes(signed_pdf())
    done = subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert f"Signed with key {KEY.fingerprint}" in done.stdout


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_another_tool_verifies_the_seal_of_before(tmp_path):
    start = SEALED.rfind(b"%restpoint-seal")
    body, line = SEALED[:start], SEALED[start:].decode()
    _, version, public, signature = line.split()
    assert version == "1"
    (tmp_path / "key.der").write_bytes(bytes.fromhex("302a300506032b6570032100" + public))  # RFC 8410, section 4
    (tmp_path / "signature").write_bytes(bytes.fromhex(signature))
    command = ["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", "key.der", "-rawin"]
    for data, status in ((body, 0), (body + b"x", 1)):
        message = f"restpoint-seal 1 sha256 {hashlib.sha256(data).hexdigest()}\n"
        (tmp_path / "message").write_text(message)
        done = subprocess.run(
            [*command, "-in", "message", "-sigfile", "signature"], cwd=tmp_path, capture_output=True, check=False
        )
        assert done.returncode == status, done.stdout + done.stderr


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_openssl_verifies_the_signature_as_a_cms_of_its_own(tmp_path):
    """RFC 5652, read by another program."""
    data = signed_pdf()
    span = re.search(rb"/ByteRange \[0 (\d+) (\d+) (\d+)\]", data)
    before, after, rest = (int(number) for number in span.groups())
    (tmp_path / "signature").write_bytes(bytes.fromhex(data[before + 1 : after - 1].decode()))
    command = [
        "openssl",
        "cms",
        "-verify",
        "-noverify",
        "-inform",
        "DER",
        "-in",
        "signature",
        "-binary",
        "-content",
        "body",
    ]
    for more, status in ((b"", 0), (b"x", 4)):
        (tmp_path / "body").write_bytes(data[:before] + data[after : after + rest] + more)
        done = subprocess.run(
            [*command, "-content", "body", "-out", "out"], cwd=tmp_path, capture_output=True, check=False
        )
        assert done.returncode == status, done.stderr


@pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler's tools are not installed")
def test_a_pdf_reader_says_that_the_whole_file_is_signed_by_the_shop(tmp_path):
    path, data = tmp_path / "c.pdf", signed_pdf()
    path.write_bytes(data)
    said = subprocess.run(["pdfsig", path], capture_output=True, text=True, check=True).stdout
    for line in ("Signature is Valid", "Total document signed", "Common Name: bench 1", "ETSI.CAdES.detached"):
        assert line in said
    path.write_bytes(data[:3000] + bytes([data[3000] ^ 1]) + data[3001:])
    said = subprocess.run(["pdfsig", path], capture_output=True, text=True, check=False).stdout
    assert "Digest Mismatch" in said


# --- as a stranger runs it ----------------------------------------------------------------------------


def test_a_program_that_has_signed_nothing_finds_the_signature_sound(tmp_path):
    """What the writing of signatures loads must not be what their reading rests on."""
    environment = os.environ | {"RESTPOINT_DATA": str(tmp_path)}
    command = [sys.executable, "-m", "station.app.main", "verify", "--json", str(BEFORE / f"version_{VERSION}.pdf")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    assert json.loads(done.stdout)["verdict"] == "unknown key", done.stdout + done.stderr


def test_a_certificate_of_a_version_that_nobody_knows_is_no_signature():
    data = signed_pdf()
    digits = re.search(rb"/Contents <([0-9A-F]+)>", data).group(1)
    at = digits.index(b"A003020102") + 9
    for version in (b"5", b"7"):
        changed = data.replace(digits, digits[:at] + version + digits[at + 1 :])
        assert judged(changed).verdict is Verdict.ALTERED


LONG_NAMES = ("Ä" * 33, "–" * 30, "店" * 40, "Réparations générales de manettes d'occasion à Évry-Courcouronnes")


@pytest.mark.parametrize("name", LONG_NAMES)
def test_a_long_name_of_a_shop_is_shown_as_far_as_there_is_room(name: str):
    seal = find_seal(signed_pdf(signed.made(7, name)))
    assert seal is not None
    assert seal.holds
