"""Days made of the project's three recordings, with other headers."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).parents[3] / "recordings" / "R7T" / "2026-11-25"
BEFORE, AFTER, SHIFT = (
    SOURCE / name for name in ("01-quiet-standing", "02-quiet-standing", "03-weight-shift")
)


def add(day: Path, source: Path, at: str, **changes: Any) -> Path:
    """A copy of a recording in a day, begun at 'HH:MM', with changes to its trial.json (None takes a key away)."""
    number = len([p for p in day.iterdir() if p.is_dir()]) + 1 if day.exists() else 1
    folder = day / f"{number:02d}-{source.name[3:]}"
    shutil.copytree(source, folder)
    path = folder / "trial.json"
    trial = json.loads(path.read_text())
    trial |= {"started": f"2026-03-02T{at}:00+01:00", **changes}
    path.write_text(json.dumps({k: v for k, v in trial.items() if v is not None}))
    return folder


def note(day: Path, **entries: Any) -> None:
    day.mkdir(parents=True, exist_ok=True)
    (day / "session.json").write_text(json.dumps({"schema": 1, **entries}))


def adjusted(at: str, **more: Any) -> dict[str, Any]:
    return {
        "when": f"2026-03-02T{at}:00+01:00",
        "side": "left",
        "what": "alignment angle",
        "from": 5,
        "to": 8,
        "unit": "deg",
        **more,
    }
