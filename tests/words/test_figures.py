"""The one rule of digits, and how a style writes numbers, dates and money."""

import math
from datetime import UTC, date, datetime

import pytest

from station.words import figures
from station.words.figures import Style, figure, money, number, places, plain

GERMAN = Style(decimal=",", group=".", date="dd.MM.yyyy", money="{amount} {sign}")


class TestRuleOfDigits:
    """JCGM 100:2008, 7.2.6 and the example of its 7.2.2: 100.021 47 g with 0.35 mg is given as 100.021 47, 0.000 35."""

    @pytest.mark.parametrize(
        ("value", "uncertainty", "expected"),
        [
            pytest.param(100.02147, 0.00035, "100.02147 ± 0.00035", id="JCGM 100, 7.2.2: (100.021 47 ± 0.000 35) g"),
            pytest.param(28.05, 28.05, "28 ± 28", id="JCGM 100, 7.2.6: 28.05 kHz is rounded down to 28 kHz"),
            pytest.param(95.13, 0.28, "95.13 ± 0.28", id="two digits of the uncertainty"),
            pytest.param(1234.0, 2.3, "1,234.0 ± 2.3", id="the value to the same place"),
            pytest.param(1234.0, 123.0, "1,230 ± 120", id="an uncertainty of hundreds rounds to tens"),
            pytest.param(5.0, 0.0996, "5.00 ± 0.10", id="rounding up an uncertainty takes a place away"),
            pytest.param(-0.04, 0.31, "−0.04 ± 0.31", id="a real minus sign"),
        ],
    )
    def test_value_and_uncertainty(self, value, uncertainty, expected):
        assert figure(value, uncertainty) == expected

    @pytest.mark.parametrize(
        ("text", "unit", "expected"),
        [
            pytest.param("2.5 ± 7.5", "°", "2.5 ± 7.5°", id="SI Brochure, 9th edition, 5.4.3: no space before °"),
            pytest.param("10.2", "%", "10.2\N{NO-BREAK SPACE}%", id="SI Brochure, 9th ed., 5.4.7: a space before %"),
            pytest.param("3", "", "3", id="a count"),
        ],
    )
    def test_the_unit_behind_the_figure(self, text, unit, expected):
        assert figures.with_unit(text, unit) == expected

    @pytest.mark.parametrize(
        ("value", "uncertainty", "expected"),
        [
            pytest.param(3.24, math.inf, "3.2", id="an endless uncertainty says nothing"),
            pytest.param(3.24, math.nan, "3.2", id="nor does one that is no number"),
            pytest.param(3.24, -1.0, "3.2", id="nor one below nought"),
            pytest.param(0.0996, 5e-324, "0.1", id="nor one finer than a float is"),
            pytest.param(1e300, 1e-300, f"{10**300:,}.0", id="beside a huge value neither"),
            pytest.param(1.0, 1.2e30, f"0 ± {12 * 10**29:,}", id="a huge one does"),
            pytest.param(math.inf, 0.3, "—", id="no value"),
            pytest.param(math.nan, math.nan, "—", id="nothing at all"),
        ],
    )
    def test_nothing_is_too_absurd_to_be_said(self, value, uncertainty, expected):
        assert figure(value, uncertainty, 1).replace(",", "") == expected.replace(",", "")

    def test_the_value_alone_is_said_to_the_same_place(self):
        assert [figures.bare(7.033, u, 1) for u in (0.040, 0.0, math.inf)] == ["7.033", "7.0", "7.0"]
        assert [number(x, 1) for x in (math.inf, -math.inf, math.nan)] == [plain(math.nan)] * 3 == ["—"] * 3

    @pytest.mark.parametrize(
        ("value", "uncertainty", "expected"),
        [(6.20, 0.40, "6.2"), (95.13, 0.28, "95.1"), (84.04, 2.0, "84"), (1234, 120, "1,200"), (72.0, 0.0, "72.0")],
    )
    def test_in_a_sentence_the_value_stands_to_the_first_digit_of_its_uncertainty(self, value, uncertainty, expected):
        assert figures.spoken(value, uncertainty, 1) == expected

    def test_without_uncertainty_the_given_decimals_hold(self):
        assert (figure(72.0), figure(4.6, decimals=2)) == ("72", "4.60")

    def test_nothing_is_written_as_minus_nought(self):
        assert number(-0.04, 1) == "0.0"

    @pytest.mark.parametrize(
        ("uncertainty", "expected"), [(0.28, 2), (2.3, 1), (23, 0), (120, -1), (0.996, 1), (9.96, 0)]
    )
    def test_places(self, uncertainty, expected):
        assert places(uncertainty) == expected

    @pytest.mark.parametrize(("limit", "expected"), [(5.0, "5"), (1.5, "1.5"), (4.4, "4.4"), (1200.0, "1,200")])
    def test_a_limit_has_the_digits_it_was_written_with(self, limit, expected):
        assert plain(limit) == expected


