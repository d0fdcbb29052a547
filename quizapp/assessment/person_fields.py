"""What may be written about a person, read strictly and given back in the form in which it is kept."""

from __future__ import annotations

import re
import unicodedata

from quizapp.errors import BadInput

STAFF_NUMBER = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._/-]{0,30}[A-Za-z0-9])?")
AS_A_POWER_OF_TEN = re.compile(r"[0-9]+(?:[.,][0-9]+)?[Ee]\+?[0-9]+")
EMAIL = re.compile(r"[^@\s]{1,64}@[^@\s]{1,190}")
SIGN_IN_NAME = re.compile(r"[a-z0-9][a-z0-9._@+-]{2,63}")
LONGEST_PROFESSION = 100


def read_staff_number(text: str) -> str:
    """Return a staff number as it is kept, full-width and other compatibility forms made plain.

    1 to 32 letters A to Z, digits, or . _ / - between them. Raises BadInput.
    """
    number = unicodedata.normalize("NFKC", text.strip())
    if AS_A_POWER_OF_TEN.fullmatch(number):
        raise BadInput(
            f"{number} is what a spreadsheet makes of a long number: digits are lost. "
            "Format the column as text and enter the number again.",
            field="staff_number",
        )
    if not STAFF_NUMBER.fullmatch(number):
        raise BadInput(
            "A staff number has 1 to 32 letters A to Z, digits, or . _ / - between them.", field="staff_number"
        )
    return number


def staff_number_key(number: str) -> str:
    """Give the form under which two staff numbers are the same."""
    return number.casefold()


def without_leading_zeros(number: str) -> str:
    """Give the form into which a spreadsheet may have turned a staff number."""
    return staff_number_key(number).lstrip("0") or "0"


def read_profession(text: str) -> str:
    """Return a profession, 1 to 100 printable characters with single spaces; raises BadInput."""
    words = unicodedata.normalize("NFC", " ".join(text.split()))
    if not words or len(words) > LONGEST_PROFESSION or not words.isprintable():
        raise BadInput(
            f"Write the profession in 1 to {LONGEST_PROFESSION} characters that can be printed.", field="profession"
        )
    return words


def read_email(text: str) -> str | None:
    """Return an address, or None where none is given; raises BadInput when it cannot be one."""
    address = text.strip()
    if not address:
        return None
    if not EMAIL.fullmatch(address) or not address.isprintable():
        raise BadInput("Write an e-mail address such as name@example.org, or leave it empty.", field="email")
    return address


def read_sign_in_name(text: str) -> str:
    """Return the form in which a sign-in name is kept, case folded; raises BadInput."""
    name = text.strip().casefold()
    if not SIGN_IN_NAME.fullmatch(name):
        raise BadInput(
            "A sign-in name has 3 to 64 letters a to z, digits, or one of . _ @ + - and begins with a letter or digit.",
            field="sign_in_name",
        )
    return name
