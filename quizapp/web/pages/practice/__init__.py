"""Practice: a few fresh questions without consequences."""
