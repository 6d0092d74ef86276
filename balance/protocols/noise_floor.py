"""Noise floor: a dead weight on the plates, nobody near; what the rig alone makes of every measure."""

from balance.protocols.protocol import Protocol

PROTOCOL = Protocol("noise floor", 60.0, stands=False)
