"""The catalogues: every language says every sentence, with the same facts; numbers and names are the language's own."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator
from importlib import import_module

import pytest

from balance.command_line.window_options import Tongue
from balance.protocols import ALL
from balance.rig import SIDES
from balance.trial import POSTURES
from balance.words import LANGUAGES, SENTENCES, language, name, say, speak

OTHERS = [one for one in LANGUAGES if one != "en"]


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    yield
    speak("en")


def places(sentence: str) -> list[tuple[str, str]]:
    """Names and conversions; the width of a column may be the language's own."""
    return sorted((field, spec.lstrip("<>0123456789")) for _, field, spec, _ in string.Formatter().parse(sentence) if field is not None and spec is not None)  # fmt: skip


@pytest.mark.parametrize("other", OTHERS)
def test_every_sentence_is_said_with_the_same_facts(other: str) -> None:
    theirs = import_module(f"balance.words.{LANGUAGES[other]}").SENTENCES
    assert list(theirs) == list(SENTENCES)
    assert [key for key in SENTENCES if places(theirs[key]) != places(SENTENCES[key])] == []
    words = {
        key: re.findall("[a-z]{3,}", re.sub(r"\{[^}]*\}", "", sentence))
        for key, sentence in SENTENCES.items()
    }
    same = [key for key in SENTENCES if theirs[key] == SENTENCES[key] and len(words[key]) > 5]
    assert same == []


@pytest.mark.parametrize("other", OTHERS)
def test_what_is_said_of_a_person_has_words_of_its_own(other: str) -> None:
    speak(other)
    said = [*SIDES, *ALL, *POSTURES, "on the marks", "by eye"]
    assert [one for one in said if name(one) == one] == []


def test_numbers_carry_the_languages_sign_and_what_was_typed_stays() -> None:
    speak("de")
    assert say("played.on", position=12.3, duration=60.0).count("12,3") == 1
    assert "links" in say("window.shoe", side="left")
    assert "left" in say("file.missing", file="left")
    assert language() == "de"


def test_every_language_can_be_asked_for() -> None:
    assert [one.value for one in Tongue] == list(LANGUAGES)
    with pytest.raises(KeyError):
        speak("xx")
