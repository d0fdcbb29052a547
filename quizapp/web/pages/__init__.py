"""The pages, one package each: views, forms and templates. A new package is found by itself."""

from __future__ import annotations

import importlib
import pkgutil

from flask import Blueprint, Flask


def add_pages(app: Flask) -> None:
    """Register the `blueprint` of every package in this folder."""
    for module in sorted(pkgutil.iter_modules(__path__), key=lambda found: found.name):
        blueprint: Blueprint = importlib.import_module(f"{__name__}.{module.name}.views").blueprint
        app.register_blueprint(blueprint)
