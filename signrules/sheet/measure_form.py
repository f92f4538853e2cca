"""A form to print and fill in at the machine: a procedure with blanks for its readings."""

from __future__ import annotations

from importlib.resources import files

from signrules import __version__
from signrules.cautions import CAUTIONS
from signrules.errors import SignrulesError
from signrules.measuring import Procedure
from signrules.sheet.page import MEANINGS

TEMPLATE = "measure_form.html.j2"


def measure_form(procedure: Procedure) -> str:
    """The form of a procedure: an HTML page without script or reference to anything outside.

    It fits A4 and Letter. The same procedure gives the same text each time. Raises SignrulesError
    where jinja2 is not installed.
    """
    try:
        from jinja2 import DictLoader, Environment, StrictUndefined
    except ModuleNotFoundError:
        raise SignrulesError(
            "the form needs the package jinja2, which is not installed: pip install"
            " 'signrules[sheet]'"
        ) from None

    package = files("signrules.sheet")
    sources = {name: package.joinpath(name).read_text("utf-8") for name in (TEMPLATE, "page.css")}
    environment = Environment(
        loader=DictLoader(sources),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    signals = {caution.signal for caution in CAUTIONS}
    return (
        environment.get_template(TEMPLATE).render(
            procedure=procedure,
            cautions=CAUTIONS,
            meanings=[pair for pair in MEANINGS if pair[0] in signals],
            rows=range(1, procedure.rows_on_form + 1),
            version=__version__,
        )
        + "\n"
    )
