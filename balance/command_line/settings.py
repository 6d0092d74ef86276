"""One visible settings file beside the recordings: which files were used last. May be edited or deleted."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field

from balance.files import Described, as_toml, read_toml
from balance.recording.writing import write_private

NAME = "bandstand.toml"


class Settings(Described):
    """bandstand.toml: the files that live and record used last, and what a researcher answered last."""

    rig: str | None = Field(default=None, max_length=4000)
    stance: str | None = Field(default=None, max_length=4000)
    calibration: str | None = Field(default=None, max_length=4000)
    conditions: list[str] = Field(
        default_factory=list, max_length=20
    )  # names that a researcher was asked for last
    repeats: int = Field(default=1, ge=1, le=100)


def read_settings(out: Path) -> Settings:
    """Of the folder that holds the subjects' folders; empty where there is none. Raises FileProblem."""
    path = out / NAME
    return read_toml(path, Settings) if path.exists() else Settings()


def keep_settings(out: Path, settings: Settings) -> None:
    """Written where it changed. Raises OSError."""
    if settings != read_settings(out):
        out.mkdir(parents=True, exist_ok=True)
        write_private(out / NAME, as_toml(settings))


def subjects(out: Path) -> list[str]:
    """Codes of the subjects that have recordings there."""
    if not out.is_dir():
        return []
    return sorted(path.name for path in out.iterdir() if path.is_dir() and any(path.glob("*/*/trial.json")))
