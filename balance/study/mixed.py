"""What a study mixes that a reader of its table should know."""

from __future__ import annotations

from typing import Any

from balance.words import say


class Mixed:
    """Fed with findings, one after the other."""

    def __init__(self) -> None:
        self._rates: set[int] = set()
        self._rigs: set[str] = set()
        self._software: set[str | None] = set()

    def saw(self, found: dict[str, Any]) -> None:
        """One more recording; one with an error is nothing."""
        if "error" not in found:
            self._rates.add(round(found["time"]["rate_hz"]))
            self._rigs.add(found["provenance"]["rig_sha256"])
            self._software.add(found["provenance"]["recorded_with"])

    def sentences(self) -> list[str]:
        """Of what there is more than one."""
        said = []
        if len(self._rates) > 1:
            said.append(say("study.mixed-rates", rates=", ".join(map(str, sorted(self._rates)))))
        if len(self._rigs) > 1:
            said.append(say("study.mixed-rigs", count=len(self._rigs)))
        if len(self._software) > 1:
            said.append(say("study.mixed-software"))
        return said
