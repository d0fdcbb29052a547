"""The web edge: pages, forms, security; no rules and no queries."""

from __future__ import annotations

from flask import Flask
from flask_wtf.csrf import CSRFProtect
from jinja2 import StrictUndefined
from werkzeug.middleware.proxy_fix import ProxyFix

from quizapp.web.edge import Edge
from quizapp.web.error_pages import add_error_pages
from quizapp.web.filters import add_filters
from quizapp.web.headers import add_walls
from quizapp.web.kept_on_device import add_keeping
from quizapp.web.page_context import add_page_context
from quizapp.web.pages import add_pages
from quizapp.web.policy import refuse_unguarded
from quizapp.web.record_looks import add_record_looks
from quizapp.web.sent import SentRequest

LARGEST_BODY = 1_048_576


def create_app(parts: Edge) -> Flask:
    """Build the web application around an opened database and read content."""
    app = Flask(__name__)
    app.request_class = SentRequest
    settings = parts.settings
    app.config.update(
        SECRET_KEY=settings.secret,
        MAX_CONTENT_LENGTH=LARGEST_BODY,
        MAX_FORM_MEMORY_SIZE=LARGEST_BODY,
        MAX_FORM_PARTS=2_000,
        SESSION_COOKIE_NAME="quizapp_form" if settings.plain_http else "__Host-quizapp_form",
        SESSION_COOKIE_SECURE=not settings.plain_http,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        TRUSTED_HOSTS=list(settings.hosts) or None,
        WTF_CSRF_TIME_LIMIT=None,
        SEND_FILE_MAX_AGE_DEFAULT=3600,
    )
    if settings.proxy_count:
        count = settings.proxy_count
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)  # type: ignore[method-assign]
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.extensions["quizapp"] = parts
    CSRFProtect(app)
    add_walls(app, parts)
    add_keeping(app)
    add_record_looks(app, parts)
    add_error_pages(app)
    add_filters(app)
    add_page_context(app)
    add_pages(app)
    refuse_unguarded(app)
    return app
