"""Five measures of the feet's CoP from their definitions (Prieto et al. 1996; Riedel & Sidorenko 1995)."""

import math

import numpy as np
from scipy.signal import welch
from scipy.stats import f as f_distribution

LOWEST_HZ, HIGHEST_HZ, TAPERS = 0.15, 5.0, 8


def sway(cop: np.ndarray, rate_hz: float, spectrum: str) -> dict[str, dict[str, float | None]]:
    """Measures of ap, ml and resultant; absent ones are None. cop: (n, 2) mm, unbroken."""
    seconds = (len(cop) - 1) / rate_hz
    still = cop - cop.mean(axis=0)
    distance = np.hypot(still[:, 0], still[:, 1])
    courses = {"ap": still[:, 0], "ml": still[:, 1], "resultant": distance}
    steps = np.diff(still, axis=0)
    step = {"ap": np.abs(steps[:, 0]), "ml": np.abs(steps[:, 1]), "resultant": np.hypot(*steps.T)}
    found = {}
    for name, course in courses.items():
        found[name] = {
            "rms_distance_mm": math.sqrt((course**2).mean()) if seconds >= 10 else None,
            "path_mm": float(step[name].sum()) if seconds >= 10 and rate_hz >= 40 else None,
            "total_power_mm2": None,
            "centroid_hz": None,
        }
        if seconds >= 20 and rate_hz >= 40:
            power, centroid = moments(course - course.mean(), rate_hz, spectrum)
            found[name] |= {"total_power_mm2": power, "centroid_hz": centroid}
    found["resultant"]["ellipse95_area_mm2"] = ellipse(still) if seconds >= 10 else None
    return found


def ellipse(still: np.ndarray) -> float:
    """The 95 % prediction ellipse's area."""
    n = len(still)
    s = still.T @ still / (n - 1)
    k2 = 2 * (n - 1) * (n + 1) / (n * (n - 2)) * f_distribution.ppf(0.95, 2, n - 2)
    return float(math.pi * k2 * math.sqrt(s[0, 0] * s[1, 1] - s[0, 1] ** 2))


def moments(x: np.ndarray, rate_hz: float, spectrum: str) -> tuple[float, float]:
    """Total power and centroidal frequency between 0.15 and 5 Hz."""
    n = len(x)
    if spectrum == "welch":
        n = len(x) // 2
        hertz, density = welch(x, rate_hz, window="hann", nperseg=n, noverlap=n // 2, detrend="constant")
    else:
        hertz, density = multitaper(x, rate_hz)
    width = rate_hz / n
    first = math.ceil(LOWEST_HZ * n / rate_hz - 1e-9)
    last = math.floor(HIGHEST_HZ * n / rate_hz + 1e-9)
    power = sum(density[m] * width for m in range(first, last + 1))
    second = sum(hertz[m] ** 2 * density[m] * width for m in range(first, last + 1))
    return float(power), float(math.sqrt(second / power))


def multitaper(x: np.ndarray, rate_hz: float) -> tuple[np.ndarray, np.ndarray]:
    """One-sided density (mm²/Hz) by explicit sums over sine tapers, at m·rate/n up to a little above 5 Hz."""
    n = len(x)
    t = np.arange(n)
    bins = np.arange(min(n // 2, math.floor(HIGHEST_HZ * n / rate_hz + 1e-9) + 1) + 1)
    phase = 2 * math.pi * np.outer(bins, t) / n
    cosine, sine = np.cos(phase), np.sin(phase)
    density = np.zeros(len(bins))
    for k in range(1, TAPERS + 1):
        taper = math.sqrt(2 / (n + 1)) * np.sin(math.pi * k * (t + 1) / (n + 1))
        y = x * taper
        density += ((cosine @ y) ** 2 + (sine @ y) ** 2) / rate_hz
    density *= 2 / TAPERS
    density[0] /= 2
    return bins * rate_hz / n, density
