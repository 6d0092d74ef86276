"""Runs a study: what is known already is taken over, the rest is worked out and kept as it comes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from balance.study.engines import Done, Task
from balance.study.journal import InMemory, Journal
from balance.study.settings import Settings, key_of

Engine = Callable[[Iterable[Task], Settings], Iterator[Done]]


@dataclass
class Study:
    """The recordings in the order in which they were named, their results, and how many there are of what."""

    folders: list[Path]
    keys: list[str]
    journal: Journal | InMemory

    def found(self) -> Iterator[dict[str, Any]]:
        """The results that there are, in the recordings' order; the second of two with the same samples says whose they are."""
        first: dict[str, str] = {}
        for found in self.journal.found(self.keys):
            samples = (found.get("provenance") or {}).get("samples_sha256")
            if samples is not None and samples in first:
                found["duplicate_of"] = first[samples]
            elif samples is not None:
                first[samples] = found["recording"]
            yield found

    @property
    def done(self) -> int:
        return sum(key in self.journal.known for key in self.keys)


def run_study(
    folders: list[Path],
    settings: Settings,
    engine: Engine,
    journal: Journal | InMemory,
    told: Callable[[int], None],
) -> Study:
    """Works out what the journal does not hold yet; told: called with the number of recordings done, so far and each time. Raises
    OSError where a result cannot be kept, KeyboardInterrupt; what was done until then stands in the journal."""
    digest = settings.digest
    keys = [key_of(folder, digest) for folder in folders]
    study = Study(folders, keys, journal)
    done = study.done
    told(done)
    tasks = [
        (key, str(folder)) for key, folder in zip(keys, folders, strict=True) if key not in journal.known
    ]
    for key, found in engine(tasks, settings):
        journal.add(key, found)
        done += 1
        told(done)
    return study
