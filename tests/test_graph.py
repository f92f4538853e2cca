"""The job graph: what its nodes and edges are, and that no safe order goes against it."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from types import SimpleNamespace

import networkx
import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from reference import Raster
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.job_graphs import _partners_in_words, through_handling
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.testing.reference import add_sums

CLINIC = Path(__file__).parent.parent / "docs" / "examples" / "clinic.toml"


def graph_of(document):
    return signrules.job_graph(signrules.job_from_dict(document))


def kinds(graph, source, target):
    return {reason.kind for reason in graph.edges[source, target]["reasons"]}


def precedence(graph):
    """The edges between passes, by id."""
    passes = {node: data["id"] for node, data in graph.nodes(data=True) if data["kind"] == "pass"}
    return [(passes[a], passes[b]) for a, b in graph.edges if a in passes and b in passes]


def test_nodes_edges_and_reasons():
    graph = graph_of(sign_job())
    assert isinstance(graph, networkx.DiGraph)
    by_kind = {}
    for _, data in graph.nodes(data=True):
        by_kind.setdefault(data["kind"], []).append(data["id"])
    assert by_kind == {
        "media": ["panel"],
        "pass": ["ground", "dots", "ink-on-dots"],
        "height": ["ground", "dots", "ink-on-dots"],
    }
    assert kinds(graph, "passes.ground", "passes.dots") == {"must clear"}
    assert kinds(graph, "passes.ground", "heights.dots") == {"must clear"}
    assert kinds(graph, "passes.dots", "passes.ink-on-dots") == {"lands on"}
    assert kinds(graph, "heights.dots", "passes.ink-on-dots") == {"lands on"}
    assert kinds(graph, "passes.dots", "heights.dots") == {"leaves"}
    assert kinds(graph, "media.panel", "passes.dots") == {"prints on", "register together"}
    reason = graph.edges["passes.ground", "passes.dots"]["reasons"][0]
    assert "only 0.77 mm (1 mm needed)" in reason.text
    assert networkx.is_directed_acyclic_graph(graph)
    low, high = graph.nodes["heights.ink-on-dots"]["surface"]
    assert (round(low, 6), round(high, 6)) == (3.74, 3.74)


def test_declared_order_through_handling():
    document = sign_job()
    document["handling"] = [
        {"id": "wait", "does": "pause", "after": ["ground"]},
        {"id": "look", "does": "pause", "after": ["wait"]},
    ]
    pass_of(document, "dots")["after"] = ["look"]
    assert "declared" in kinds(graph_of(document), "passes.ground", "passes.dots")


def test_a_declared_order_that_cannot_clear_gives_a_cycle():
    document = sign_job()
    pass_of(document, "ground")["after"] = ["dots"]
    graph = graph_of(document)
    assert not networkx.is_directed_acyclic_graph(graph)
    assert kinds(graph, "passes.ground", "passes.dots") == {"must clear"}
    assert kinds(graph, "passes.dots", "passes.ground") == {"declared"}


@settings(max_examples=effort(90))
@given(jobs(max_passes=5, signs=False))
def test_the_plan_is_a_linear_extension_of_the_graph(job):
    result = signrules.evaluate(job)
    if result.plan is not None:
        place = {name: at for at, name in enumerate(result.order)}
        assert all(place[a] < place[b] for a, b in precedence(signrules.job_graph(job)))
        assert sorted(place) == sorted(item.id for item in job.items)


@settings(max_examples=effort(50))
@given(
    jobs(
        stated_gaps_only=True,
        max_passes=4,
        max_media=2,
        handling=False,
        signs=False,
        references=("media", "bed"),
    )
)
def test_clearance_edges_are_implied_by_every_order_that_clears(job):
    """Of all permutations (and of those alone that networkx calls topological), the clear ones keep
    every edge.
    """
    raster, edges = Raster(job), precedence(signrules.job_graph(job))
    passes = networkx.DiGraph(edges)
    passes.add_nodes_from(item.id for item in job.passes)
    sorts = (
        {tuple(order) for order in networkx.all_topological_sorts(passes)}
        if networkx.is_directed_acyclic_graph(passes)
        else set()
    )
    for order in permutations(job.passes):
        done, clear = set(), True
        for item in order:
            declared = {*item.after, *item.over} <= done
            done.add(item.id)
            low, _ = raster.clearance(item, raster.plane(item, item.gap, done), done, set())
            clear = clear and declared and low > 1e-6 and low >= job.printer.min_clearance - 1e-6
        if clear:
            assert tuple(item.id for item in order) in sorts


def test_handling_on_two_ways_between_the_same_passes():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "one", "ink": "black", "gap": {"extra": 0}},
        {"id": "two", "ink": "black", "gap": {"extra": 0}, "after": ["last"]},
    ]
    document["handling"] = [
        {"id": "left", "does": "pause", "after": ["one"]},
        {"id": "right", "does": "pause", "after": ["one"]},
        {"id": "last", "does": "pause", "after": ["left", "right"]},
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    found = {edge.reason for edge in through_handling(machine)}
    assert found == {
        f"{name} comes after one, and two after it" for name in ("left", "right", "last")
    }


def test_many_partners_are_named_by_the_first():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "gap": {"extra": 0}, "registers_to": []} for n in range(8)
    ]
    document["passes"].append(
        {
            "id": "last",
            "ink": "black",
            "gap": {"extra": 0},
            "registers_to": [f"p{n}" for n in range(8)],
        }
    )
    machine = Machine(Heights(signrules.job_from_dict(document)))
    assert _partners_in_words(machine, 8) == "p0, p1, p2, p3, p4, p5 and 2 more"


def test_a_pass_that_names_itself_as_its_partner_has_none():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "alone", "ink": "black", "gap": {"extra": 0}, "registers_to": ["alone"]}
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    assert machine.partners(0) == ()


def test_what_is_declared_twice_is_one_reason():
    document = sign_job()
    pass_of(document, "dots")["after"] = ["ground", "ground"]
    twice = signrules.job_graph(signrules.job_from_dict(document))
    pass_of(document, "dots")["after"] = ["ground"]
    once = signrules.job_graph(signrules.job_from_dict(document))
    reasons = once.edges["passes.ground", "passes.dots"]["reasons"]
    assert twice.edges["passes.ground", "passes.dots"]["reasons"] == reasons
    assert len(reasons) == len(set(reasons))


# --- heights --------------------------------------------------------------------------------------


def surface_of(graph, name):
    low, high = graph.nodes[f"heights.{name}"]["surface"]
    return round(low, 6), round(high, 6)


def clinic():
    return signrules.read_job(CLINIC)


@pytest.mark.parametrize("order", [None, ["ground", "dots", "ink-on-dots"]])
def test_each_height_is_that_of_its_own_step(order):
    """By hand: 3 mm +- 0.2 mm of sheet, 10 um of blue, 24 x 33 um +- 1 um, 10 um of blue."""
    graph = signrules.job_graph(clinic(), order=order)
    assert surface_of(graph, "ground") == (2.81, 3.21)
    # The dots cover in part, and what is highest counts: 0.768 to 0.816 mm over the ground.
    assert surface_of(graph, "dots") == (3.578, 4.026)
    assert surface_of(graph, "ink-on-dots") == (3.588, 4.036)


def test_another_order_gives_other_heights():
    graph = signrules.job_graph(clinic(), order=["dots", "ink-on-dots", "ground"])
    assert surface_of(graph, "dots") == (3.568, 4.016)
    assert surface_of(graph, "ink-on-dots") == (3.578, 4.026)
    assert surface_of(graph, "ground") == (3.588, 4.036)


def test_the_sequence_of_a_job_gives_its_heights():
    job = evolve(clinic(), sequence=("dots", "ground", "ink-on-dots"))
    graph = signrules.job_graph(job)
    assert surface_of(graph, "dots") == (3.568, 4.016)
    assert surface_of(graph, "ground") == (3.578, 4.026)


@pytest.mark.parametrize(
    ("order", "found"),
    [
        (["ground", "dots"], "found 0 x 'ink-on-dots'"),
        (["ground", "dots", "ink-on-dots", "ink-on-dots"], "found 2 x 'ink-on-dots'"),
        (["ground", "dots", "ink-on-dots", "varnish"], "found 1 x 'varnish'"),
    ],
)
def test_an_order_that_is_none(order, found):
    with pytest.raises(signrules.SignrulesError, match=found):
        signrules.job_graph(clinic(), order=order)


@settings(max_examples=effort(60))
@given(jobs(max_passes=5, signs=False, sides=("front", "back")))
def test_heights_of_the_drawn_order_equal_those_of_a_plain_raster(job):
    result = signrules.evaluate(job)
    order = [result.timeline.machine.items[at].id for at in result.timeline.order]
    raster, printed = Raster(job), set()
    graph = signrules.job_graph(job, order=order)
    passes = {item.id: item for item in job.passes}
    for name in order:
        if name not in passes:
            continue
        printed.add(name)
        item = passes[name]
        media = raster.media(item)
        sheet = add_sums({("t", media): 1}, raster.lift(media, item.side, printed))
        mine = [over for *_, over in raster.cells[media] if item in over]
        stacks = [raster.stack(over, printed, item.side) for over in mine]
        surfaces = [raster.interval(add_sums(sheet, stack)) for stack in stacks]
        expected = (max(low for low, _, _ in surfaces), max(high for *_, high in surfaces))
        assert graph.nodes[f"heights.{name}"]["surface"] == pytest.approx(expected, abs=1e-6)


def test_a_rule_reads_the_heights_of_the_plan():
    """Declared last, the ground must be printed first: over the bare sheet stands it alone."""
    seen = {}

    def judge(item, graph):
        """What graph a rule is given.

        Why it matters: a test.
        A job that breaks it: none.
        One that meets it: any.
        """
        seen["ground"] = surface_of(graph, "ground")
        yield signrules.check("nothing", measured=0, most=0, unit="mm")

    source = signrules.shop_practice("none")
    rule = signrules.rule("ourshop.heights", each="job", source=source)(judge)
    rules = [signrules.RuleSet("ourshop", (rule,))]
    hook = signrules.hookimpl(lambda: rules)
    plugin = SimpleNamespace(__name__="ours", signrules_rule_sets=hook)
    job = clinic()
    job = evolve(job, passes=(*job.passes[1:], job.passes[0]))
    result = signrules.evaluate(job, plugins=signrules.load_plugins(objects=[plugin]))
    assert result.order == ("ground", "dots", "ink-on-dots")
    assert not result.faults
    assert seen["ground"] == (2.81, 3.21)
