"""Quiet standing: as the person stands, for 20 s (tool default; 60 s for research)."""

from balance.protocols.protocol import Protocol

PROTOCOL = Protocol("quiet standing", 20.0)
