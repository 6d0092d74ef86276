"""Free: recorded until it is stopped."""

from balance.protocols.protocol import Protocol

PROTOCOL = Protocol("free", None, stands=False)
