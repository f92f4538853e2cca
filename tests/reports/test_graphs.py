"""Pictures of graphs and plans, read back: every node and edge is there, in its place, and names do
no harm.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import combinations, pairwise
from unicodedata import east_asian_width
from xml.etree import ElementTree

import networkx
import numpy
import pytest
import scipy.optimize
from benchmarks.beds import ganged_bed
from benchmarks.cases import rows_of_signs
from effort import effort, first_quick
from hypothesis import given, settings
from hypothesis import strategies as st
from reports.hostile import ALL, PAIRS, harmless, hostile_job
from scenario import sign_job
from strategies import jobs

from signrules import (
    NoSafeOrder,
    evaluate,
    graph_mermaid,
    graph_svg,
    job_from_dict,
    plan_mermaid,
    plan_svg,
)
from signrules.cli import main
from signrules.job_graphs import graph_of
from signrules.reports.alike_boxes import FEW_BOXES, MOST_EDGES, shown_boxes
from signrules.reports.graph_boxes import KINDS, boxes_of
from signrules.reports.layered_drawing import ascending_values, layered_drawing
from signrules.reports.mermaid import mermaid_text
from signrules.reports.text_report import one_line, step_text

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = {"svg", "title", "desc", "style", "defs", "marker", "path", "rect", "polygon", "text", "g"}
FLIPPED = {
    "handling": [
        {"id": "cool", "does": "pause", "after": ["dots"]},
        {"id": "turn", "does": "flip", "after": ["ink-on-dots"], "locates_by": "pins"},
    ]
}
_CODE = re.compile(r"#([0-9]+);")
_NODE = re.compile(r'^    (n\d+|s\d+)(\[\[|\[|\(|\{\{)"([^"]*)"(\]\]|\]|\)|\}\})$')
_EDGE = re.compile(r'^    (n\d+) -->\|"([^"]*)"\| (n\d+)$')


def result_of(document, **options):
    return evaluate(job_from_dict(document), **options)


def read_back(text):
    root = ElementTree.fromstring(text.encode())
    assert root.tag == f"{SVG}svg"
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= DRAWN
    assert not any(
        name.startswith("on") or "href" in name for e in root.iter() for name in e.attrib
    )
    nodes = {g.get("data-name"): g for g in root.iter(f"{SVG}g") if g.get("data-name") is not None}
    edges = {
        (g.get("data-from"), g.get("data-to")): g
        for g in root.iter(f"{SVG}g")
        if g.get("data-from") is not None
    }
    return root, nodes, edges


def rectangle(group):
    """Left, top, right, bottom of the shape of a node."""
    polygon = group.find(f"{SVG}polygon")
    if polygon is not None:
        points = [tuple(map(float, pair.split(","))) for pair in polygon.get("points").split()]
        across, down = zip(*points, strict=True)
        return min(across), min(down), max(across), max(down)
    rect = group.find(f"{SVG}rect")
    x, y, width, height = (float(rect.get(name)) for name in ("x", "y", "width", "height"))
    return x, y, x + width, y + height


def check_graph(result):
    root, nodes, edges = read_back(graph_svg(result, surfaces=True, every_pass=True))
    check_all_within(root)
    check_all_within(ElementTree.fromstring(graph_svg(result).encode()))
    graph = graph_of(result.timeline.machine)
    handled = {f"handling.{item.id}" for item in result.job.handling}
    assert set(nodes) == {one_line(name) for name in (*graph.nodes, *handled)}
    for source, target, data in graph.edges(data=True):
        group = edges[one_line(source), one_line(target)]
        assert {reason.kind for reason in data["reasons"]} <= set(
            group.get("data-kinds").split(", ")
        )
        title = group.find(f"{SVG}title").text
        assert (
            all(one_line(reason.text) in title for reason in data["reasons"])
            or "characters)" in title
        )
    for edge in result.timeline.machine.precedence:
        path = result.timeline.machine.path
        assert (one_line(path(edge.before)), one_line(path(edge.then))) in edges
    _, _, width, height = map(float, root.get("viewBox").split())
    boxes = [rectangle(group) for group in nodes.values()]
    for left, top, right, bottom in boxes:
        assert 0 <= left < right <= width
        assert 0 <= top < bottom <= height
    for one, two in combinations(boxes, 2):
        assert one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
    for (source, target), group in edges.items():
        numbers = [
            float(each) for each in re.findall(r"-?[0-9.]+", group.find(f"{SVG}path").get("d"))
        ]
        for x, y, box in (
            (*numbers[:2], rectangle(nodes[source])),
            (*numbers[-2:], rectangle(nodes[target])),
        ):
            assert box[0] <= x <= box[2]
            assert min(abs(y - box[1]), abs(y - box[3])) <= 2.1
    return root, nodes, edges


def curve_points(path):
    """Points along the Bezier curves and lines of a path, by their definition."""
    kinds = re.findall(r"[MCHV]", path)
    pieces = [list(map(float, re.findall(r"-?[0-9.]+", part))) for part in re.split("[MCHV]", path)]
    here = tuple(pieces[1])
    points = [here]
    for kind, numbers in zip(kinds[1:], pieces[2:], strict=True):
        if kind == "H":
            corners = [here, (numbers[0], here[1])]
        elif kind == "V":
            corners = [here, (here[0], numbers[0])]
        else:
            corners = [here, *zip(numbers[::2], numbers[1::2], strict=True)]
        points += [de_casteljau(corners, step / 16) for step in range(1, 16)]
        here = corners[-1]
        points.append(here)
    return points


def de_casteljau(corners, share):
    while len(corners) > 1:
        corners = [
            tuple(one + share * (other - one) for one, other in zip(a, b, strict=True))
            for a, b in pairwise(corners)
        ]
    return corners[0]


def check_all_within(root):
    """Every point of every edge and every line of text lies within the picture."""
    left, top, width, height = map(float, root.get("viewBox").split())
    assert (left, top) == (0, 0)
    for group in root.iter(f"{SVG}g"):
        for path in group.findall(f"{SVG}path"):
            for x, y in curve_points(path.get("d")):
                assert 0 <= x <= width
                assert 0 <= y <= height
    for text in root.iter(f"{SVG}text"):
        size = 11 if text.get("class") == "small" else 13
        # Half an em and more for a character: an upper bound for text in a sans-serif font.
        places = sum(2 if east_asian_width(char) in "WF" else 1 for char in text.text)
        long = places * 0.58 * size
        start = float(text.get("x")) - (long / 2 if text.get("text-anchor") else 0)
        assert start >= 0
        assert start + long <= width, text.text
        assert size <= float(text.get("y")) <= height


def check_groups(result):
    """Every pass stands in one box, and every edge between passes in one edge or one box."""
    every = boxes_of(result, surfaces=False)
    shown = shown_boxes(result, surfaces=False, every_pass=False)
    box_of = {name: box.name for box in shown.boxes for name in (box.members or (box.name,))}
    assert sorted(box_of) == sorted(box.name for box in every.boxes)
    assert sum(box.count for box in shown.boxes) == len(every.boxes)
    between = {(box_of[edge.source], box_of[edge.target]) for edge in every.edges}
    drawn = {(edge.source, edge.target) for edge in shown.edges}
    assert drawn == {(one, other) for one, other in between if one != other}
    ink = {f"passes.{item.id}": item.ink for item in result.job.passes}
    for box in shown.boxes:
        assert len({ink.get(name) for name in box.members}) <= 1
    if shown.alike:
        check_alike(every, box_of)


def check_alike(every, box_of):
    """All that one box stands for has edges to and from the same boxes: asked pair by pair."""
    met = {name: set() for name in box_of}
    for edge in every.edges:
        met[edge.source].add(("to", box_of[edge.target]))
        met[edge.target].add(("from", box_of[edge.source]))
    for name, box in box_of.items():
        assert met[name] == met[box]


def test_the_graph_of_the_invented_sign():
    root, nodes, edges = check_graph(result_of(sign_job(**FLIPPED)))
    assert nodes["handling.turn"].get("class") == "node handling"
    assert edges["media.panel", "handling.turn"].get("data-kinds") == "handles"
    assert edges["passes.dots", "handling.cool"].get("data-kinds") == "declared"
    assert root.find(f"{SVG}title").text == "an invented sign: job graph"
    assert "ink-on-dots lands on the ink of dots." in root.find(f"{SVG}desc").text
    told = {text.text for text in root.iter(f"{SVG}text")}
    assert {KINDS[int(g.get("class")[-1])] for g in edges.values()} <= told


def test_what_depends_stands_below():
    _, nodes, edges = check_graph(result_of(sign_job()))
    for source, target in edges:
        assert rectangle(nodes[source])[3] < rectangle(nodes[target])[1]


def test_kinds_differ_without_colour():
    """Every kind of edge has dashes or a width of its own, every kind of node a shape or an outline
    of its own.
    """
    style = next(
        e
        for e in ElementTree.fromstring(graph_svg(result_of(sign_job())).encode()).iter(
            f"{SVG}style"
        )
    ).text
    looks = set()
    for kind in range(len(KINDS)):
        rule = re.search(rf"\.kind-{kind} path {{ (.*?) }}", style)[1]
        looks.add(
            ";".join(
                sorted(part.strip() for part in rule.split(";") if part.strip()[:7] == "stroke-")
            )
        )
    assert len(looks) == len(KINDS)


def test_a_circle_is_drawn_too():
    job = sign_job()
    for item in job["passes"]:
        item["gap"] = {"extra": 0, "above": "media"}
    job["passes"][0]["after"] = ["dots"]
    result = result_of(job)
    assert result.conflict is not None
    assert not networkx.is_directed_acyclic_graph(graph_of(result.timeline.machine))
    check_graph(result)
    with pytest.raises(NoSafeOrder):
        plan_svg(result)
    with pytest.raises(NoSafeOrder):
        plan_mermaid(result)


@pytest.mark.thorough
@given(jobs(max_passes=6))
@settings(max_examples=effort(40))
def test_graphs_of_generated_jobs(job):
    result = evaluate(job, audited=False)
    check_graph(result)
    check_mermaid(result)
    check_groups(result)


def large_job(passes=60):
    job = sign_job(signs=[], standards=[])
    job["printer"]["bed"] = [2000, 450]
    job["media"] = [
        {"id": f"p{n}", "thickness": 3, "size": [200, 200], "at": [210 * n, 0]} for n in range(4)
    ]
    job["passes"] = [
        {
            "id": f"pass-{n}",
            "ink": ("black", "clear")[n % 2],
            "media": f"p{n % 4}",
            "layers": 1 + n % 2 * 6,
            "areas": [[10 + n // 8 * 20, 20, 15, 15]],
            "gap": {"extra": n % 2, "above": "media"},
        }
        | ({"after": [f"pass-{n - 8}"]} if n >= 8 else {})
        for n in range(passes)
    ]
    return job


def test_sixty_passes():
    result = result_of(large_job())
    _, nodes, _ = check_graph(result)
    assert len(nodes) == 124
    check_plan(result)
    check_mermaid(result)


SCREEN_JOBS = {
    "chains of 60": lambda: job_from_dict(large_job()),
    "rows of 60": lambda: rows_of_signs(60, 6, 1),
    "bed of 60": lambda: ganged_bed(12, 5),
    "mixed bed of 60": lambda: ganged_bed(15, (3, 4, 5), thicknesses=(3.0, 5.0), apart=True),
    "rows of 300": lambda: rows_of_signs(300, 6, 1),
    "bed of 300": lambda: ganged_bed(60, 5),
}


@cache
def screen_result(name):
    """The evaluation of a job, made once for both of its pictures."""
    return evaluate(SCREEN_JOBS[name](), audited=False)


@pytest.mark.parametrize("job", first_quick(3, SCREEN_JOBS, pytest.mark.thorough))
@pytest.mark.parametrize("surfaces", [False, True])
def test_a_large_job_fits_a_screen(job, surfaces):
    """1600 x 1200 pixels, and fewer edges than the 500 at which usual viewers of Mermaid stop."""
    result = screen_result(job)
    text = graph_svg(result, surfaces=surfaces)
    root, nodes, edges = read_back(text)
    _, _, width, height = map(float, root.get("viewBox").split())
    assert width <= 1600
    assert height <= 1200
    assert len(edges) <= 500
    check_all_within(root)
    check_groups(result)
    assert text == graph_svg(result, surfaces=surfaces)
    assert "--every-pass" in root.find(f"{SVG}desc").text
    mermaid = graph_mermaid(result, surfaces=surfaces).splitlines()
    assert sum("-->" in line for line in mermaid) == len(edges)
    assert "every-pass" in mermaid[-1]
    assert any(int(group.get("data-count")) > 1 for group in nodes.values())


@pytest.mark.thorough
def test_passes_that_are_alike_are_one_box():
    """Twelve sheets with five passes each, all the same, are six boxes."""
    job = ganged_bed(12, 5)
    _, nodes, _ = read_back(graph_svg(evaluate(job, audited=False)))
    told = {name: [text.text for text in group.iter(f"{SVG}text")] for name, group in nodes.items()}
    assert told["media.s01"] == ["s01 to s12", "12 sheets"]
    assert len(told) == 6
    inks = {f"12 passes, {item.ink}" for item in job.passes}
    assert {words[1] for words in told.values()} == {"12 sheets", *inks}
    assert told["passes.s01-dots"][0] == "s01-dots ... s12-dots"


def test_one_pass_that_differs_stands_apart():
    document = large_job(16)
    document["passes"][3]["layers"] = 4
    nodes = read_back(graph_svg(result_of(document)))[1]
    assert nodes["passes.pass-3"].get("data-count") == "1"
    assert nodes["passes.pass-0"].get("data-count") == "4"


@pytest.mark.thorough
def test_a_few_passes_on_each_other_are_tall_rather_than_coarse():
    document = sign_job(signs=[], standards=[])
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "gap": {"extra": 0}}
        | ({"over": [f"p{n - 1}"]} if n else {})
        for n in range(FEW_BOXES - 1)
    ]
    root, nodes, _ = read_back(graph_svg(result_of(document)))
    assert len(nodes) == FEW_BOXES
    assert "--every-pass" not in root.find(f"{SVG}desc").text


def test_too_many_edges_make_a_coarser_picture():
    result = evaluate(rows_of_signs(60, 6, 1), audited=False)
    shown = shown_boxes(result, surfaces=False, every_pass=False)
    assert len(boxes_of(result, surfaces=False).edges) > MOST_EDGES >= len(shown.edges)
    assert not shown.alike
    assert "an edge holds for some" in graph_svg(result)


def test_a_long_name_ends_at_the_border():
    for name in ("W" * 119, "\N{CJK UNIFIED IDEOGRAPH-6F22}" * 119):
        result = result_of(sign_job(name=name))
        for text in (graph_svg(result), plan_svg(result)):
            root = ElementTree.fromstring(text.encode())
            check_all_within(root)
            assert root.find(f"{SVG}title").text.startswith(name)


def test_what_the_command_shows(capsys):
    example = "docs/examples/clinic.toml"
    assert main(["graph", example]) == 0
    assert "surface of" not in capsys.readouterr().out
    assert main(["graph", example, "--surfaces", "--every-pass"]) == 0
    assert "surface of dots" in capsys.readouterr().out
    for option in ("--surfaces", "--every-pass"):
        assert main(["graph", example, "--plan", option]) == 2
        assert "leave these options out" in capsys.readouterr().err


def check_plan(result):
    root = ElementTree.fromstring(plan_svg(result).encode())
    steps = [g for g in root.iter(f"{SVG}g") if g.get("data-step") is not None]
    assert [int(g.get("data-step")) for g in steps] == list(range(1, len(result.plan.steps) + 1))
    for at, (group, step) in enumerate(zip(steps, result.plan.steps, strict=True), start=1):
        assert group.find(f"{SVG}title").text == one_line(f"{at}. {step_text(step, result)}")
        assert step.kind in group.get("class").split()
        words = " ".join(text.text for text in group.iter(f"{SVG}text"))
        assert words.startswith(f"{at}. ")
    arrows = [
        (g.get("data-from"), g.get("data-to"))
        for g in root.iter(f"{SVG}g")
        if g.get("data-from") is not None
    ]
    assert arrows == [(str(at), str(at + 1)) for at in range(1, len(steps))]
    check_all_within(root)
    _, _, width, height = map(float, root.get("viewBox").split())
    for group in steps:
        left, top, right, bottom = rectangle(group)
        assert 0 <= left < right <= width
        assert 0 <= top < bottom <= height
        for text in group.iter(f"{SVG}text"):
            assert top < float(text.get("y")) < bottom
            assert float(text.get("x")) + 7.6 * len(text.text) <= right + 15


def test_the_plan_as_steps():
    check_plan(result_of(sign_job()))
    unsafe = result_of(sign_job(sequence=["dots", "ink-on-dots", "ground"]))
    check_plan(unsafe)
    for result in (unsafe, result_of(sign_job())):
        drawn = ElementTree.fromstring(plan_svg(result).encode())
        assert drawn.find(f"{SVG}desc").text.startswith(result.verdict)
        assert result.verdict in [text.text for text in drawn.iter(f"{SVG}text")]


# --- Mermaid --------------------------------------------------------------------------------------


def decoded(text: str) -> str:
    """Its entity codes, as the Mermaid documentation on flowcharts has them: a number sign,
    decimals, a semicolon.
    """
    assert '"' not in text
    return _CODE.sub(lambda match: chr(int(match[1])), text)


def check_mermaid(result):
    first, *rest = graph_mermaid(result, surfaces=True, every_pass=True).split("\n")
    assert first == "flowchart TD"
    assert rest.pop() == ""
    every = boxes_of(result, surfaces=True)
    nodes, edges = every.boxes, every.edges
    keys = {}
    found = []
    for line in rest:
        node, edge = _NODE.match(line), _EDGE.match(line)
        assert (node is None) != (edge is None), line
        if node:
            keys[node[1]] = nodes[len(keys)].name
            assert decoded(node[3]) == one_line(": ".join(nodes[len(keys) - 1].lines[::-1]))
        else:
            found.append((keys[edge[1]], keys[edge[3]], set(decoded(edge[2]).split(", "))))
    assert list(keys.values()) == [node.name for node in nodes]
    assert found == [(e.source, e.target, {reason.kind for reason in e.reasons}) for e in edges]


def test_mermaid_of_the_plan():
    result = result_of(sign_job())
    first, *rest = plan_mermaid(result).strip().split("\n")
    assert first == "flowchart TD"
    verdict, *words = [decoded(match[3]) for line in rest if (match := _NODE.match(line))]
    assert verdict == result.verdict
    assert words == [
        f"{at}. {step_text(step, result)}" for at, step in enumerate(result.plan.steps, start=1)
    ]
    arrows = [line.strip() for line in rest if "-->" in line]
    assert arrows == [f"s{at} --> s{at + 1}" for at in range(len(words))]


@pytest.mark.parametrize("text", ALL, ids=lambda text: ascii(text[:12]))
def test_mermaid_text_holds_no_syntax(text):
    shown = mermaid_text(text)
    assert re.fullmatch(r"(?:[^\W]|[ .,:()/-]|#[0-9]+;)*", shown)
    assert decoded(shown) == one_line(text, 240)


# --- hostile names --------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "id"), PAIRS, ids=lambda text: ascii(text[:12]))
def test_hostile_names(name, id):
    result = result_of(hostile_job(name, id))
    check_graph(result)
    check_plan(result)
    check_mermaid(result)
    for text in (graph_svg(result), plan_svg(result)):
        assert "<script" not in text
        assert "\u202e" not in text
        root = ElementTree.fromstring(text.encode())
        for element in root.iter():
            assert all(
                harmless(value) for value in (*element.attrib.values(), (element.text or ""))
            )
            assert element.tag == f"{SVG}desc" or len(element.text or "") < 3000
    for text in (graph_mermaid(result), plan_mermaid(result)):
        assert harmless(text)


# --- the layout -----------------------------------------------------------------------------------


@st.composite
def graphs(draw):
    count = draw(st.integers(1, 14))
    pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(
        lambda pair: pair[0] != pair[1]
    )
    edges = draw(st.lists(pairs, max_size=30, unique=True))
    return [f"n{at}" for at in range(count)], [(f"n{a}", f"n{b}") for a, b in edges]


@given(graphs())
def test_layers_are_those_of_networkx_where_there_is_no_circle(found):
    names, edges = found
    laid = layered_drawing(dict.fromkeys(names, 80.0), edges)
    assert set(laid.centres) == set(names)
    assert set(laid.routes) == set(edges)
    for (source, target), route in laid.routes.items():
        assert (route[0], route[-1]) == (laid.centres[source], laid.centres[target])
    graph = networkx.DiGraph()
    graph.add_nodes_from(names)
    graph.add_edges_from(edges)
    rows = {}
    for name in names:
        rows.setdefault(laid.centres[name][1], set()).add(name)
    if networkx.is_directed_acyclic_graph(graph):
        assert [rows[y] for y in sorted(rows)] == [
            set(some) for some in networkx.topological_generations(graph)
        ]
    for row in rows.values():
        places = sorted(laid.centres[name][0] for name in row)
        assert all(b - a >= 80 for a, b in pairwise(places))


def test_very_many_bends_are_left_out():
    """All pairs of 40 nodes: 780 edges, which pass 9880 rows between (40 choose 3)."""
    names = [f"n{at}" for at in range(40)]
    laid = layered_drawing(dict.fromkeys(names, 80.0), combinations(names, 2))
    assert len(laid.routes) == 780
    assert {len(route) for route in laid.routes.values()} == {2}


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=20))
def test_places_are_the_isotonic_regression_of_scipy(values):
    assert numpy.allclose(
        ascending_values(values), scipy.optimize.isotonic_regression(values).x, atol=1e-6
    )


@pytest.mark.parametrize("form", ["svg", "mermaid"])
def test_a_plan_that_is_not_safe_is_drawn_and_ends_as_order_does(form, tmp_path, capsys):
    example = "docs/examples/clinic-scrapes.toml"
    assert main(["order", example]) == 1
    why = capsys.readouterr().err.partition("Cautions:")[0]
    assert why.startswith("DO NOT PRINT: the head would hit\nThe sequence is not safe.\n")
    assert main(["graph", example, "--plan", "--format", form]) == 1
    shown = capsys.readouterr()
    assert shown.err == why
    assert "DO NOT PRINT" in shown.out
    target = tmp_path / "plan"
    assert main(["graph", example, "--plan", "--format", form, "-o", str(target)]) == 1
    assert "DO NOT PRINT" in target.read_text("utf-8")
    capsys.readouterr()
    assert main(["graph", example, "--format", form]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("sequence", [True, False])
def test_a_plan_of_an_incomplete_evaluation_ends_with_3(sequence, tmp_path, capsys):
    broken = tmp_path / "broken.py"
    broken.write_text("import none_of_that_name")
    example = f"docs/examples/clinic{'-scrapes' if sequence else ''}.toml"
    assert main(["graph", example, "--plan", "--plugin", str(broken)]) == 3
    shown = capsys.readouterr()
    assert "the evaluation is incomplete" in shown.err
    assert bool(shown.out) is sequence
    assert main(["graph", example, "--plugin", str(broken)]) == 3
    assert capsys.readouterr().out


def test_the_command(tmp_path, capsys, monkeypatch):
    example = "docs/examples/clinic.toml"
    assert main(["graph", example]) == 0
    assert capsys.readouterr().out.startswith('<?xml version="1.0" encoding="UTF-8"?>\n<svg')
    assert main(["graph", example, "--format", "mermaid", "--plan"]) == 0
    assert 's2["2. load 1"]' in capsys.readouterr().out
    target = tmp_path / "plan.svg"
    assert main(["graph", example, "--plan", "-o", str(target)]) == 0
    assert ElementTree.fromstring(target.read_bytes()).tag == f"{SVG}svg"
    assert main(["graph", example, "-o", str(tmp_path / "no" / "plan.svg")]) == 2
