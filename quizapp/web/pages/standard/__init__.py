"""The standard for the year: what is in force, for everybody it binds; and the next one, drafted and signed."""

from quizapp.web.pages.standard import drafting, signing

__all__ = ["drafting", "signing"]
