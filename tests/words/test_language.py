"""A language in the place of the English words."""

import pytest

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
