"""People of the service: the list, one person, the account, and files taken over."""

from quizapp.web.pages.people import account_act, imports, sign_offs

__all__ = ["account_act", "imports", "sign_offs"]
