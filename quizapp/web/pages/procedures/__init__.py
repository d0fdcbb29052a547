"""Procedures: what they hold, what must come before what, and a sheet for paper."""
