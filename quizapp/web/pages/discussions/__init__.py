"""Structured discussions: choose, write down, sign, and what was signed."""
