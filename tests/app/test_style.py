"""How the system writes numbers, dates and money is taken over for the screen and for what commands print."""

from __future__ import annotations

import locale
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale

from station import SAMPLE_UNITS
from station.app import style
from station.app.main import main
from station.words import figures
from station.words.figures import Style

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = str(SAMPLE_UNITS / "SM-07-06.npz")
GERMAN = Style(decimal=",", group=".", date="dd.MM.yyyy", money="{amount} {sign}")


@pytest.mark.parametrize(
    ("country", "expected"),
    [
        ("de_DE", GERMAN),
        ("de_CH", Style(decimal=".", group="’", date="dd.MM.yyyy", money="{sign} {amount}")),
        ("en_US", Style(decimal=".", group=",", date="M/d/yyyy", money="{sign}{amount}")),
        ("sv_SE", Style(decimal=",", group="\N{NO-BREAK SPACE}", date="yyyy-MM-dd", money="{amount} {sign}")),
        ("hu_HU", Style(decimal=",", group="\N{NO-BREAK SPACE}", date="yyyy. MM. dd.", money="{amount} {sign}")),
    ],
)
def test_what_the_desktop_is_set_to(country: str, expected: Style) -> None:
    """Expected from CLDR, by way of Qt; the year always has four digits."""
    found = QLocale(country)
    short = found.dateFormat(QLocale.FormatType.ShortFormat)
    price = found.toCurrencyString(1.0, "¤")
    apostrophe = str.maketrans("'", "’")  # Qt's data have had either
    group = found.groupSeparator().translate(apostrophe)
    assert style.of_country(found.decimalPoint(), group, short, price) == expected


def test_words_in_quotes_are_no_part_of_a_date() -> None:
    assert style.of_country(",", ".", "d.MM.yy 'г.'", "1,00 ¤").date == "d.MM.yyyy"


CONVENTIONS = {"decimal_point": ",", "thousands_sep": ".", "p_cs_precedes": 0, "p_sep_by_space": 1}


@pytest.mark.parametrize(
    ("found", "pattern", "set_for", "expected"),
    [
        (CONVENTIONS, "%d.%m.%Y", {}, GERMAN),
        (CONVENTIONS, "%d.%m.%y", {"number": False}, Style(date="dd.MM.yyyy", money="{amount} {sign}")),
        (CONVENTIONS, "", {"number": False, "money": False}, figures.PAPER),
        (CONVENTIONS, "%d. %B %Y", {"number": False, "money": False}, figures.PAPER),
        ({**CONVENTIONS, "p_cs_precedes": locale.CHAR_MAX}, "", {"number": False}, figures.PAPER),
        ({**CONVENTIONS, "p_cs_precedes": 1, "p_sep_by_space": 0}, "%m/%d/%Y", {"number": False},
         Style(date="MM/dd/yyyy", money="{sign}{amount}")),
    ],
    ids=["all", "no country for numbers", "no date", "a date that cannot be said", "money unsaid", "sign first"],
)  # fmt: skip
def test_what_the_environment_is_set_to(found, pattern, set_for, expected) -> None:
    everything = {"number": True, "date": True, "money": True}
    assert style.of_conventions(found, pattern, **{**everything, **set_for}) == expected


@pytest.mark.parametrize("name", ["C", "C.UTF-8", "xx_NOWHERE.UTF-8"], ids=["C", "C in UTF-8", "not installed"])
def test_a_command_without_a_country_prints_as_paper_does(monkeypatch, name) -> None:
    monkeypatch.setenv("LC_ALL", name)
    before = locale.setlocale(locale.LC_ALL)
    assert style.of_command_line() == figures.PAPER
    assert locale.setlocale(locale.LC_ALL) == before, "what reads and writes files goes on as it began"


def test_a_command_takes_the_style_over(monkeypatch, capsys) -> None:
    monkeypatch.setattr(style, "of_command_line", lambda: GERMAN)
    assert main(["restore"]) == 0
    assert figures.screen_style() == GERMAN
    assert "There is no back-up" in capsys.readouterr().out


@pytest.mark.parametrize("order", [("assess", SAMPLE), ("verify", "gone.pdf")], ids=["assess", "verify"])
def test_json_is_written_in_one_style_everywhere(monkeypatch, order) -> None:
    monkeypatch.setattr(style, "of_command_line", lambda: GERMAN)
    main([*order, "--json"])
    assert figures.screen_style() == figures.PAPER


def test_the_window_takes_the_style_of_the_system_over() -> None:
    """A process of its own: Qt asks for the system's settings once."""
    rest = {k: v for k, v in os.environ.items() if not k.startswith("LC_")}
    env = {**rest, "LANG": "de_DE.UTF-8", "LC_CTYPE": "C.UTF-8"}
    code = (
        "from station.app.commands.window import make_window\n"
        "from station.words import figures\n"
        "app, window = make_window(theme='light', watch=False)\n"
        "print(figures.screen_style())\n"
        "window.close()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], env=env, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.stdout.strip().splitlines()[-1:] == [str(GERMAN)], done.stderr
