"""Schema changes, each whole or not at all."""
