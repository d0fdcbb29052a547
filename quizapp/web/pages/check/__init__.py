"""Checking evidence that was taken away, without an account."""
