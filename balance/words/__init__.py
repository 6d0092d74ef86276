"""The catalogues of sentences that a person reads: one file a language, all with the same keys; english.py is the one they follow.

A third language is one more file like german.py and its line in ``LANGUAGES``. ``NAMES`` of a catalogue are the words that stand for
values inside sentences (left, quiet standing); ``DECIMAL`` is its decimal sign.
"""

from __future__ import annotations

import os
from importlib import import_module
from string import Formatter
from typing import TYPE_CHECKING

from balance.words.english import SENTENCES

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["LANGUAGES", "SENTENCES", "language", "name", "say", "speak"]

LANGUAGES = {"en": "english", "de": "german"}
# Places of what people and files call their own: never put into another language.
AS_TYPED = ("file", "folder", "names", "text", "column", "columns", "condition", "value", "key", "unit", "recording")  # fmt: skip
CHOSEN_BY = "BANDSTAND_LANGUAGE"  # so that help, which is made before any option is read, can be in another language too


class _Spoken(Formatter):
    """Fills sentences in one language."""

    def __init__(self, language: str) -> None:
        catalogue = import_module(f"balance.words.{LANGUAGES[language]}")
        self.language = language
        self.sentences: dict[str, str] = catalogue.SENTENCES
        self.names: dict[str, str] = catalogue.NAMES
        point, comma = (".", ",") if catalogue.DECIMAL == "." else (",", ".")
        self._signs = str.maketrans({".": point, ",": comma})

    def filled(self, sentence: str, facts: dict[str, object]) -> str:
        """As ``str.format``, which is quicker, where values are said as they stand."""
        as_they_stand = self.language == "en"
        return sentence.format(**facts) if as_they_stand else self.vformat(sentence, (), facts)

    def get_value(self, key: int | str, args: object, kwargs: Mapping[str, object]) -> object:
        value = kwargs[str(key)]
        return self.names.get(value, value) if isinstance(value, str) and key not in AS_TYPED else value

    def format_field(self, value: object, format_spec: str) -> str:
        text = format(value, format_spec)
        return text.translate(self._signs) if isinstance(value, float | int) else text


class _Speech:
    """What is spoken now."""

    spoken = _Spoken("en")


def speak(language: str) -> None:
    """From now on sentences are in this language, 'en' or 'de'. Raises KeyError for another."""
    _Speech.spoken = _Spoken(language)


def language() -> str:
    """The language of the sentences."""
    return _Speech.spoken.language


def say(key: str, /, **facts: object) -> str:
    """The sentence ``key`` with its places filled by ``facts``; an unknown key or missing fact is a KeyError."""
    return _Speech.spoken.filled(_Speech.spoken.sentences[key], facts)


def number(value: float | None, spec: str) -> str:
    """A figure as the language writes it, by Python's format; a dash where there is none."""
    return "–" if value is None else _Speech.spoken.format_field(value, spec)


def name(value: str, /) -> str:
    """The word for a value such as 'left' or 'quiet standing'; the value itself where it has none."""
    return _Speech.spoken.names.get(value, value)


if os.environ.get(CHOSEN_BY, "") in LANGUAGES:
    speak(os.environ[CHOSEN_BY])
