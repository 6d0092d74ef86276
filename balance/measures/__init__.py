"""Sway measures, one file a family; a new measure is one function with its declaration in its family's list."""
