"""What plugins may not do together: share a name, extend sets of others, amend in a circle."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain

from signrules.errors import PluginError
from signrules.model.cycles import shortest_cycle
from signrules.model.handling_kinds import BUILTIN_KINDS
from signrules.model.plugin_data import nearest_plugin, whole_name
from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.page_languages import ENGLISH_TAG
from signrules.plugin_loading import Brought
from signrules.plugin_sources import Failed
from signrules.standards.dimension_tables import Standard, amending_circle, circle_in_words

BroughtByName = Mapping[str, tuple[object, ...]]
"""What plugins have brought, by their names: version, what each adds, and the digest of its file;
nothing of one that failed.
"""

OWN_SETS = ("waivers", "document", "data")
"""Sets besides those of rules by which reports name what signrules itself has found."""


def demand_own_names(one: Brought, built_in: Brought) -> None:
    """Raises PluginError for rules that a plugin adds to a set which is none of its own, for a
    kind of handling that it calls like a built-in one, and for a catalogue of English.
    """
    taken = {some.name for some in built_in.rule_sets} | set(OWN_SETS)
    for some in one.rule_sets:
        if some.name in taken:
            advice = "call the set and its rules after your shop"
            raise PluginError(
                f"the set {some.name} belongs to signrules and takes no rules of others: {advice}"
            )

    for kind in one.handling_kinds:
        if kind.name in BUILTIN_KINDS:
            raise PluginError(
                f"signrules_handling_kinds gave back {shown_value(kind.name)}, expected a name that"
                f" is none of {', '.join(BUILTIN_KINDS)}"
            )

    if ENGLISH_TAG in one.languages:
        raise PluginError(
            f"signrules_languages gave back a catalogue of {ENGLISH_TAG!r}, in which pages are"
            " written: bring it as another tag, such as 'en-GB'; texts of your own are English"
            " where they are declared"
        )


def amending_amiss(brought: Sequence[Brought]) -> list[tuple[Brought, str]]:
    """Plugins whose tables amend what cannot be amended, and why: all that share a circle, or the
    first with nothing.

    Without them there may be others: what amends a table of theirs amends nothing then.
    """
    tables = tables_of(brought)
    circle = amending_circle(tables)
    if circle:
        # By identity: two plugins may bring tables of the same id, and only one is in the circle.
        in_circle = set(map(id, circle))
        owners = [one for one in brought if in_circle & set(map(id, one.standards))]
        return [(one, circle_in_words(circle)) for one in owners]
    known = {each.id for each in tables}
    for one in brought:
        for each in one.standards:
            if each.amends is not None and each.amends not in known:
                return [(one, f"a table of it amends {each.amends}, which is not loaded")]
    return []


def outcomes_amiss(brought: Sequence[Brought]) -> list[tuple[Brought, str]]:
    """Plugins with rules that ask for outcomes which never come, and why: all that share a circle,
    or the first that asks for a rule which is not loaded.
    """
    asking: dict[str, tuple[str, ...]] = {}
    owners: dict[str, Brought] = {}
    for one in brought:
        for rule in (rule for some in one.rule_sets for rule in some.rules):
            asking[rule.name], owners[rule.name] = rule.outcomes_of, one
    circle = shortest_cycle(asking)
    if circle is not None:
        links = ", ".join(
            f"{name} asks for those of {other}"
            for name, other in zip(circle, circle[1:] + circle[:1], strict=True)
        )
        why = f"rules ask for each other's outcomes in a circle: {links}"
        return [(one, why) for one in brought if any(owners[name] is one for name in circle)]
    for name, others in asking.items():
        for other in others:
            if other not in asking:
                near = nearest_name(other, tuple(asking))
                hint = f"; did you mean {near}?" if near else ""
                why = f"{name} asks for the outcomes of {other}, which is not loaded{hint}"
                return [(owners[name], why)]
    return []


def tables_of(brought: Iterable[Brought]) -> list[Standard]:
    """The dimension tables of all plugins."""
    return list(chain.from_iterable(one.standards for one in brought))


def known_names(block: Iterable[str], asked: tuple[str, ...]) -> tuple[str, ...]:
    """The whole names of the plugins to leave out. Raises PluginError for one of no plugin."""
    names = tuple(whole_name(name, asked) for name in block)
    for name in names:
        if name not in asked:
            near = nearest_plugin(name, asked)
            hint = f"; did you mean {near}?" if near else ""
            raise PluginError(f"no plugin that can be left out is called {name}{hint}")
    return names


def demand_each_once(names: Iterable[str], built_in: str) -> None:
    """Raises PluginError where two plugins have one name, or one has that of the built-in one."""
    for name, count in Counter(names).items():
        if name == built_in:
            raise PluginError(
                f"a plugin is called {name}, as the built-in one is: give it another name"
            )
        if count > 1:
            raise PluginError(
                f"{count} plugins are called {name}: give one another name, or block both"
            )


def demand_alike(here: BroughtByName, sent: BroughtByName, failed: Iterable[Failed]) -> None:
    """Raises PluginError where plugins bring something else here than in the process that sent
    them, or come from files of other bytes.
    """
    # Functions cannot be compared; bytes, versions and names tell what was updated meanwhile.
    other = sorted(name for name in {*here, *sent} if here.get(name) != sent.get(name))
    if not other:
        return
    reasons = {one.name: one.error for one in failed}
    for name in other:
        both_loaded = here.get(name) and sent.get(name)
        if both_loaded and here[name][-1] != sent[name][-1]:
            reasons[name] = "its file holds other bytes"
    told = "".join(f"; {name}: {reasons[name]}" for name in other if name in reasons)
    raise PluginError(
        f"not the same here as in the process that sent the job: {listed_names(other)}{told}"
    )


def demand_one_owner(brought: Sequence[Brought]) -> None:
    """Raises PluginError where two plugins, or one of them twice, bring something of one name."""
    owners: dict[str, str] = {}
    for one in brought:
        for name in one.loaded.adds:
            # Several may translate their own texts into one language.
            if name.startswith("language "):
                continue
            if name not in owners:
                owners[name] = one.loaded.name
                continue
            if owners[name] == one.loaded.name:
                raise PluginError(
                    f"{name} is brought twice by {owners[name]}: bring it once, or rename one"
                )
            both = f"{owners[name]} and {one.loaded.name}"
            raise PluginError(f"{name} is brought twice, by {both}: rename it, or block a plugin")
