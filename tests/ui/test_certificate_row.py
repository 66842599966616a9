"""Where the window says what became of a certificate."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app.certificates import last_certificate, remember_certificate
from station.ui.painting.look import look_of
from station.ui.ports import CertificateReady
from station.ui.record.pane import RecordPane
from station.ui.record.rows import certificate_facts
from station.ui.window import MainWindow
from tests.certificate.sample_history import make_history
from tests.records.records_kit import open_store

KEY = "3f2a 91bc 0d47 e1f0 5c22 9a7b 6610 4be8"


def _bare(text: str) -> str:
    return text.replace("\N{ZERO WIDTH SPACE}", "")


@pytest.mark.parametrize(("key", "said"), [(KEY, f"key {KEY}"), ("", "not signed")], ids=["signed", "not signed"])
def test_the_record_pane_says_where_it_is_and_whose_key_signed_it(qtbot, key: str, said: str) -> None:
    pane = RecordPane(look_of("light", 1.0))
    qtbot.addWidget(pane)
    pane.show_unit(make_history(), (), None, {}, "", None, CertificateReady("u1", "/home/ines/SM-07-04.pdf", key))
    texts = [_bare(text) for text in pane.texts()]
    assert texts[texts.index("Certificate") + 1] == "/home/ines/SM-07-04.pdf"
    assert texts[texts.index("Signed") + 1] == said


def test_an_unsigned_certificate_is_told_as_a_fault_with_its_reason(visit: MainWindow) -> None:
    problem = "The bench's key is damaged; put your copy of it back."
    visit.events.take([CertificateReady("u1", "/tmp/SM-07-04.pdf", "", problem)])
    assert visit.foot.message.text() == f"Certificate written, but not signed. {problem} It is in /tmp/SM-07-04.pdf"
    assert visit.foot.mark.isVisibleTo(visit.foot)


def test_a_withdrawn_one_says_so_in_place_of_its_file() -> None:
    one = CertificateReady("u1", "/tmp/SM-07-04.pdf", KEY, withdrawn="wrong unit")
    assert certificate_facts(one)[0] == ("Certificate", "withdrawn: wrong unit")


def test_without_a_certificate_there_is_no_line() -> None:
    assert certificate_facts(None) == []


@pytest.mark.parametrize(
    "path", ["/home/ines/records/certificates/SM-07-04.pdf", "C:\\records\\certificates\\SM-07-04.pdf"]
)
def test_it_is_remembered_by_the_name_of_its_file(tmp_path: Path, path: str) -> None:
    with open_store(tmp_path) as store:
        assert last_certificate(store, "u1") is None
        remember_certificate(store, CertificateReady("u1", path, KEY))
        found = last_certificate(store, "u1")
        assert found is not None
        assert (Path(found.path).name, found.key) == ("SM-07-04.pdf", KEY)
