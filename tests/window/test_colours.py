"""Colours stay apart for colour-blind eyes: three kinds simulated, the difference of each pair that must be told apart.

Matrices of Machado, Oliveira & Fernandes 2009, IEEE TVCG 15:1291–1298, severity 1.0 (from memory); CIE 1976 L*a*b* differences (ISO/CIE
11664-4). A difference of 2.3 is just seen (Mahy et al. 1994, from memory); 15 is asked for here, tool default."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest

from balance.window.palette import PALETTES, Palette
from tests.window.test_screens import contrast

Array = npt.NDArray[np.float64]

EYES: dict[str, Array] = {
    "usual": np.eye(3),
    "protan": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "deutan": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "tritan": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}  # fmt: skip
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = XYZ.sum(axis=1)
APART = 15.0


def linear(colour: str) -> Array:
    channels = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def lab(rgb: Array) -> Array:
    ratio = XYZ @ np.clip(rgb, 0, 1) / WHITE
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def difference(one: str, other: str, eye: str) -> float:
    return float(np.linalg.norm(lab(EYES[eye] @ linear(one)) - lab(EYES[eye] @ linear(other))))


def test_the_difference_is_that_of_the_standard() -> None:
    """Black and white are 100 apart; a simulated eye takes red and green nearer."""
    assert difference("#000000", "#ffffff", "usual") == pytest.approx(100.0, abs=0.1)
    assert difference("#cc0000", "#008800", "deutan") < 0.6 * difference("#cc0000", "#008800", "usual")


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("name", PALETTES)
def test_lines_stay_apart(name: str, eye: str) -> None:
    p: Palette = PALETTES[name]
    for one, other in combinations((p.ink, p.line, p.hands, p.band_edge), 2):
        assert difference(one, other, eye) > APART, (one, other)
    for line in (p.ink, p.line, p.hands):
        for behind in (p.paper, p.sole, p.band):
            assert difference(line, behind, eye) > 2 * APART, (line, behind)


@pytest.mark.parametrize("name", PALETTES)
def test_text_is_read(name: str) -> None:
    p = PALETTES[name]
    for large in (p.ink, p.line, p.hands):
        assert contrast(large, p.paper) >= 7
    for small in (p.quiet, p.pale):
        assert contrast(small, p.paper) >= 4.5
    assert contrast(p.band_edge, p.band) >= 3  # WCAG 2.2, 1.4.11 (from memory)
