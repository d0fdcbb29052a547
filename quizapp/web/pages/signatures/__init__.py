"""Signatures: anybody signed in checks one by its receipt, step by step."""
