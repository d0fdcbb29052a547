"""The decision desk: who waits, what is there and what is missing, decide, sign."""
