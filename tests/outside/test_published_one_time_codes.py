"""Codes of the second factor against the published values of RFC 4226 and RFC 6238."""

from __future__ import annotations

import base64
from datetime import UTC, datetime, timedelta

import pytest

from quizapp.errors import BadInput
from quizapp.services.sealing import Sealer
from quizapp.services.second_factor import confirm_second_factor, show_second_factor
from quizapp.store.accounts import SessionRow
from quizapp.store.second_factors import SecondFactor
from tests.small_service import SmallService
from tests.web_app import signed_in_cookie

SECRET = base64.b32encode(b"12345678901234567890").decode()
SEALER = Sealer("only-for-tests-" * 3)

RFC_4226 = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]
"""RFC 4226, appendix D: values for counts 0 to 9."""

RFC_6238 = {59: "287082", 1111111109: "081804", 1111111111: "050471", 1234567890: "005924", 2000000000: "279037"}
"""RFC 6238, appendix B, SHA-1: the last six of the eight digits printed there, by seconds since 1970."""


@pytest.fixture
def session_id(small_sqlite: SmallService) -> str:
    """Tor is signed in and sets up the secret of the published tables."""
    signed_in_cookie(small_sqlite, "tor", lambda: small_sqlite.now)
    with small_sqlite.database.writing() as session:
        row = session.query(SessionRow).one()
        session.add(
            SecondFactor(
                id="f" * 32, account_id=row.account_id, sealed_secret=SEALER.seal(SECRET),
                sealed_seed=SEALER.seal("ab" * 32), begun_at=datetime(2099, 1, 1, tzinfo=UTC), confirmed_at=None,
                last_step=0,
            )
        )  # fmt: skip
        return row.id


@pytest.mark.parametrize(("seconds", "code"), RFC_6238.items())
def test_the_code_of_a_moment(small_sqlite: SmallService, session_id: str, seconds: int, code: str) -> None:
    with small_sqlite.acting("tor", at=datetime.fromtimestamp(seconds, UTC)) as act:
        confirm_second_factor(act, SEALER, code=code, session_id=session_id)


@pytest.mark.parametrize(("span", "code"), list(enumerate(RFC_4226))[2:])
def test_a_code_works_one_span_early_or_late_and_no_more(
    small_sqlite: SmallService, session_id: str, span: int, code: str
) -> None:
    moment = datetime.fromtimestamp(span * 30, UTC)
    for early_or_late in (-2, 2):
        with (
            small_sqlite.acting("tor", at=moment + timedelta(seconds=30 * early_or_late)) as act,
            pytest.raises(BadInput, match="not right"),
        ):
            confirm_second_factor(act, SEALER, code=code, session_id=session_id)
    with small_sqlite.acting("tor", at=moment + timedelta(seconds=30)) as act:
        confirm_second_factor(act, SEALER, code=code, session_id=session_id)
    with small_sqlite.acting("tor", at=moment + timedelta(seconds=31)) as act:
        assert show_second_factor(act, SEALER, code=code, session_id=session_id) is None, "a code works once"
