"""BIDS: a data set with the recording as physio data of a behavioural run, after the specification's version below."""

from __future__ import annotations

import csv
import gzip
import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np

from balance import __version__
from balance.exporting.signals import Signals, meanings, on_one_grid
from balance.words import say

BIDS_VERSION = "1.10.0"
TASK_LABELS = {
    "quiet standing": "quietstanding",
    "weight shift": "weightshift",
    "crutch load": "crutchload",
    "noise floor": "noisefloor",
}


def label(text: str) -> str:
    """Letters and digits alone, as the specification's labels are."""
    return re.sub(r"[^A-Za-z0-9]", "", text.encode("ascii", "ignore").decode()) or "unnamed"


def write_bids(signals: Signals, out: Path, stem: str) -> list[Path]:
    """Adds the recording to the data set in OUT, which is begun where there is none: sub-CODE/ses-DATE/beh/…_physio.tsv.gz and .json,
    _events.tsv, participants.tsv."""
    subject = label((signals.trial.subject.code if signals.trial.subject else None) or "unnamed")
    session = label(signals.name.split("/")[-2]) if "/" in signals.name else "1"
    task = TASK_LABELS.get(signals.trial.protocol, label(signals.trial.protocol))
    folder = out / f"sub-{subject}" / f"ses-{session}" / "beh"
    folder.mkdir(parents=True, exist_ok=True)
    run = label(stem[:2]) if stem[:2].isdigit() else "1"
    name = f"sub-{subject}_ses-{session}_task-{task}_run-{run}"
    gaps, table = on_one_grid(signals)
    columns = [column for column in table if column != "time_s"]
    data = folder / f"{name}_recording-plates_physio.tsv.gz"
    with data.open("wb") as raw, gzip.GzipFile(fileobj=raw, mode="wb", mtime=0, filename="") as file:
        for row in zip(*(table[column].tolist() for column in columns), strict=True):
            file.write(("\t".join("n/a" if math.isnan(v) else repr(v) for v in row) + "\n").encode())
    described = data.with_name(data.name.replace(".tsv.gz", ".json"))
    _json(described, _physio_words(signals, columns, float(table["time_s"][0]), gaps))
    events = folder / f"{name}_events.tsv"
    if signals.events:
        _write_events(events, signals)
    top = _data_set(out, subject, signals)
    return [data, described, *([events] if signals.events else []), *top]


def _physio_words(signals: Signals, columns: list[str], start_s: float, gaps: int) -> dict[str, Any]:
    said = meanings(signals)
    words: dict[str, Any] = {
        "SamplingFrequency": signals.rate_hz,
        "StartTime": start_s,
        "Columns": columns,
        "PhysioType": "generic",
        "TaskName": signals.trial.protocol,
        "SoftwareVersions": f"bandstand {__version__}",
        "SamplesInGaps": gaps,
    }
    return words | {c: {"Description": said[c]["meaning"], "Units": said[c]["unit"]} for c in columns}


def _write_events(path: Path, signals: Signals) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter="\t", lineterminator="\n")
        writer.writerow(["onset", "duration", "trial_type", "value"])
        writer.writerows([repr(at), "n/a", kind, _one_line(detail)] for at, kind, detail in signals.events)
    _json(
        path.with_suffix(".json"),
        {
            "trial_type": {"Description": say("export.event-kind")},
            "value": {"Description": say("export.event-detail")},
        },
    )


def _data_set(out: Path, subject: str, signals: Signals) -> list[Path]:
    """dataset_description.json, README, participants.tsv; what stands there already stays."""
    described, readme, people = out / "dataset_description.json", out / "README", out / "participants.tsv"
    if not described.exists():
        _json(
            described,
            {
                "Name": say("export.data-set"), "BIDSVersion": BIDS_VERSION, "DatasetType": "raw",
                "GeneratedBy": [{"Name": "bandstand", "Version": __version__}],
            },
        )  # fmt: skip
    if not readme.exists():
        readme.write_text(say("export.readme") + "\n", encoding="utf-8")
    known = (
        people.read_text(encoding="utf-8").splitlines()
        if people.exists()
        else ["participant_id\tbody_weight_n\theight_m"]
    )
    who = signals.trial.subject
    facts = [None, None] if who is None else [who.body_weight_n, who.height_m]
    if not any(line.split("\t")[0] == f"sub-{subject}" for line in known):
        known.append(
            "\t".join([f"sub-{subject}", *("n/a" if fact is None else f"{fact:g}" for fact in facts)])
        )
        people.write_text("\n".join(known) + "\n", encoding="utf-8")
    _json(people.with_suffix(".json"), {
        "body_weight_n": {"Description": say("export.weight"), "Units": "N"}, "height_m": {"Description": say("export.height"), "Units": "m"},
    })  # fmt: skip
    return [described, people]


def _one_line(text: str) -> str:
    return " ".join(text.split()) or "n/a"


def _json(path: Path, data: Any) -> None:
    path.write_text(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n", encoding="utf-8")


def read_physio(data: Path) -> dict[str, np.ndarray[Any, np.dtype[np.float64]]]:
    """A physio file read back: column → (n,) with nan for n/a."""
    columns = json.loads(data.with_name(data.name.replace(".tsv.gz", ".json")).read_text(encoding="utf-8"))[
        "Columns"
    ]
    with gzip.open(data, "rt", encoding="utf-8") as file:
        rows = [
            [math.nan if v == "n/a" else float(v) for v in line.rstrip("\n").split("\t")] for line in file
        ]
    return dict(zip(columns, np.array(rows).T, strict=True))
