"""Every text that can be seen has its translation, and every gap in it is filled."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.app.window.language.shown import english_in
from tests.app.window.language.talk import everything_said

from wayside_app.window.language.dictionary import (
    GERMAN,
    LANGUAGES,
    SENTENCES,
    WORDS,
    Dictionary,
    dictionary_of,
    load_words,
)
from wayside_app.window.language.sources import (
    core_texts,
    fault_texts,
    sentences_in,
    table_texts,
    window_texts,
)

OTHERS = [language for language in LANGUAGES if language != "en"]
GAP = re.compile(r"\{(\w*)[^{}\"]*\}")

PLURALS = {
    "Frames seem to be missing in {a} place{b}; times stay true, crossings there are less "
    "certain.": "b",
    "{a}: with {b} run{c} it cannot be told whether one is odd; that needs at least {d}.": "c",
}
"""Keys with the gap that is an English plural ending."""


@pytest.fixture(params=OTHERS)
def language(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_every_text_of_the_window_is_in_the_dictionary(language: str) -> None:
    words = load_words(language, WORDS, SENTENCES)
    assert sorted((window_texts() | fault_texts()) - set(words)) == []


def test_every_label_and_hint_of_the_core_is_in_the_dictionary(language: str) -> None:
    assert sorted(table_texts() - set(load_words(language))) == []


def test_every_sentence_of_the_core_is_in_the_dictionary(language: str) -> None:
    words = load_words(language)
    missing = [f"{place}: {text}" for text, place in core_texts().items() if text not in words]
    assert missing == []


def test_a_new_sentence_of_the_core_would_be_noticed() -> None:
    source = '''
def look(n: int, warm: bool) -> str:
    """No words for anybody."""
    if n < 0:
        raise ValueError(f"The count {n:d} is {'far ' if warm else ''}too small; count again.")
    return "lukewarm" if warm else "x"
'''
    found = {text for _, text in sentences_in(source)}
    assert "The count {a} is {b}too small; count again." in found
    assert "lukewarm" in found
    assert not any("No words" in text for text in found)


def test_translations_fill_the_same_gaps(language: str) -> None:
    wrong = []
    for key, translation in load_words(language).items():
        gaps, filled = sorted(GAP.findall(key)), sorted(GAP.findall(translation))
        if key in PLURALS:
            gaps.remove(PLURALS[key])
        if gaps != filled or not translation.strip():
            wrong.append((key, translation))
    assert wrong == []


def test_formats_of_the_window_can_be_filled_in(language: str) -> None:
    """What is translated as text and filled in later must ask for nothing else than the key."""
    for key, translation in load_words(language, WORDS).items():
        specs = re.findall(r"\{\w*(:[^{}]*)\}", key)
        assert re.findall(r"\{\w*(:[^{}]*)\}", translation) == specs, key


def test_what_the_core_says_comes_out_in_german(tmp_path: Path) -> None:
    german = dictionary_of(GERMAN)
    said = {text for text in everything_said(tmp_path) if text}
    assert len(said) > 500
    unknown = sorted(text for text in said if not german.knows(text))
    assert unknown == []
    assert english_in(german.sentence(text) for text in said) == []


def _small(**more: str) -> Dictionary:
    sentences = {
        "The speed is {a}; {b} it.": "Die Geschwindigkeit ist {a}; {b}.",
        "check": "prüfen",
        "It lies {a} {b} the middle.": "Es liegt {a} {b} der Mitte.",
        "above": "über",
        "Ends here. Begins there.": "Endet hier. Beginnt dort.",
        "{a} was lost.": "{a} ging verloren.",
    }
    return Dictionary({"speed": "Tempo", "pitch": "Höhe"}, GERMAN, sentences | more)


@pytest.mark.parametrize(
    ("english", "german"),
    [
        ("speed", "Tempo"),
        ("Speed", "Tempo"),
        ("The speed is 3.5 m/s; check it.", "Die Geschwindigkeit ist 3,5 m/s; prüfen."),
        ("It lies 2.5 Hz above the middle.", "Es liegt 2,5 Hz über der Mitte."),
        ("speed, pitch and speed", "Tempo, Höhe und Tempo"),
        (
            "Ends here. Begins there. Speed was lost.",
            "Endet hier. Beginnt dort. Tempo ging verloren.",
        ),
        ("run 2.5.wav was lost.", "run 2.5.wav ging verloren."),
        ("a.json: Ends here. Begins there.", "a.json: Endet hier. Beginnt dort."),
        ("  speed\npitch", "  Tempo\nHöhe"),
        ("Nobody wrote this, 1.5 times.", "Nobody wrote this, 1,5 times."),
        ("", ""),
    ],
)
def test_sentences_are_found_by_their_fixed_words(english: str, german: str) -> None:
    assert _small().sentence(english) == german


def test_english_is_left_alone() -> None:
    assert dictionary_of("en").sentence("The speed is 3.5 m/s.") == "The speed is 3.5 m/s."
