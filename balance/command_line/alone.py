"""Are ``balance`` and ``drivers`` ours? Unrelated packages of these names would overwrite ours in a shared environment."""

from __future__ import annotations

from importlib.metadata import packages_distributions

from balance.words import say

OURS = "bandstand"


def stranger() -> str | None:
    """The sentence that names another owner of either name; None where there is none."""
    owners = packages_distributions()
    for name in ("balance", "drivers"):
        others = sorted({owner for owner in owners.get(name, []) if owner.lower() != OURS})
        if others:
            return say("command.stranger", name=name, other=", ".join(others))
    return None
