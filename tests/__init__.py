"""Tests of `balance` and `drivers`, and what supports them."""
