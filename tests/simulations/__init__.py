"""Simulations whose tables stand in DEVELOPERS.md; each is run by hand."""
