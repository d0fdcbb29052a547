"""The outbox: written with the act, sent once through a real SMTP server on this machine, tried again when it fails."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from ipaddress import ip_address
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import Envelope, Session
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from sqlalchemy import func, select, update

from quizapp.assessment.notices import NoticeKind, NoticeState
from quizapp.cli.notices import Delivered, deliver
from quizapp.config import mail_server
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.messages import ToTell, tell
from quizapp.services.notices import my_notices, write_due_notices
from quizapp.services.send_mail import MailSecurity, MailServer, Send, mail_through
from quizapp.services.write_notices import NoticeWanted, write_notices
from quizapp.store.notices import Notice
from quizapp.store.people import Person
from tests.closing_server import closing_server
from tests.planning import people_due
from tests.small_service import SmallService

SENDER = "training@thornmere.example"


class Postbox:
    """What arrived at the server, and what it answers next."""

    def __init__(self) -> None:
        self.mails: list[tuple[str, bytes]] = []
        self.answers: list[str] = []
        self.recipient_answer = ""

    async def handle_RCPT(
        self, _server: object, _session: Session, envelope: Envelope, address: str, _options: object
    ) -> str:
        if self.recipient_answer:
            return self.recipient_answer
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: object, _session: Session, envelope: Envelope) -> str:
        answer = self.answers.pop(0) if self.answers else "250 taken"
        if answer.startswith("250"):
            self.mails.append((envelope.rcpt_tos[0], envelope.content or b""))
        return answer


@pytest.fixture
def postbox() -> Postbox:
    return Postbox()


@pytest.fixture
def server(postbox: Postbox) -> Iterator[MailServer]:
    controller = Controller(postbox, hostname="127.0.0.1", port=_free_port())
    controller.start()
    yield MailServer(host="127.0.0.1", port=controller.port, security=MailSecurity.NONE, sender=SENDER)
    controller.stop()


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
        return port


@pytest.fixture
def waiting(small: SmallService) -> SmallService:
    """Mira and Tor have a mail address, and one notice each."""
    with small.database.writing() as session:
        for name in ("mira", "tor"):
            session.get_one(Person, small.person_id(name)).email = f"{name}@thornmere.example"
    with small.acting("leif") as act:
        write_notices(act, [wanted(small, name) for name in ("mira", "tor", "una")])
    return small


def wanted(small: SmallService, name: str) -> NoticeWanted:
    return NoticeWanted(person_id=small.person_id(name), kind=NoticeKind.MESSAGE, once_key=f"test {name}",
                        subject="Ein Platz für Sie", body="A place – yours.")  # fmt: skip


def delivered(small: SmallService, send: Send, later: timedelta = timedelta()) -> Delivered:
    return deliver(small.database, send, lambda: small.now + later, domain="thornmere.example")


def states(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return list(session.scalars(select(Notice.state).order_by(Notice.once_key)))


def test_each_is_sent_once_however_often_it_runs(waiting: SmallService, server: MailServer, postbox: Postbox) -> None:
    send = mail_through(server)
    assert delivered(waiting, send) == Delivered(sent=2)
    assert delivered(waiting, send) == Delivered()
    assert [to for to, _ in postbox.mails] == ["mira@thornmere.example", "tor@thornmere.example"]
    mail = message_from_bytes(postbox.mails[0][1])
    assert mail["From"] == SENDER
    assert mail["Message-ID"].endswith("@thornmere.example>")
    assert mail["Auto-Submitted"] == "auto-generated"
    payload = mail.get_payload(decode=True)
    assert isinstance(payload, bytes)
    assert "A place – yours." in payload.decode()
    assert "Training and assessment only." in payload.decode()
    assert states(waiting) == ["sent", "sent", "waiting"]


def test_eight_runs_at_once_send_each_once(waiting: SmallService, server: MailServer, postbox: Postbox) -> None:
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda _: delivered(waiting, mail_through(server)), range(8)))
    assert sum(one.sent for one in found) == 2
    assert len(postbox.mails) == 2


def test_a_server_that_is_away_or_busy_is_tried_again_later(
    waiting: SmallService, server: MailServer, postbox: Postbox
) -> None:
    away = MailServer(host="127.0.0.1", port=_free_port(), security=MailSecurity.NONE, sender=SENDER)
    assert delivered(waiting, mail_through(away)) == Delivered(waiting=2)
    assert delivered(waiting, mail_through(server), timedelta(minutes=4)) == Delivered()
    postbox.answers = ["451 busy", "250 taken"]
    assert delivered(waiting, mail_through(server), timedelta(minutes=5)) == Delivered(sent=1, waiting=1)
    assert delivered(waiting, mail_through(server), timedelta(minutes=16)) == Delivered(sent=1)
    assert len(postbox.mails) == 2
    ids = {message_from_bytes(content)["Message-ID"] for _, content in postbox.mails}
    assert len(ids) == 2


def test_what_is_refused_for_good_is_given_up(waiting: SmallService, server: MailServer, postbox: Postbox) -> None:
    postbox.recipient_answer = "550 no such mailbox"
    assert delivered(waiting, mail_through(server)) == Delivered(given_up=2)
    assert delivered(waiting, mail_through(server), timedelta(days=2)) == Delivered()
    with waiting.database.reading() as session:
        assert (
            session.scalars(select(Notice.last_fault).where(Notice.once_key == "test mira")).one()
            == "550 no such mailbox"
        )


def test_a_lost_answer_is_never_sent_again(waiting: SmallService) -> None:
    """A server that takes the whole mail and closes the line before it answers."""
    with closing_server() as port:
        server = MailServer(host="127.0.0.1", port=port, security=MailSecurity.NONE, sender=SENDER)
        assert delivered(waiting, mail_through(server)) == Delivered(uncertain=2)
    assert delivered(waiting, mail_through(server), timedelta(days=1)) == Delivered()


def test_a_run_killed_while_sending_leaves_no_second_mail(
    waiting: SmallService, server: MailServer, postbox: Postbox
) -> None:
    with waiting.database.writing() as session:
        session.execute(update(Notice).where(Notice.once_key == "test mira").values(
            state=NoticeState.SENDING.value, claimed_at=waiting.now))  # fmt: skip
    assert delivered(waiting, mail_through(server), timedelta(minutes=1)) == Delivered(sent=1)
    assert delivered(waiting, mail_through(server), timedelta(minutes=16)) == Delivered()
    assert states(waiting) == ["uncertain", "sent", "waiting"]
    assert len(postbox.mails) == 1


def test_a_message_and_its_notice_are_written_together_or_not_at_all(small: SmallService) -> None:
    told = ToTell(
        person_id=small.person_id("mira"), about="test", about_id="0" * 32, text="nothing of this goes by mail"
    )
    with pytest.raises(ZeroDivisionError), small.acting("leif") as act:
        assert tell(act, [told]) / 0
    assert states(small) == []
    with small.acting("leif") as act:
        tell(act, [told])
    with small.acting("mira") as act:
        (notice,) = my_notices(act)
    assert notice.subject == "A message is waiting for you"
    assert told.text not in notice.body


def test_reminders_and_digests_are_written_once_a_day(small: SmallService, library: Library) -> None:
    people_due(small, library, mira=29)
    for _ in range(2):
        with small.acting("ada") as act:
            write_due_notices(act, library)
    with small.database.reading() as session:
        keys = sorted(session.scalars(select(Notice.once_key)))
    end = (small.now + timedelta(days=29)).date().isoformat()
    mira, leif, olaf = (small.person_id(name) for name in ("mira", "leif", "olaf"))
    assert keys == [f"digest {leif} 2026-03-02", f"digest {olaf} 2026-03-02", f"reminder {mira} {end} 30"]
    with small.acting("leif") as act:
        (digest,) = my_notices(act)
    assert digest.body.startswith("Cairnlow: 3 of 3 are current; 1 stop being current within 30 days.")
    assert "Mira" not in digest.body
    with small.acting("ada", at=small.now + timedelta(days=1)) as act:
        assert write_due_notices(act, library) == 2
    with small.acting("ada", at=small.now + timedelta(days=22)) as act:
        assert write_due_notices(act, library) == 3
    with small.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Notice).where(Notice.kind == "reminder")) == 2


def test_starttls_checks_the_certificate(waiting: SmallService, postbox: Postbox, tmp_path: Path) -> None:
    certificate, key = made_certificate(tmp_path)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    controller = Controller(
        postbox, hostname="127.0.0.1", port=_free_port(), tls_context=context, require_starttls=True
    )
    controller.start()
    try:
        server = MailServer(host="127.0.0.1", port=controller.port, security=MailSecurity.STARTTLS, sender=SENDER)
        assert delivered(waiting, mail_through(server)) == Delivered(waiting=2)
        assert postbox.mails == []
        trust = ssl.create_default_context(cafile=str(certificate))
        assert delivered(waiting, mail_through(server, trust=trust), timedelta(minutes=6)) == Delivered(sent=2)
    finally:
        controller.stop()


def made_certificate(folder: Path) -> tuple[Path, Path]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "127.0.0.1")])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number()).not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    first, second = folder / "certificate.pem", folder / "key.pem"
    first.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    second.write_bytes(key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))  # fmt: skip
    return first, second


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"QUIZAPP_MAIL_SECURITY": "no"}, "neither starttls"), ({"QUIZAPP_MAIL_SECURITY": "none"}, "this machine only"),
        ({"QUIZAPP_MAIL_PORT": "0"}, "no port"), ({"QUIZAPP_MAIL_PORT": "x"}, "no port"),
        ({"QUIZAPP_MAIL_FROM": ""}, "no mail address"), ({"QUIZAPP_MAIL_FROM": "a@b\nBcc: x@y"}, "no mail address"),
        ({"QUIZAPP_MAIL_USER": "somebody"}, "both or neither"),
        ({"QUIZAPP_MAIL_PASSWORD_FILE": "nowhere/at-all"}, "cannot be read"),
    ],
)  # fmt: skip
def test_unsafe_settings_are_refused(changes: dict[str, str], said: str) -> None:
    usual = {"QUIZAPP_MAIL_HOST": "mail.example", "QUIZAPP_MAIL_FROM": SENDER}
    assert mail_server({}) is None
    assert mail_server(usual) == MailServer(
        host="mail.example", port=587, security=MailSecurity.STARTTLS, sender=SENDER
    )
    with pytest.raises(BadInput, match=said):
        mail_server({**usual, **changes})
