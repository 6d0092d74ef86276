"""One recording with everything worked out that its findings are put together from."""

import numpy as np

from tests.reference.chain import Chain, make_chain
from tests.reference.errors import Spread, spread
from tests.reference.facts import gather
from tests.reference.reading import Recording
from tests.reference.standing import Masks, Samples, cell_forces, follow, masks, means


class Trial:
    """Everything known of one recording while its findings are put together."""

    def __init__(self, recording: Recording, cutoff_hz: float | None) -> None:
        self.recording = recording
        self.facts, self.world = gather(recording)
        w = self.world
        self.chain: Chain = make_chain(recording, self.facts.cells, w.a1, w.a2, w.zero)
        self.cutoff_hz = cutoff_hz if cutoff_hz is not None and cutoff_hz < 0.4 * self.chain.rate_hz else None
        forces = cell_forces(w, self.facts, self.chain, self.cutoff_hz)
        self.samples: Samples = follow(w, self.facts, forces)
        self.masks: Masks = masks(self.facts, self.samples, self.chain.filled)
        self.means = means(self.facts, w, self.samples, self.masks)
        self.spread: Spread = spread(self.facts, w, self.masks, self.chain, self.cutoff_hz)
        self.codes: set[str] = set()
        self.uncertain_support = self.facts.handled
        self.share = [self.samples.share[k] for k in (0, 1)]

    def weights(self, line: str) -> np.ndarray:
        """(2,) mean load share of each foot over the samples of this line."""
        return np.array([share[self.masks.line[line]].mean() for share in self.share])


def longest_stretch(trial: Trial) -> tuple[int, int]:
    best = (0, 0)
    for a, b in valid_stretches(trial.chain, trial.masks.feet_or_filled):
        if b - a > best[1] - best[0]:
            best = (a, b)
    return best


def valid_stretches(chain: Chain, valid: np.ndarray) -> list[tuple[int, int]]:
    found = []
    for begin, stop in chain.stretches:
        start = None
        for i in range(begin, stop + 1):
            if i < stop and valid[i]:
                start = i if start is None else start
            elif start is not None:
                found.append((start, i))
                start = None
    return found
