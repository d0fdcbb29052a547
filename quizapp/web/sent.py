"""What a browser sent, read so that nothing it holds is an error of the program."""

from __future__ import annotations

from typing import Any

from flask import Request
from werkzeug.exceptions import BadRequest


class SentRequest(Request):
    """A request whose JSON may be nested as deep as anybody likes: too deep is refused like any other broken JSON."""

    def get_json(self, force: bool = False, silent: bool = False, cache: bool = True) -> Any:
        """Return the parsed body as Flask does; refuse what is nested too deep to parse."""
        try:
            return super().get_json(force=force, silent=silent, cache=cache)
        except RecursionError:
            if silent:
                return None
            raise BadRequest("The JSON is nested too deep.") from None
