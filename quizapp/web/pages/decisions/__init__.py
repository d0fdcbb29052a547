"""The decision desk: who waits, what is there and what is missing, decide, sign; amend and void what was decided."""

from quizapp.web.pages.decisions import changing

__all__ = ["changing"]
