"""The log of real use: two minutes on a phone, one's own list, and counts without names for the educator."""
