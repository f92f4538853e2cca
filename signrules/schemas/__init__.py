"""JSON Schemas (draft 2020-12) of what signrules reads and writes."""

from __future__ import annotations

import json
from importlib import resources
from typing import TYPE_CHECKING, Any

from signrules.errors import SignrulesError
from signrules.model.wording import nearest_name

if TYPE_CHECKING:
    from signrules.plugins import Plugins

__all__ = ["SCHEMAS", "SchemaError", "schema"]

SCHEMAS = {
    "job": "a job document",
    "report": "what `check --format json` gives: an evaluation, or a list of them",
    "estimate": "what `estimate --format json` gives",
    "order_estimate": "what `estimate FOLDER --format json` gives",
    "shop": "a shop file",
    "work_order": "a work order, work-order.toml",
    "order_report": "what `check --by-cause --format json` gives",
    "rates": "a rate table for `estimate`",
    "standard": "a table of a standard",
    "record": "a record of a half-printed job, for `next --record`",
}
"""The schemas that there are, and what each describes."""


class SchemaError(SignrulesError):
    """A schema that is asked for and that there is none of."""


def schema(name: str, *, plugins: Plugins | None = None) -> dict[str, Any]:
    """The JSON Schema of that name, one of `SCHEMAS`; a new copy each time.

    Those of the job, the shop file and the work order are made of the reader's own tables; that of
    the job has the data that `plugins` declare and their kinds of handling. Its `$id` is a name and
    no address.
    Raises SchemaError for any other name.
    """
    if name not in SCHEMAS:
        near = nearest_name(name, tuple(SCHEMAS))
        hint = f"; did you mean {near}?" if near else ""
        raise SchemaError(
            f"no schema is called {name!r}, expected one of {', '.join(SCHEMAS)}{hint}"
        )
    made = _made_schema(name, plugins)
    return {"$schema": made["$schema"], "$id": f"urn:signrules:{name}", **made}


def _made_schema(name: str, plugins: Plugins | None) -> dict[str, Any]:
    if name == "job":
        from signrules.schemas.job_schema import job_schema

        if plugins is None:
            return job_schema()
        return job_schema(plugins.data, tuple(plugins.handling_kinds))
    if name == "shop":
        from signrules.schemas.shop_schema import shop_schema

        return shop_schema({"$id": "urn:signrules:rates", **_schema_file("schemas", "rates.json")})
    if name == "work_order":
        from signrules.schemas.job_schema import work_order_schema

        return work_order_schema()
    if name == "record":
        from signrules.documents.progress_records import record_schema

        return record_schema()
    if name == "standard":
        return _standard_schema()
    if name == "order_report":
        return _report_schema()
    return _schema_file("schemas", f"{name}.json")


def _report_schema() -> dict[str, Any]:
    """The schema of a work order's report, with that of the estimate that it holds."""
    made = _schema_file("schemas", "order_report.json")
    estimate = _schema_file("schemas", "order_estimate.json")
    shared = ("decimal", "perhaps", "ids", "size", "stock")
    made["$defs"] |= {name: estimate["$defs"][name] for name in shared}
    made["properties"]["estimate"] |= {"$id": "urn:signrules:order_estimate", **estimate}
    return made


def _standard_schema() -> dict[str, Any]:
    """The schema of a table, with every quantity of a sign that a row may limit."""
    from signrules.standards.dimension_tables import LENGTHS, QUANTITIES, WORDS

    made = _schema_file("standards", "schema.json")
    row = made["$defs"]["row"]
    row["properties"]["quantity"] |= {"enum": list(QUANTITIES)}
    row["properties"]["of"] |= {"enum": list(LENGTHS)}
    row["if"]["properties"]["quantity"] = {"enum": list(WORDS)}
    return made


def _schema_file(*parts: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(
        resources.files("signrules").joinpath(*parts).read_text("utf-8")
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **data}
