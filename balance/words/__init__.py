"""The one catalogue of sentences that a person reads; a second language is one more file beside english.py."""

from balance.words.english import SENTENCES

__all__ = ["SENTENCES", "say"]


def say(key: str, /, **facts: object) -> str:
    """The sentence ``key`` with its places filled by ``facts``; an unknown key or missing fact is a KeyError."""
    return SENTENCES[key].format(**facts)
