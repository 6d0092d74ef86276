"""TOML and JSON files: read, checked in full, every fault named with file, key and line."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from balance.words import say

MAX_DESCRIPTION_BYTES = (
    8_000_000  # a rig, stance, calibration or trial is far smaller; a larger file is not one
)


class FileProblem(Exception):
    """One or more faults of one file; ``str`` is the sentences, a line each."""

    def __init__(self, path: Path | str, *sentences: str) -> None:
        self.path = Path(path)
        self.sentences = sentences
        super().__init__(path, *sentences)  # what it is made of again after its way from another process

    def __str__(self) -> str:
        return "\n".join(self.sentences)


class Described(BaseModel):
    """Base of all file models: unknown keys are an error, values are not coerced from text, no NaN; a null value
    counts as absent."""

    model_config = ConfigDict(
        extra="forbid", strict=True, allow_inf_nan=False, frozen=True, populate_by_name=True
    )

    @model_validator(mode="before")
    @classmethod
    def _null_is_absent(cls, data: Any) -> Any:
        return {k: v for k, v in data.items() if v is not None} if isinstance(data, dict) else data


Model = TypeVar("Model", bound=BaseModel)
SCHEMA = 1


@dataclass(frozen=True)
class _Place:
    line: int | None
    key: str


def read_text(path: Path, limit_bytes: int = MAX_DESCRIPTION_BYTES) -> str:
    """The file as UTF-8 text with or without a byte-order mark. Raises FileProblem."""
    try:
        if not path.is_file():
            raise FileProblem(
                path, say("file.missing" if not path.exists() else "file.not-a-file", file=path)
            )
        if path.stat().st_size > limit_bytes:
            raise FileProblem(
                path, say("file.too-large", file=path, size=path.stat().st_size, limit=limit_bytes)
            )
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileProblem(path, say("file.not-utf8", file=path, byte=error.start)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileProblem(path, say("file.unreadable", file=path, reason=reason)) from None


def read_toml(path: Path, model: type[Model]) -> Model:
    """``path`` as ``model``. Raises FileProblem with all faults at once."""
    text = read_text(path)
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise FileProblem(path, say("file.not-toml", file=path, reason=error)) from None
    return check(path, data, model, _toml_lines(text))


def read_json(path: Path, model: type[Model]) -> Model:
    """``path`` as ``model``. Raises FileProblem with all faults at once."""
    return check(path, load_json(path), model, {})


def load_json(path: Path) -> Any:
    """The file's JSON value; NaN and infinities are refused. Raises FileProblem."""

    def refuse(name: str) -> None:
        raise ValueError(name)

    try:
        return json.loads(read_text(path), parse_constant=refuse)
    except (ValueError, RecursionError) as error:
        line = getattr(error, "lineno", 1)
        raise FileProblem(path, say("file.not-json", file=path, line=line, reason=error)) from None


def check(path: Path, data: Any, model: type[Model], lines: Mapping[str, int]) -> Model:
    """``data`` as ``model``, or FileProblem naming every fault with its key and, where known, its line."""
    if not isinstance(data, dict):
        raise FileProblem(path, say("file.not-a-table", file=path))
    schema = data.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        raise FileProblem(path, say("file.newer-schema", file=path, schema=schema, known=SCHEMA))
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise FileProblem(path, *(_sentence(path, fault, lines) for fault in error.errors())) from None
    except RecursionError:
        raise FileProblem(path, say("file.not-a-table", file=path)) from None


def _sentence(path: Path, fault: Any, lines: Mapping[str, int]) -> str:
    parts = [str(part) for part in fault["loc"]]
    key = ".".join(parts) or "-"
    line = next((lines[k] for n in range(len(parts), 0, -1) if (k := ".".join(parts[:n])) in lines), None)
    where = say("file.at-line", key=key, line=line) if line else say("file.at-key", key=key)
    kind = fault["type"]
    if kind == "missing":
        what = say("file.key-missing")
    elif kind == "extra_forbidden":
        what = say("file.key-unknown")
    else:
        what = say(
            "file.key-wrong",
            reason=str(fault["msg"]).removeprefix("Value error, "),
            value=_short(fault.get("input")),
        )
    return say("file.fault", file=path, where=where, what=what)


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


_HEADER = re.compile(r"^\s*\[(\[?)\s*([A-Za-z0-9_.\- ]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-]+)\s*=")


def _toml_lines(text: str) -> dict[str, int]:
    """Line number of each key of plain TOML, keyed 'table.index.key'."""
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = header[2]
            if header[1]:
                counts[table] = counts.get(table, -1) + 1
                table = f"{table}.{counts[table]}"
            lines[table] = number
        elif key := _KEY.match(line):
            lines[f"{table}.{key[1]}" if table else key[1]] = number
    return lines


def as_data(model: BaseModel) -> dict[str, Any]:
    """The model as plain data for JSON: the keys as files spell them, absent optional values left out."""
    return model.model_dump(mode="json", by_alias=True, exclude_none=True)


def as_toml(model: BaseModel) -> str:
    """The model as TOML: numbers, texts and lists of a table, then the tables in it; absent values left out."""
    return "\n".join(_toml_table("", as_data(model))).strip() + "\n"


def _toml_table(name: str, data: dict[str, Any]) -> list[str]:
    plain = {k: v for k, v in data.items() if not _is_table(v)}
    lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in plain.items()]
    for key, value in data.items():
        path = f"{name}.{key}" if name else key
        if isinstance(value, dict):
            lines += ["", f"[{path}]", *_toml_table(path, value)]
        elif _is_table(value):
            for one in value:
                lines += ["", f"[[{path}]]", *_toml_table(path, one)]
    return lines


def _is_table(value: object) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))
