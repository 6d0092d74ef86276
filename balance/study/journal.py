"""Results as they come: a line each, appended and flushed, so that a study that is broken off has lost nothing it had done."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Self


class Journal:
    """OUT.rows.jsonl: {"key", "found"} a line. Raises OSError where it cannot be written."""

    def __init__(self, path: Path, *, go_on: bool) -> None:
        """go_on: keep what stands in it (a torn last line is taken off); else begin anew."""
        self.path = path
        self.known: dict[str, int] = {}  # key: where its line begins
        if go_on and path.exists():
            self._index()
        self._file = path.open("r+b" if go_on and path.exists() else "w+b")
        self._file.seek(0, 2)

    def _index(self) -> None:
        end = 0
        with self.path.open("rb") as file:
            for line in file:
                if not line.endswith(b"\n"):
                    break
                try:
                    self.known[str(json.loads(line)["key"])] = end
                except (ValueError, KeyError, TypeError):
                    break
                end += len(line)
        with self.path.open("r+b") as file:
            file.truncate(end)

    def add(self, key: str, found: dict[str, Any]) -> None:
        """One more result, on its way to the disk before this returns."""
        self._file.seek(0, 2)
        at = self._file.tell()
        line = json.dumps({"key": key, "found": found}, ensure_ascii=False, allow_nan=False).encode()
        self._file.write(line + b"\n")
        self._file.flush()
        self.known[key] = at

    def found(self, keys: list[str]) -> Iterator[dict[str, Any]]:
        """The results with these keys, in this order; those that are not there are left out."""
        for key in keys:
            if key in self.known:
                self._file.seek(self.known[key])
                yield json.loads(self._file.readline())["found"]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()


class InMemory:
    """The same where there is no file to write: for results on the screen."""

    def __init__(self) -> None:
        self._found: dict[str, dict[str, Any]] = {}

    @property
    def known(self) -> dict[str, dict[str, Any]]:
        return self._found

    def add(self, key: str, found: dict[str, Any]) -> None:
        self._found[key] = found

    def found(self, keys: list[str]) -> Iterator[dict[str, Any]]:
        yield from (self._found[key] for key in keys if key in self._found)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass
