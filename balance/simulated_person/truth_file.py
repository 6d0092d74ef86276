"""Writes the truth of a simulated recording beside it, so that anyone can hold the program against it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from balance.simulated_person.person import SimulatedPerson
from drivers.samples import SampleBlock


def truth_of(person: SimulatedPerson, samples: SampleBlock) -> dict[str, Any]:
    """For every sample the true loads and centres of pressure, and the true shifts, as plain data."""
    truth = person.truth(np.asarray(samples.board_us * 1e-6, dtype=np.float64))
    return {
        "sequence": samples.sequence.tolist(),
        "load_n": {part: values.round(6).tolist() for part, values in truth.load_n.items()},
        "cop_mm": {line: values.round(6).tolist() for line, values in truth.cop_mm.items()},
        "shifts": person.shifts,
    }


def write_truth(recording: Path, person: SimulatedPerson, samples: SampleBlock) -> Path:
    """NAME.truth.json beside the recording's folder."""
    path = recording.with_name(recording.name + ".truth.json")
    path.write_text(json.dumps(truth_of(person, samples), allow_nan=False) + "\n", encoding="utf-8")
    return path
