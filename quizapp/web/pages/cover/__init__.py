"""Shift cover: the calendar of crews, one shift with its ways out, crews from a file or by hand."""

from quizapp.web.pages.cover import answer_views, import_views, keep_views, views

__all__ = ["answer_views", "import_views", "keep_views", "views"]
