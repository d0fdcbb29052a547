"""Settings, read once from the environment; unsafe ones are refused at the start."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from quizapp.errors import BadInput
from quizapp.services.send_mail import MailSecurity, MailServer

CHECKOUT = Path(__file__).resolve().parent.parent
SHORTEST_SECRET = 32


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Everything that differs between one installation and another.

    `database_url` is a SQLAlchemy address, `content_folder` holds the content, `hosts` are the host
    names the service answers to (empty: any, for the demo on this machine), `proxy_count` is how many proxies in
    front are trusted, `plain_http` allows cookies without TLS on a loopback address, `needs_second_factor` is whether
    those who watch, decide, lead or administer have to show a code beside the password (offered to everybody anyway).
    """

    database_url: str
    content_folder: Path
    secret: str
    hosts: tuple[str, ...] = ()
    proxy_count: int = 0
    plain_http: bool = False
    needs_second_factor: bool = True


def data_folder(environment: Mapping[str, str]) -> Path:
    """Return the folder for the default database and the secret (QUIZAPP_DATA, default .data in the checkout)."""
    return Path(environment.get("QUIZAPP_DATA", str(CHECKOUT / ".data")))


def content_folder(environment: Mapping[str, str]) -> Path:
    """Return the folder that holds the content (QUIZAPP_CONTENT, default the checkout)."""
    folder = Path(environment.get("QUIZAPP_CONTENT", str(CHECKOUT)))
    if not (folder / "question_bank").is_dir():
        raise BadInput(f"QUIZAPP_CONTENT: {folder} has no folder question_bank. Name the folder that holds it.")
    return folder


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Read all settings; raise BadInput naming the setting, what was found and what is allowed."""
    folder = data_folder(environment)
    hosts = tuple(host.strip() for host in environment.get("QUIZAPP_HOSTS", "").split(",") if host.strip())
    plain_http = _switch(environment, "QUIZAPP_PLAIN_HTTP")
    if not hosts and not plain_http:
        raise BadInput("QUIZAPP_HOSTS: name the host names this service answers to, separated by commas.")
    proxies = environment.get("QUIZAPP_PROXIES", "0")
    if proxies not in {"0", "1", "2", "3"}:
        raise BadInput(f"QUIZAPP_PROXIES: {proxies!r} is not a number of proxies from 0 to 3.")
    return Settings(
        database_url=environment.get("QUIZAPP_DATABASE", f"sqlite:///{folder / 'quizapp.db'}"),
        content_folder=content_folder(environment),
        secret=_secret(environment, folder),
        hosts=hosts,
        proxy_count=int(proxies),
        plain_http=plain_http,
        needs_second_factor=_switch(environment, "QUIZAPP_SECOND_FACTOR", otherwise="yes"),
    )


def _switch(environment: Mapping[str, str], name: str, *, otherwise: str = "no") -> bool:
    value = environment.get(name, otherwise)
    if value not in {"yes", "no"}:
        raise BadInput(f"{name}: {value!r} is neither yes nor no.")
    return value == "yes"


def secret_file(environment: Mapping[str, str]) -> Path:
    """Return the file that holds the secret (QUIZAPP_SECRET_FILE, default in the data folder)."""
    named = environment.get("QUIZAPP_SECRET_FILE")
    return Path(named) if named else data_folder(environment) / "secret"


def _secret(environment: Mapping[str, str], folder: Path) -> str:
    """Return the secret from QUIZAPP_SECRET_FILE, or from a file made once in the data folder (mode 600)."""
    named = environment.get("QUIZAPP_SECRET_FILE")
    path = secret_file(environment)
    if not path.exists() and named:
        raise BadInput(f"QUIZAPP_SECRET_FILE: there is no file {path}.")
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_hex(SHORTEST_SECRET), encoding="utf-8")
    secret = path.read_text(encoding="utf-8").strip()
    if len(secret) < SHORTEST_SECRET:
        raise BadInput(f"The secret in {path} is shorter than {SHORTEST_SECRET} characters. Write a longer one.")
    return secret


def mail_server(environment: Mapping[str, str]) -> MailServer | None:
    """Return the mail server of the settings for mail, None where no host is named; raises BadInput otherwise."""
    host = environment.get("QUIZAPP_MAIL_HOST", "").strip()
    if not host:
        return None
    named = environment.get("QUIZAPP_MAIL_SECURITY", MailSecurity.STARTTLS.value)
    if named not in list(MailSecurity):
        raise BadInput(f"QUIZAPP_MAIL_SECURITY: {named!r} is neither starttls nor tls nor none.")
    security = MailSecurity(named)
    if security is MailSecurity.NONE and host not in {"localhost", "127.0.0.1", "::1"}:
        raise BadInput("QUIZAPP_MAIL_SECURITY: none is allowed on this machine only. Use starttls or tls.")
    port = environment.get("QUIZAPP_MAIL_PORT", {"starttls": "587", "tls": "465", "none": "25"}[security.value])
    if not (port.isascii() and port.isdigit() and 1 <= int(port[:6]) <= 65_535):
        raise BadInput(f"QUIZAPP_MAIL_PORT: {port!r} is no port from 1 to 65535.")
    sender = environment.get("QUIZAPP_MAIL_FROM", "").strip()
    if not re.fullmatch(r"[^@\s<>,;]+@[A-Za-z0-9.-]+", sender):
        raise BadInput(f"QUIZAPP_MAIL_FROM: {sender!r} is no mail address. Give the one that mails come from.")
    user, password = environment.get("QUIZAPP_MAIL_USER", ""), _mail_password(environment)
    if bool(user) != bool(password):
        raise BadInput("QUIZAPP_MAIL_USER and QUIZAPP_MAIL_PASSWORD_FILE: give both or neither.")
    return MailServer(host=host, port=int(port), security=security, sender=sender, user=user, password=password)


def _mail_password(environment: Mapping[str, str]) -> str:
    named = environment.get("QUIZAPP_MAIL_PASSWORD_FILE", "")
    if not named:
        return ""
    try:
        return Path(named).read_text(encoding="utf-8").strip()
    except OSError as fault:
        raise BadInput(f"QUIZAPP_MAIL_PASSWORD_FILE: {named} cannot be read: {fault.strerror}.") from None
