"""Seals small secrets that have to be read again, so that a copy of the database alone is not enough to use them."""

from __future__ import annotations

import base64

from quizapp.errors import Conflict

PURPOSE = b"quizapp second factor v1"


class Sealer:
    """Seals and opens texts under a key derived from the installation's secret."""

    def __init__(self, secret: str) -> None:
        """Derive the key; `secret` is the installation's own, at least 32 characters."""
        from cryptography.fernet import Fernet
        from cryptography.hazmat.primitives.hashes import SHA256
        from cryptography.hazmat.primitives.kdf.hkdf import HKDF

        key = HKDF(algorithm=SHA256(), length=32, salt=None, info=PURPOSE).derive(secret.encode())
        self._fernet = Fernet(base64.urlsafe_b64encode(key))

    def seal(self, text: str) -> str:
        """Return the text, encrypted and authenticated."""
        return self._fernet.encrypt(text.encode()).decode()

    def opened(self, sealed: str) -> str:
        """Return the text; raises Conflict where it was sealed under another secret or was changed."""
        from cryptography.fernet import InvalidToken

        try:
            return self._fernet.decrypt(sealed.encode()).decode()
        except InvalidToken:
            raise Conflict(
                "Second factors were sealed under another secret of this installation. Nothing was changed. "
                "Use a recovery code, or ask an administrator to have the second factor forgotten."
            ) from None
