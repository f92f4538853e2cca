"""Which files and layers of artwork the run sheet names for each pass."""

from __future__ import annotations

from attrs import evolve
from scenario import sign_job
from sheet.pages import seen, tree

from signrules import ArtworkSource, evaluate, job_from_dict, run_sheet


def page_with(count: int) -> str:
    job = job_from_dict(sign_job())
    sources = tuple(
        ArtworkSource(f"door-{number}.svg", 1, "Dots", f"sha256:{number:064x}")
        for number in range(1, count + 1)
    )
    first, *others = job.passes
    result = evaluate(evolve(job, passes=(evolve(first, artwork=sources), *others)))
    return seen(tree(run_sheet(result)))


def test_a_pass_of_several_files_names_them():
    assert "door-1.svg, page 1, layer Dots; door-2.svg, page 1, layer Dots" in page_with(2)


def test_of_very_many_files_the_first_and_how_many():
    text = page_with(9)
    assert "door-3.svg, page 1, layer Dots; 6 more" in text
    assert "door-4.svg, page 1" not in text