class TestStyles:
    def test_numbers(self):
        assert figure(1234.56, 0.28, style=GERMAN) == "1.234,56 ± 0,28"

    def test_dates(self):
        assert figures.day("2026-03-06T10:00:00.000Z", GERMAN) == "06.03.2026"
        assert figures.day("2026-03-06", Style(date="d MMM y")) == "6 Mar 2026"
        assert figures.day("", GERMAN) == ""

    @pytest.mark.parametrize(
        "pattern",
        ["yyyy-MM-dd", "dd.MM.yyyy", "d.M.yyyy", "M/d/yyyy", "dd/MM/yy", "yyyy. MM. dd.", "d MMM y", "MMM d, yyyy"],
    )
    def test_a_date_as_shown_is_read_again(self, pattern):
        style = Style(date=pattern)
        for shown in (date(2026, 3, 6), date(2026, 11, 28), date(2028, 2, 29)):
            assert figures.read_day(figures.day(shown.isoformat(), style), style) == shown
            assert figures.read_day(f" {shown.isoformat()} ", style) == shown

    @pytest.mark.parametrize("typed", ["", "soon", "31.11.2026", "11/28/2026", "28.11.", "28.11.20266", "²8.11.2026"])
    def test_what_is_no_date_is_none(self, typed):
        assert figures.read_day(typed, GERMAN) is None

    def test_a_style_without_a_year_reads_iso_8601_alone(self):
        assert figures.read_day("2026-11-28", Style(date="d MMM")) == date(2026, 11, 28)
        assert figures.read_day("28 Nov", Style(date="d MMM")) is None

    @pytest.mark.parametrize(
        ("minor", "currency", "style", "expected"),
        [
            (40, "EUR", Style(), "€ 0.40"),
            (-1250, "CHF", Style(), "−CHF 12.50"),
            (123456, "EUR", GERMAN, "1.234,56 €"),
            (500, "JPY", Style(), "JPY 500"),
        ],
    )
    def test_money(self, minor, currency, style, expected):
        assert money(minor, currency, style).replace(figures.NO_BREAK, " ") == expected

    def test_a_time_is_said_shorter_the_nearer_it_is(self):
        now = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
        assert figures.when("2026-11-25T11:58:00+00:00", now).count(":") == 1
        assert figures.when("2026-11-24T10:12:00+00:00", now).split()[0].isalpha()
        assert figures.when("not a time", now) == "not a time"

    def test_a_time_of_another_year_is_a_date_like_any_other(self):
        now = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
        for style, expected in ((GERMAN, "05.01.2024"), (Style(date="d MMM y"), "5 Jan 2024"), (None, "2024-01-05")):
            assert figures.when("2024-01-05T10:12:00+00:00", now, style) == expected

    def test_figures_stay_on_a_line_with_their_units(self):
        assert figures.no_break("about 4 min, 12 % of 3 units") == "about 4\xa0min, 12\xa0% of 3 units"

    def test_the_screen_takes_over_a_style(self):
        before = figures.screen_style()
        try:
            figures.set_screen_style(GERMAN)
            assert number(0.5, 1) == "0,5"
            assert number(0.5, 1, figures.PAPER) == "0.5"
        finally:
            figures.set_screen_style(before)
