"""Plugins' own data in a job: `[data.<plugin>]` beside a job, a sheet, a pass or a sign.

A plugin declares a class for each of these places. Its table is read as that class wherever the
plugin is loaded, and is plain data everywhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.documents.refusal import Refused, path_label
from signrules.documents.table_reader import read_table
from signrules.errors import DocumentFault
from signrules.model.declared import declared_fields, document_key
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Pass
from signrules.model.plugin_data import tables_in
from signrules.model.sign import Sign
from signrules.model.wording import shown_value

PLACES: Mapping[str, type] = MappingProxyType(
    {"job": Job, "media": Media, "pass": Pass, "sign": Sign}
)
"""Where plugins may have data, by the words for what a rule looks at."""

PLACE_OF: Mapping[type, str] = MappingProxyType({cls: place for place, cls in PLACES.items()})
_ROWS = {"media": "media", "passes": "pass", "signs": "sign"}

DataClasses = Mapping[str, Mapping[str, type]]
"""By plugin, and then by place, the class that a table becomes."""

NO_CLASSES: DataClasses = MappingProxyType({})

NO_TABLE = "no table of"
"""What is expected where a plugin declares no data begins so."""


@frozen
class StatedTable:
    """A table that a job holds for a plugin: the path of what it belongs to, and its place."""

    path: str
    place: str
    plugin: str
    table: Mapping[str, Any]

    @property
    def own_path(self) -> str:
        """The path of the table itself."""
        of_plugin = f"data.{path_label(self.plugin)}"
        return of_plugin if self.place == "job" else f"{self.path}.{of_plugin}"


@frozen
class OwnData:
    """What jobs hold for one plugin: rules and hooks of that plugin ask for it by the parameter
    `data`. `name` is what documents call it by: `[data.NAME]`.
    """

    name: str
    classes: Mapping[str, type] = field(factory=dict)

    def of(self, part: Job | Media | Pass | Sign) -> Any:
        """The data of a job, a sheet, a pass or a sign: an instance of the class that the plugin
        declares there. None where the job states none.

        Raises TypeError for anything else, for which there is no data.
        """
        place = PLACE_OF.get(type(part))
        if place is None:
            raise TypeError(f"found {shown_value(part)}, expected a job, a sheet, a pass or a sign")
        tables = tables_in(part.data)
        if place not in self.classes or self.name not in tables:
            return None
        return read_table(tables[self.name], self.classes[place])


NO_OWN_DATA: Mapping[str, OwnData] = MappingProxyType({})


def data_by_plugin(part: Any, classes: DataClasses) -> dict[str, Any]:
    """What a job, a sheet, a pass or a sign holds for each plugin whose classes are known."""
    return {
        plugin: OwnData(plugin, classes_of_plugin).of(part)
        for plugin, classes_of_plugin in classes.items()
    }


def tables_of_document(document: Mapping[Any, Any]) -> Iterator[StatedTable]:
    """The tables for plugins that a document holds; what is none the reader of the job names."""
    yield from _tables_beside("job", "job", document)
    for name, place in _ROWS.items():
        rows = document.get(name)
        for position, row in enumerate(rows if isinstance(rows, list | tuple) else ()):
            yield from _tables_beside(f"{name}[{position}]", place, row)


def _tables_beside(path: str, place: str, holder: object) -> Iterator[StatedTable]:
    data = holder.get("data") if isinstance(holder, Mapping) else None
    if isinstance(data, Mapping):
        for plugin, table in data.items():
            if isinstance(table, Mapping):
                yield StatedTable(path, place, plugin, table)


def tables_of_job(job: Job) -> Iterator[StatedTable]:
    """The tables for plugins that a job holds."""
    parts = [("job", "job", job.data)]
    for name, place in _ROWS.items():
        parts += [(f"{name}.{row.id}", place, row.data) for row in getattr(job, name)]
    for path, place, data in parts:
        for plugin, table in tables_in(data).items():
            yield StatedTable(path, place, plugin, table)


def words_declared(where: Sequence[str | int], classes: DataClasses) -> tuple[object, ...]:
    """The words that a plugin declares for the value at some keys and positions of a document."""
    place, inside = "job", list(where)
    if inside[0] in _ROWS:
        place, inside = _ROWS[str(inside[0])], inside[2:]
    if len(inside) != 3 or inside[0] != "data":
        return ()
    _, plugin, key = inside
    cls = classes.get(str(plugin), {}).get(place)
    if cls is None:
        return ()
    words = {
        document_key(cls, name): declared.words for name, declared in declared_fields(cls).items()
    }
    return words.get(str(key), ())


def faults_of_tables(
    tables: Iterable[StatedTable], classes: DataClasses
) -> Iterator[DocumentFault]:
    """What is wrong with the tables of those plugins whose classes are known."""
    for stated in tables:
        # Not loaded: what it means by its table nobody here knows, and `data.unread` says so.
        if stated.plugin not in classes:
            continue
        classes_of_plugin = classes[stated.plugin]
        if stated.place not in classes_of_plugin:
            places = ", ".join(classes_of_plugin) or "nothing"
            expected = f"{NO_TABLE} {stated.plugin} here: it declares data of {places}"
            yield DocumentFault(stated.own_path, shown_value(dict(stated.table)), expected)
            continue
        try:
            read_table(stated.table, classes_of_plugin[stated.place])
        except Refused as refused:
            yield from refused.under(stated.own_path)
