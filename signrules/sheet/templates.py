"""Pages made of templates: self-contained HTML, without script or anything from outside."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from signrules.errors import SignrulesError
from signrules.sheet.language import ENGLISH, Language

_SOURCES = (
    "run_sheet.html.j2",
    "run_sheet_steps.html.j2",
    "run_sheet.css",
    "run_sheet.js",
    "pictures.css",
    "order_page.html.j2",
    "page.css",
    "order_page.css",
)


def rendered_page(template: str, contents: Mapping[str, Any], language: Language = ENGLISH) -> str:
    """A page of a template; the same contents give the same text each time.

    Raises SignrulesError where jinja2 is not installed.
    """
    try:
        from jinja2 import DictLoader, Environment, StrictUndefined
    except ModuleNotFoundError:
        raise SignrulesError(
            "the run sheet needs the package jinja2, which is not installed: pip install"
            " 'signrules[sheet]'"
        ) from None

    here = files("signrules.sheet")
    sources = {name: here.joinpath(name).read_text(encoding="utf-8") for name in _SOURCES}
    environment = Environment(
        loader=DictLoader(sources),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(_=language.say, say_count=language.say_count)
    return environment.get_template(template).render(contents) + "\n"
