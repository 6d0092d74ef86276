"""How a study's recordings are analysed, and what a result is known by: contents and settings."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from balance import __version__
from balance.calibration import Calibration
from balance.provenance import digest
from balance.stance import Stance
from balance.study.noise_floor import Floor, mark_at_floor


@dataclass(frozen=True)
class Settings:
    """The same for every recording of a study. floor: what the rig alone shows, see noise_floor.py."""

    cutoff_hz: float | None = 10.0
    spectrum: Literal["multitaper", "welch"] = "multitaper"
    stance: Stance | None = None
    calibration: Calibration | None = None
    budgets: bool = False
    floor: Floor | None = None

    @property
    def digest(self) -> str:
        """Changes with anything that changes a result: settings, software, the measures' declarations."""
        from balance.measures.sway import versions

        said = {
            "software": __version__,
            "measures": versions(),
            "cutoff_hz": self.cutoff_hz,
            "spectrum": self.spectrum,
            "stance": self.stance and digest(self.stance),
            "calibration": self.calibration and digest(self.calibration),
            "budgets": self.budgets,
            "floor": self.floor
            and [self.floor.sizes, self.floor.noise.load_n, self.floor.noise.points_mm.tobytes().hex()],
        }
        return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def key_of(folder: Path, settings_digest: str) -> str:
    """What a recording's result is known by: its name, every byte of it, the settings. A recording that cannot be read has one too."""
    known = hashlib.sha256(settings_digest.encode())
    known.update("/".join(folder.resolve().parts[-3:]).encode("utf-8", "surrogateescape"))
    for name in ("trial.json", "samples.csv", "events.csv"):
        try:
            with (folder / name).open("rb") as file:
                known.update(hashlib.file_digest(file, "sha256").digest())
        except OSError:
            known.update(b"unreadable")
    return known.hexdigest()


def analyse_one(folder: str, settings: Settings) -> dict[str, Any]:
    """One recording's findings; where it cannot be read, its name and the sentence that says why. Never raises for a recording."""
    from balance.analysis import analyse_recording
    from balance.files import FileProblem
    from balance.filters import ImpossibleCutoff
    from balance.recording.reading import recording_name
    from balance.words import say

    path = Path(folder)
    try:
        found = analyse_recording(
            path, cutoff_hz=settings.cutoff_hz, spectrum=settings.spectrum, stance=settings.stance,
            calibration=settings.calibration, budgets=settings.budgets, noise=None if settings.floor is None else settings.floor.noise,
        )  # fmt: skip
    except (FileProblem, OSError) as error:
        return {"recording": recording_name(path), "error": str(error)}
    except ImpossibleCutoff as error:
        sentence = say("command.cutoff-rate", text=f"{error.cutoff_hz:g}", rate=error.rate_hz, recording=path)
        return {"recording": recording_name(path), "error": sentence}
    return found if settings.floor is None else mark_at_floor(found, settings.floor.sizes)
