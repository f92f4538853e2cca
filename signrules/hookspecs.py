"""What a plugin may bring: one hook a kind of thing. A plugin implements those that it needs.

Write `from signrules import hookimpl` and decorate functions of these names with `@hookimpl`. Hooks
may be called more than once and must answer the same each time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import pluggy

if TYPE_CHECKING:
    from signrules.artwork.reader import ArtworkReader
    from signrules.catalogue.materials import Material
    from signrules.documents.plugin_tables import OwnData
    from signrules.model.handling_kinds import HandlingKind
    from signrules.model.job import Job
    from signrules.report_formats import ReportFormat
    from signrules.rules.checks import Check
    from signrules.rules.declaration import RuleSet
    from signrules.standards.dimension_tables import Standard

API_VERSION = "1.0"
"""The version of everything that a plugin may use: these hooks and the public names of `signrules`.

A plugin says in an attribute `signrules_api = "1.0"` for which version it was written. It fits
where the number before the dot is the same and the one after it is not larger: later versions of
the same first number only add.

Hooks that are called for each job may ask for `settings`: an instance of the class that the plugin
names in an attribute `signrules_settings`, a frozen attrs class made of `setting(...)` fields, as a
rule has one; None where it names none. Those that are given a job may ask for `data`, by which
they read what the job holds for their plugin: see `signrules_data` in docs/plugins.md.
"""

PROJECT = "signrules"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@hookspec
def signrules_rule_sets() -> Iterable[RuleSet]:  # type: ignore[empty-body]
    """Rule sets that judge jobs."""


@hookspec
def signrules_standards() -> Iterable[Standard]:  # type: ignore[empty-body]
    """Dimension tables that a job may name in `standards`."""


@hookspec
def signrules_printers() -> Mapping[str, Mapping[str, Any]]:  # type: ignore[empty-body]
    """Printers that a job may `use`: id to a `[printer]` table, as in a job document."""


@hookspec
def signrules_materials() -> Iterable[Material]:  # type: ignore[empty-body]
    """Materials that a sheet may be made of; a sheet names one by its id."""


@hookspec(firstresult=True)
def signrules_translate_braille(text: str, grade: str, language: str, settings: Any) -> str | None:
    """A line of text as Unicode braille patterns, blank cells between words; None to leave it to
    another plugin.

    `grade` is "contracted" or "uncontracted", `language` a language tag such as "en". Capital
    letters in `text` are meant: it comes in lower case except for the words that keep capitals, and
    in capitals where cells are to be compared with other styles of the text. "xqx" stands in it for
    an acronym, and comes back letter by letter. The first plugin that answers is heard.
    """


@hookspec
def signrules_precedence(  # type: ignore[empty-body]
    job: Job, settings: Any, data: OwnData
) -> Iterable[tuple[str, str, str]]:
    """Pairs of ids of passes or handling of which the first must come before the
    second, and why.
    """


@hookspec
def signrules_quantities(  # type: ignore[empty-body]
    job: Job,
    order: tuple[str, ...],
    quantities: Mapping[str, float],
    settings: Any,
    data: OwnData,
) -> Mapping[str, float]:
    """Further quantities of a job that has a plan, by name: finite numbers, the unit at the end of
    the name, where there is one.

    `order` is the plan's, `quantities` what signrules itself counts: what other plugins count is
    not among it. A name is in lower case with underscores, such as `masking_film_m2`, and no one
    else's.
    """


@hookspec
def signrules_price_lines(  # type: ignore[empty-body]
    estimate: Mapping[str, Any], settings: Any
) -> Iterable[Mapping[str, Any]]:
    """Further lines of an estimate of which all else has a price: tables with `name`, and `price`
    or `share`.

    `estimate` is what `to_dict` of an estimate gives, of a job or of a work order, before any such
    line; money is text there, and `sign_count` is how many signs there are. A price is text, a
    whole number or a Decimal. A share is one of the sum with its markup. Below 0 a line is a
    discount.
    """


@hookspec
def signrules_remedies(  # type: ignore[empty-body]
    check: Check, job: Job, settings: Any, data: OwnData
) -> Iterable[tuple[str, Mapping[str, Any]]]:
    """Changes that may meet a check of one of the plugin's own rules, which is broken or doubtful:
    what to change in words, and the changes, each a path into the job and a value.

    They are candidates. Each is tried, and only what meets the check and breaks nothing is shown.
    """


@hookspec
def signrules_read_artwork() -> Iterable[ArtworkReader]:  # type: ignore[empty-body]
    """Readers of files of drawings, each with the suffixes that it reads."""


@hookspec
def signrules_languages() -> Mapping[str, str]:  # type: ignore[empty-body]
    """Catalogues of languages for the run sheet: a language tag such as "fr" or "pt-BR" to the text
    of a PO file of GNU gettext, whose messages are the English texts of the page.

    It is laid over the catalogue of the library and those of other plugins: it adds texts, such as
    those of the plugin's own kinds of handling, and changes none.
    """


@hookspec
def signrules_handling_kinds() -> Iterable[HandlingKind]:  # type: ignore[empty-body]
    """Kinds of handling that a job may name in `does`."""


@hookspec
def signrules_report_formats() -> Iterable[ReportFormat]:  # type: ignore[empty-body]
    """Formats of `signrules check --format`: each a name, a function that writes it and a word on
    what it is.
    """
