"""A recording: one folder with trial.json, samples.csv and events.csv, written as it happens, read with checks."""

from balance.recording.reading import Event, Recording, find_recordings, read_recording, started
from balance.recording.repairing import repair
from balance.recording.writing import Recorder, amend, next_folder

__all__ = [
    "Event",
    "Recorder",
    "Recording",
    "amend",
    "find_recordings",
    "next_folder",
    "read_recording",
    "repair",
    "started",
]
