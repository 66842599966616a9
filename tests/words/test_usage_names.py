"""Usages: ids stand in records and sheets and never change; only the names shown are words."""

from __future__ import annotations

from station.hid import usages
from station.words import hid as words

KNOWN = [page << 16 | number for page, table in usages._USAGES.items() for number in table]


def test_every_known_usage_and_page_has_a_name():
    assert {word for table in usages._USAGES.values() for word in table.values()} == set(words.USAGES)
    assert set(usages._PAGES.values()) == set(words.PAGES)


def test_in_english_an_id_is_its_name_in_small_letters():
    for usage in [*KNOWN, 0, 0x9_0000, 0x9_0005, 0x1_00FF, 0xD_0022, 0xFF00_0001]:
        plain = "".join(c if c.isascii() and c.isalnum() else " " for c in usages.usage_name(usage).lower())
        assert usages.usage_slug(usage) == "_".join(plain.split())


def test_another_language_changes_names_and_no_id(monkeypatch):
    ids = [usages.usage_slug(usage) for usage in KNOWN]
    monkeypatch.setattr(words, "USAGES", {word: f"({word})" for word in words.USAGES})
    assert usages.usage_name(0x1_0039) == "(hat_switch)"
    assert [usages.usage_slug(usage) for usage in KNOWN] == ids
