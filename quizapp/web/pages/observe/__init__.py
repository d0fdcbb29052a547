"""Observations: a sheet for one thumb, its lock, its signature and its result."""
