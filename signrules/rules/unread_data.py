"""The finding that a job holds data which nobody reads."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.documents.plugin_tables import DataClasses, tables_of_job
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import nearest_name
from signrules.rules.checks import Check, Draft, Level, Source

UNREAD = "data.unread"
READ = Source("signrules", "data of a plugin must be read by that plugin")


def unread_data(job: Job, classes: DataClasses) -> Iterator[Check]:
    """A finding for each plugin that a job holds data for and that is not loaded."""
    places: dict[str, list[str]] = {}
    for stated in tables_of_job(job):
        if stated.plugin not in classes:
            places.setdefault(stated.plugin, []).append(stated.path)
    for plugin, paths in places.items():
        yield _unread_finding(plugin, paths, tuple(classes))


def _unread_finding(plugin: str, paths: list[str], loaded: tuple[str, ...]) -> Check:
    draft = Draft("plugins that read these data", Interval.exact(0), least=1)
    near_name = nearest_name(plugin, loaded)
    advice = f"Is {near_name} meant?" if near_name else "Load it, or take the data away."
    where = paths[0] if len(paths) == 1 else f"{paths[0]} and {len(paths) - 1} more"
    text = f"nobody reads the data of {plugin}: no plugin of that name is loaded. {advice}"
    return Check(
        UNREAD,
        tuple(paths),
        draft.outcome,
        Level.REVIEW,
        draft.measured,
        (draft.least, draft.most),
        "",
        draft.margin,
        f"{where}: {text}",
        READ,
    )
