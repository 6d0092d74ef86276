"""Guided steps on a board: what to put where, whether the reading stands, what was taken. No port, no screen."""
