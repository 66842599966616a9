"""What a shop is called on its certificates."""

from __future__ import annotations

from pathlib import Path

import pytest

from station.app.shop import shop_of
from station.errors import InputError
from tests.records.records_kit import open_store


@pytest.mark.parametrize("name", ["", "   ", "\u3164", "\u2800 \u115f"], ids=["none", "blanks", "a filler", "fillers"])
def test_a_name_of_which_nothing_is_to_be_seen_is_none(tmp_path: Path, name: str) -> None:
    with open_store(tmp_path) as store:
        store.set_setting("bench", name)
        with pytest.raises(InputError, match="needs the name of the shop"):
            shop_of(store)


def test_a_name_is_kept_as_it_was_typed(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        store.set_setting("bench", " Müller & Söhne ")
        assert shop_of(store).name == "Müller & Söhne"
