"""Roles: who holds which, proposing, confirming by a second administrator, ending."""
