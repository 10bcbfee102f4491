"""The reading grade and its syllable counter."""

from __future__ import annotations

import pytest

from tests.readability import count_syllables, grade, sentences, words_of

# Syllables by dictionary; a digit is read aloud.
WORDS = {
    "reed": 1, "habit": 2, "shuffled": 2, "rehearsal": 3, "humidity": 4, "temperature": 4, "difference": 3,
    "mouthpiece": 2, "instrument": 3, "easier": 3, "playing": 2, "rated": 2, "used": 1, "chipped": 1, "wanted": 2,
    "waterlogged": 3, "little": 2, "table": 2, "minutes": 2, "usual": 3, "opinion": 3, "idea": 3, "area": 3,
    "create": 2, "experience": 4, "people": 2, "special": 2, "million": 2, "hopeful": 2, "movement": 2,
    "completely": 3, "cases": 2, "raised": 1, "drying": 2, "gradual": 3, "language": 2, "trial": 2, "didn't": 2,
    "can't": 1, "0.5": 4, "17": 3, "100": 3, "1,000": 3,
}


@pytest.mark.parametrize(("word", "syllables"), WORDS.items())
def test_syllables_are_those_of_the_dictionary(word: str, syllables: int) -> None:
    assert count_syllables(word) == syllables


def test_grade_is_the_published_formula() -> None:
    # Kincaid et al. 1975: 13 words, 26 syllables, 1 sentence give 13.08.
    text = " ".join(["habit"] * 13) + "."
    assert len(words_of(text)) == 13
    assert sum(count_syllables(w) for w in words_of(text)) == 26
    assert grade(text) == pytest.approx(13.08, abs=0.005)


def test_a_decimal_point_does_not_end_a_sentence() -> None:
    assert len(sentences("It was 0.5 points. Was it? Yes!")) == 3


def test_a_text_without_words_has_grade_zero() -> None:
    assert grade(" ... ") == 0.0


def test_hard_words_raise_the_grade() -> None:
    assert grade("Randomisation inference necessitates methodological sophistication.") > 15
    assert grade("Wet the reed and play.") < 2
