"""Rehearsals: the shuffled steps put in order, then compared with the real one."""
