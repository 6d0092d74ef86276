"""Closes a recording that was cut off: what is whole stays, a torn last line goes, counts and checksum are written."""

from __future__ import annotations

import hashlib
from pathlib import Path

from balance.files import FileProblem, load_json
from balance.recording.reading import read_recording
from balance.recording.writing import trial_text, write_private
from balance.words import say


def repair(folder: Path) -> bool:
    """True where something was to be done; a closed recording is left as it is. Raises FileProblem."""
    recording = read_recording(folder)
    trial = recording.trial
    if trial.state == "complete" or (trial.state == "interrupted" and trial.samples.sha256 is not None):
        return False
    try:
        for path in (folder / trial.samples.file, folder / "events.csv"):
            if path.exists():
                data = path.read_bytes()
                whole = data[: data.rfind(b"\n") + 1]
                if whole != data:
                    with path.open("r+b") as file:
                        file.truncate(len(whole))
        digest = hashlib.sha256((folder / trial.samples.file).read_bytes()).hexdigest()
        data = load_json(folder / "trial.json")
        data["state"] = "interrupted"
        data["samples"] = {"file": trial.samples.file, "rows": len(recording.samples), "sha256": digest}
        write_private(folder / "trial.json", trial_text(data))
    except OSError as error:
        raise FileProblem(folder, say("recording.write", folder=folder, reason=error.strerror)) from None
    return True
