"""Every screen in every state: no word cut off or over another, nothing out of its picture, letters that are large and dark enough."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from balance.window.look import DIGIT_OF_EM, LETTER_MM
from tests.window.screens import Scene, faults, made, scenes

SCENES = {scene.name: scene for scene in scenes()}
LARGE = ("line left", "line right", "leg left", "leg right", "stands", "crutches", "link")


@pytest.fixture
def view(qtbot: Any, request: pytest.FixtureRequest) -> Any:
    made_one = made(SCENES[request.param])
    qtbot.addWidget(made_one)
    return made_one


def words_of(view: Any) -> Iterator[Any]:
    from balance.window.drawing import Words
    from balance.window.painted import Painted

    for part in view.findChildren(Painted):
        if part.isVisible():
            yield from (one for one in part.picture if isinstance(one, Words) and one.text)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (from memory)."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2 (from memory)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("view", SCENES, indirect=True)
def test_words_fit_and_are_read(view: Any, request: pytest.FixtureRequest) -> None:
    from balance.window.drawing import size_of

    assert list(faults(view)) == []
    scene: Scene = SCENES[request.node.callspec.params["view"]]
    assert (view.width(), view.height()) == scene.size
    paper = view.look.palette.paper
    for one in words_of(view):
        wanted = 7.0 if one.name in LARGE and one.colour != view.look.palette.pale else 4.5
        assert contrast(one.colour, one.tag or paper) >= wanted, one.text
        assert size_of(one) >= 10, one.text
    for label in view.parts.below.cautions:
        needed = label.heightForWidth(label.width())
        assert label.height() >= needed - 1, label.text()


@pytest.mark.parametrize(
    "view", ["live", "live-dark", "crutches-hold", "too-close", "shift", "live-2160"], indirect=True
)
def test_what_is_read_from_two_metres_is_ten_millimetres_high(view: Any) -> None:
    from balance.window.drawing import size_of

    large = [one for one in words_of(view) if one.name in LARGE]
    assert len(large) >= 3
    for one in large:
        assert size_of(one) * DIGIT_OF_EM / view.look.px_per_mm >= LETTER_MM * 0.97, one.text


@pytest.mark.parametrize("view", ["crutches-hold-720", "long-names-720"], indirect=True)
def test_where_it_cannot_be_so_high_the_window_says_from_where_it_is_read(view: Any) -> None:
    assert "is read from 1." in view.parts.header.text_of("link detail")


def test_a_screen_that_says_no_size_counts_as_usual_and_the_persons_word_comes_first() -> None:
    from balance.window.look import USUAL_PX_PER_MM, px_per_mm

    assert px_per_mm(1080, 300.0) == pytest.approx(3.6)
    assert px_per_mm(1080, 0.0) == USUAL_PX_PER_MM
    assert px_per_mm(1080, None) == USUAL_PX_PER_MM
    assert px_per_mm(1080, 300.0, 270.0) == pytest.approx(4.0)
