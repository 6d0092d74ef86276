"""Are ``balance`` and ``drivers`` ours? Unrelated packages of these names would overwrite ours in a shared environment."""

from __future__ import annotations

from importlib.metadata import Distribution, distributions

from balance.words import say

OURS = "bandstand"
NAMES = ("balance", "drivers")


def stranger() -> str | None:
    """The sentence that names another owner of either name; None where there is none."""
    found = {(name, one.metadata["Name"]) for one in distributions() for name in _held(one)}
    for name in NAMES:
        others = sorted(owner for held, owner in found if held == name and owner.lower() != OURS)
        if others:
            return say("command.stranger", name=name, other=", ".join(others))
    return None


def _held(one: Distribution) -> list[str]:
    """The names that it installed packages under; its lists are read as they stand, as to take them apart costs half a second."""
    tops, files = (one.read_text("top_level.txt") or "").split(), "\n" + (one.read_text("RECORD") or "")
    return [name for name in NAMES if name in tops or f"\n{name}/" in files]
