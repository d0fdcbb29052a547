"""Sample pages made of the components, drawn with invented values and no web server."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, StrictUndefined

from quizapp.web.components import countdown_axis, order_map, place_scale, tenure_axis

HERE = Path(__file__).resolve().parent
WEB = HERE.parents[1] / "quizapp" / "web"
TODAY = date(2027, 1, 19)
PAGES = tuple(sorted(path.stem for path in (HERE / "samples").glob("*.html")))

STEPS = (
    ("a", "Call it: not ventilating", True),
    ("b", "Off the device, ventilate by bag with oxygen", True),
    ("c", "Chest rise and capnogram on the bag", True),
    ("d", "Where did the needle stop?", False),
    ("e", "Cylinder open, contents, flowmeter, tube", False),
    ("f", "Flow back to the starting value or above", False),
    ("g", "Rate control opened from the closed end", False),
    ("h", "Leak or loose joint sought", False),
    ("i", "Cycle on a test lung before going back", True),
    ("j", "Back on the device, checks again", False),
)
BEFORE = {tuple(pair) for pair in ["ab", "bc", "bd", "be", "bf", "dh", "fg", "gi", "ei", "hi", "cj", "ij"]}


def a_form(**errors: str) -> list[SimpleNamespace]:
    """Return what a form object looks like to a template: its hidden keys and one text entry."""

    def entry(kind: str, name: str, words: str, value: str, **more: object) -> SimpleNamespace:
        found = [errors[name]] if name in errors else []
        label = SimpleNamespace(text=words)
        return SimpleNamespace(
            type=kind, name=name, label=label, data=value, errors=found, _value=lambda: value, **more
        )

    choices = [("bench", "On the bench, test lung"), ("flight", "In flight")]
    return [
        entry("CSRFTokenField", "csrf_token", "", "t0ken"),
        entry("HiddenField", "act_key", "", "k" * 24),
        entry("StringField", "name", "Sign-in name", "ailsa"),
        entry("PasswordField", "password", "Password", ""),
        entry("TextAreaField", "reason", "Reason, which Kit will read", "Sound to step h."),
        entry("SelectField", "setting", "Where", "bench", choices=choices),
        entry("RadioField", "decision", "Decision", "bench", choices=choices),
        entry("DateField", "day", "Day", "2027-01-19"),
        entry("BooleanField", "agreed", "Both have read it", "", iter_choices=None),
        entry("FileField", "list", "List of people", ""),
        entry("IntegerField", "attempts", "Attempts", "1"),
    ]


def values() -> dict[str, object]:
    """Return everything a sample page may use."""
    link = lambda words, current="": SimpleNamespace(words=words, address="#" + words, current=current)  # noqa: E731
    form = a_form()
    wrong = a_form(name="Write your sign-in name.", decision="Choose one decision.", day="Enter a day after today.")
    return {
        "service_name": "Thornmere Isles Rescue",
        "demo": True,
        "caution": "Training and assessment only. In doubt: off the device, ventilate by bag.",
        "lamp": "",
        "device_owner": "",
        "signed_in_name": "Ailsa Merrin",
        "navigation": SimpleNamespace(
            areas=[link("My currency", "true"), link("Practice"), link("Procedures"), link("Observe")],
            area="My currency",
            pages=[link("My currency"), link("Real use", "page"), link("Standard")],
        ),
        "url_for": lambda endpoint, filename="": f"static/{filename}" if filename else f"#{endpoint}",
        "csrf_token": lambda: "t0ken",
        "request": SimpleNamespace(path="/", full_path="/", query_string=b""),
        "form": form,
        "wrong": wrong,
        "fields": {entry.name: entry for entry in form},
        "wrong_fields": {entry.name: entry for entry in wrong},
        "steps": STEPS,
        "scale": place_scale(4, 10),
        "year": tenure_axis(TODAY),
        "ninety": countdown_axis(),
        "map": order_map([key for key, _, _ in STEPS], BEFORE, {key for key, _, crit in STEPS if crit}),
        "status": 500,
        "headline": "Something went wrong here.",
        "message": "What you sent was not saved. Go back: your text is still on that page.",
        "reference": "9f31c0aa",
    }


def environment() -> Environment:
    """Return the templates as the web application sees them, without the application."""
    loader = ChoiceLoader([FileSystemLoader(WEB / "templates"), FileSystemLoader(HERE / "samples")])
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


def draw(page: str, **changes: object) -> str:
    """Return the HTML of a sample page."""
    return environment().get_template(f"{page}.html").render(values() | changes)
