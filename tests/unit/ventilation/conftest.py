"""Property tests here are timed by the run as a whole: a deadline for each example fails on a busy machine."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
