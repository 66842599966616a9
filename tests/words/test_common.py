"""Every word that stands in records and sheets as data has a word that is shown for it."""

from typing import get_args

import pytest

from station.capture.types import BUSES
from station.checks.types import Outcome
from station.records.types import BECOMES, CLAIM_STATES, TREATMENT_KINDS, VISIT_KINDS
from station.sheets.model import ZONES
from station.ui.keys import ViewName
from station.ui.painting.shapes import SHAPES
from station.ui.window import THEMES
from station.words import arrival, common, window


@pytest.mark.parametrize(
    ("shown", "data"),
    [
        pytest.param(common.OUTCOMES, [o.value for o in Outcome], id="outcomes"),
        pytest.param(common.VISIT_KINDS, VISIT_KINDS, id="kinds of visit"),
        pytest.param(common.CLAIM_STATES, CLAIM_STATES, id="states of a claim"),
        pytest.param(common.BECOMES, BECOMES, id="what a unit becomes"),
        pytest.param(common.TREATMENT_KINDS, TREATMENT_KINDS, id="kinds of treatment"),
        pytest.param(common.ZONES, ZONES, id="zones"),
        pytest.param(common.SHAPES, SHAPES, id="shapes that stand for no outcome"),
        pytest.param(arrival.BUSES, BUSES, id="ways to connect"),
        pytest.param(
            window.VIEWS, [name for name in get_args(ViewName) if name != "evidence"], id="views with a button"
        ),
        pytest.param(window.THEMES, THEMES, id="themes"),
    ],
)
def test_each_data_word_has_its_shown_word_in_the_same_order(shown, data):
    assert list(shown) == list(data)
