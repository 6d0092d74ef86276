"""A subject's day: its recordings with session.json beside them, what was adjusted when, which trials answer."""
