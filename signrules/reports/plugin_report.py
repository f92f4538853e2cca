"""Reports in the formats of plugins."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from signrules.errors import PluginError, SignrulesError
from signrules.evaluation import Evaluation
from signrules.given_values import demand_bounds
from signrules.model.wording import expected_name, shown_value
from signrules.plugins import Plugins
from signrules.report_formats import OWN_FORMATS
from signrules.rules.containment import Contained, call_contained


def plugin_report(
    plugins: Plugins,
    name: str,
    results: Mapping[str, Evaluation | SignrulesError],
    *,
    seconds: float | None = None,
) -> str:
    """A report in the format of a plugin, of what came of each job by the path of its file.

    `seconds` is the time that the plugin may take for all of it. Raises PluginError where no plugin
    brings the format, and where the plugin fails, TypeError or ValueError for a
    `seconds` that is no time.
    """
    demand_bounds(seconds=seconds)
    demand_format(plugins, name)
    brings = f"format {name}"
    owner = next(one.name for one in plugins.loaded if brings in one.adds)
    try:
        text = call_contained(partial(plugins.formats[name].write, dict(results)), seconds)
    except Contained as failure:
        raise PluginError(f"the format {name} (plugin {owner}) failed: {failure}") from None
    if type(text) is not str or not _can_be_written(text):
        raise PluginError(
            f"the format {name} (plugin {owner}) gave back {shown_value(text)}, expected text"
        )
    return text


def _can_be_written(text: str) -> bool:
    """Whether a text is valid Unicode: half of a surrogate pair is none."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def demand_format(plugins: Plugins, name: str) -> None:
    """Raises PluginError where no plugin brings a format, with the nearest one of all there are:
    the command's own may have been meant as well.
    """
    if name in plugins.formats:
        return
    known = (*OWN_FORMATS, *sorted(plugins.formats))
    expected = expected_name(name, known, f"one of {', '.join(known)}")
    expected += plugins.unloaded_words()
    raise PluginError(f"no plugin brings the format {name}, expected {expected}")
