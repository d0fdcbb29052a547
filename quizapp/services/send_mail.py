"""Hands one mail to a mail server, and tells whether it surely was, surely was not, or perhaps was taken."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from email.message import EmailMessage
from enum import StrEnum

TIMEOUT_S = 20.0


class MailSecurity(StrEnum):
    """How the way to the mail server is protected; `NONE` only on a loopback address."""

    STARTTLS = "starttls"
    TLS = "tls"
    NONE = "none"


@dataclass(frozen=True, kw_only=True)
class MailServer:
    """A mail server and who sends through it; `password` "" sends without signing in."""

    host: str
    port: int
    security: MailSecurity
    sender: str
    user: str = ""
    password: str = ""


class Sent(StrEnum):
    """What became of one mail."""

    TAKEN = "taken"
    NOT_TAKEN = "not_taken"
    REFUSED = "refused"
    PERHAPS = "perhaps"


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one mail, and the server's words when it was not taken."""

    sent: Sent
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class Mail:
    """One mail as it is to be sent; `message_id` is the same for every try."""

    message_id: str
    to: str
    subject: str
    body: str


Send = Callable[[Mail], Outcome]


def mail_through(server: MailServer, *, trust: ssl.SSLContext | None = None) -> Send:
    """Return what sends one mail through a server; certificates are checked against `trust` (default: the system's)."""

    def send(mail: Mail) -> Outcome:
        try:
            connection = _connected(server, trust or ssl.create_default_context())
        except (OSError, smtplib.SMTPException) as fault:
            return Outcome(sent=Sent.NOT_TAKEN, fault=_words(fault))
        with closing(connection):
            return _handed_over(connection, server, mail)

    return send


def _connected(server: MailServer, trust: ssl.SSLContext) -> smtplib.SMTP:
    if server.security is MailSecurity.TLS:
        connection: smtplib.SMTP = smtplib.SMTP_SSL(server.host, server.port, timeout=TIMEOUT_S, context=trust)
    else:
        connection = smtplib.SMTP(server.host, server.port, timeout=TIMEOUT_S)
        if server.security is MailSecurity.STARTTLS:
            connection.starttls(context=trust)
    if server.user:
        connection.login(server.user, server.password)
    return connection


def _handed_over(connection: smtplib.SMTP, server: MailServer, mail: Mail) -> Outcome:
    """Send one mail. Once its text was under way a lost connection tells nothing about whether it was taken."""
    try:
        connection.send_message(_message(server, mail))
    except smtplib.SMTPRecipientsRefused as fault:
        code, words = next(iter(fault.recipients.values()))
        return Outcome(sent=Sent.REFUSED if code >= 500 else Sent.NOT_TAKEN, fault=f"{code} {_text(words)}")
    except smtplib.SMTPResponseException as fault:
        sent = Sent.REFUSED if fault.smtp_code >= 500 else Sent.NOT_TAKEN
        return Outcome(sent=sent, fault=f"{fault.smtp_code} {_text(fault.smtp_error)}")
    except (OSError, smtplib.SMTPException) as fault:
        return Outcome(sent=Sent.PERHAPS, fault=_words(fault))
    return Outcome(sent=Sent.TAKEN)


def _message(server: MailServer, mail: Mail) -> EmailMessage:
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = server.sender, mail.to, mail.subject
    message["Message-ID"] = mail.message_id
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(mail.body)
    return message


def _words(fault: Exception) -> str:
    return f"{type(fault).__name__}: {fault}"[:250]


def _text(words: bytes | str) -> str:
    return (words.decode("utf-8", "replace") if isinstance(words, bytes) else words)[:200]
