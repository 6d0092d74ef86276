"""Area, velocity and frequency as the authors of the open recordings define them, by our measures."""

from __future__ import annotations

import numpy as np

from balance.measures import areas, path, spectrum

RATE = 100.0


def authors_figures(ap_cm: np.ndarray, ml_cm: np.ndarray) -> tuple[float, float, float]:
    plane = np.stack([ap_cm - ap_cm.mean(), ml_cm - ml_cm.mean()])
    n = plane.shape[1]
    velocity = path.path_mm(plane, RATE) / (n / RATE)  # their duration is N/rate, ours (N − 1)/rate
    frequency = spectrum.weighted_mean_frequency_hz(plane[0], plane[1], RATE)
    assert frequency is not None
    return areas.ellipse95_area_mm2(plane, RATE), velocity, frequency
