"""Devices: which profile revisions are in the packs of which base, from when to when."""
