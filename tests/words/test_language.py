"""A language in the place of the English words."""

import subprocess
import sys

import pytest

from station.sources import child
from station.words import grammar, language


def test_words_are_replaced_where_they_are_used(monkeypatch):
    monkeypatch.setattr(grammar, "AND", grammar.AND)  # put back afterwards
    language.put("grammar", {"AND": "{first} und {last}"})
    assert grammar.listed(("A", "B")) == "A und B"


def test_a_word_that_does_not_exist_is_refused():
    with pytest.raises(LookupError):
        language.put("grammar", {"NO_SUCH": "x"})


def test_a_language_that_does_not_exist_is_refused():
    with pytest.raises(LookupError):
        language.speak("xx")


def test_english_is_there():
    language.speak(language.ENGLISH)
    assert "grammar" in language.catalogue()


@pytest.mark.parametrize(
    ("words", "said"),
    [(("a",), "a"), (("a", "b"), "a or b"), (("a", "b", "c"), "a, b or c")],
    ids=["one", "two", "three"],
)
def test_a_choice_is_listed(words, said):
    assert grammar.either(words) == said


@pytest.mark.parametrize(
    ("environment", "expected"),
    [
        ({}, "en"),
        ({"LANG": "de_DE.UTF-8"}, "de"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "en_GB.UTF-8"}, "en"),
        ({"LANG": "C.UTF-8"}, "en"),
        ({"LANG": "xx_YY"}, "en"),
        ({"LANG": "en_US.UTF-8", "RESTPOINT_LANGUAGE": "de"}, "de"),
        ({"LC_ALL": "", "LC_MESSAGES": "de@euro"}, "de"),
    ],
    ids=["nothing", "system", "system in two places", "no country", "not translated", "asked for", "empty"],
)
def test_the_language_is_that_of_the_environment_if_there_is_one(monkeypatch, environment, expected):
    monkeypatch.setattr(language, "translations", lambda: ("de",))
    assert language.chosen(environment) == expected


def test_child_processes_speak_the_language_before_they_import_anything(tmp_path, monkeypatch):
    """A translation of one word, put where a shipped one would stand, reaches a module that takes it over at import."""
    translation = tmp_path / "translations" / "xx"
    translation.mkdir(parents=True)
    for name in ("__init__", *language.catalogue()):
        words = 'CLOSED = "zu"\n' if name == "devices" else ""
        (translation / f"{name}.py").write_text(words, encoding="utf-8")
    (tmp_path / "probe.py").write_text(
        "from station.words import devices\nTAKEN = devices.CLOSED\nprint(TAKEN, flush=True)\n", encoding="utf-8"
    )
    (tmp_path / "sitecustomize.py").write_text(
        f"import station.words\nstation.words.__path__.append({str(translation.parent)!r})\n", encoding="utf-8"
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("RESTPOINT_LANGUAGE", "xx")
    process = child.spawn("probe", {})
    assert process.stdout is not None
    with process.stdout as lines:
        said = lines.read().decode()
    child.end(process)
    process.wait(20)
    assert said.strip() == "zu"


SPOKEN = """
import os, sys
import station.words
station.words.__path__.append(sys.argv[1])
from station.words import figures, grammar, language
language.speak(language.chosen(os.environ))
from station.words import checks
paper = figures.PAPER
print(grammar.listed(("A", "B")), checks.HOLD, figures.day("2026-03-06", paper), figures.number(1234.5, 1, paper))
"""


@pytest.fixture
def spoken(tmp_path, monkeypatch):
    """Put a translation of these modules in force, in a process of its own, and let some words be said."""

    def speak(modules: dict[str, str]) -> subprocess.CompletedProcess[str]:
        folder = tmp_path / "translations" / "xx"
        folder.mkdir(parents=True)
        for name, text in {"__init__": "", **modules}.items():
            (folder / f"{name}.py").write_text(text, encoding="utf-8")
        monkeypatch.setenv("RESTPOINT_LANGUAGE", "xx")
        return subprocess.run(
            [sys.executable, "-c", SPOKEN, str(folder.parent)],
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=60,
        )

    return speak


def test_what_a_translation_leaves_out_stays_english_even_a_whole_module(spoken):
    assert spoken({"grammar": 'AND = "{first} und {last}"\n'}).stdout.split("\n")[0] == (
        "A und B Steady hold 2026-03-06 1,234.5"
    )


def test_a_translation_brings_the_style_of_its_paper(spoken):
    style = 'from station.words.figures import Style\n\nPAPER = Style(decimal=",", group=".", date="dd.MM.yyyy")\n'
    assert spoken({"figures": style}).stdout.strip() == "A and B Steady hold 06.03.2026 1.234,5"


@pytest.mark.parametrize(
    ("modules", "said"),
    [
        ({"no_such": 'A = "a"\n'}, "LookupError: station.words has no no_such."),
        ({"grammar": 'NO_SUCH = "a"\n'}, "LookupError: station.words.grammar has no NO_SUCH."),
        ({"figures": "from station.words.figures import Style\n\nSCREEN = Style()\n"},
         "LookupError: station.words.figures has no SCREEN."),
    ],
    ids=["a module", "a word", "a style"],
)  # fmt: skip
def test_what_does_not_exist_is_refused(spoken, modules, said):
    assert spoken(modules).stderr.strip().endswith(said)
