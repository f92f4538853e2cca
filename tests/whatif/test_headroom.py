"""Headroom: limits worked by hand, and each of them evaluated afresh on both sides."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules import Interval, PathError, headroom
from signrules.documents.value_paths import number_at, with_number


def job_of(**changes):
    return signrules.job_from_dict(sign_job(**changes))


def test_whole_numbers_by_hand():
    # us-ada-2010: dots of 0.025 to 0.037 in, 0.635 to 0.9398 mm; 22 to 31 layers of 0.03 mm.
    found = headroom(job_of(), "passes.dots.layers")
    assert (found.down.limit, found.down.beyond) == (22, 21)
    assert (found.up.limit, found.up.beyond) == (31, 32)
    assert found.down.breaks.rule == found.up.breaks.rule == "braille.dot-height"
    assert str(found).startswith(
        "passes.dots.layers is 24: down to 22 (at 21 braille.dot-height on signs.room breaks)"
    )


@pytest.mark.thorough
def test_lengths_by_hand():
    # 0.059 to 0.063 in are 1.4986 to 1.6002 mm; a tolerance of 0.01 mm moves along.
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = "1.55 mm +- 0.01 mm"
    found = headroom(
        signrules.job_from_dict(document), "signs.room.braille.dot_diameter", resolution=1e-4
    )
    assert found.down.limit == pytest.approx(1.5086, abs=1.1e-4)
    assert found.up.limit == pytest.approx(1.5902, abs=1.1e-4)


@pytest.mark.thorough
def test_bow_until_the_head_comes_too_near():
    # The ground runs at 1.5 mm over the sheet and lays 0.01 mm; 1 mm must stay free, so the bow may
    # be 0.49 mm. Ink on dots runs at 1.5 mm over the dots: the same. Dots run at 2.5 mm and stand
    # 0.73 mm high: 0.77 mm of bow.
    found = headroom(job_of(), "media.panel.bow")
    assert found.up.limit == pytest.approx(0.49, abs=0.001)
    assert found.up.breaks is None
    assert found.up.why.startswith("No safe order: ")
    assert str(found).lower().count("no safe order") == 1
    assert found.down.limit == 0
    assert "cannot hold it" in found.down.why


@pytest.mark.thorough
def test_nothing_found_within_the_range_is_said():
    found = headroom(job_of(), "printer.locating.stops", within=2)
    assert found.up.beyond is None
    assert found.up.limit == pytest.approx(2.5)
    assert "nothing breaks up to 2.5, where the search ended" in found.up.why
    assert "up to 2.5 at least" in str(found)


@pytest.mark.parametrize(
    "path",
    [
        "passes.dots.layers",
        "media.panel.thickness",
        "inks.clear.layer",
        "passes.dots.gap.extra",
        "printer.min_clearance",
    ],
)
@pytest.mark.slow
def test_both_sides_of_each_limit_hold_afresh(path):
    job = job_of()
    found = headroom(job, path)
    value = number_at(job, path)

    def at(nominal):
        whole = isinstance(value, int)
        return with_number(
            job,
            path,
            value.moved_to(nominal)
            if isinstance(value, Interval)
            else round(nominal)
            if whole
            else nominal,
        )

    for reach in (found.down, found.up):
        if reach.limit != found.value:
            assert signrules.evaluate(at(reach.limit)).ok
        if reach.breaks is not None:
            after = signrules.evaluate(at(reach.beyond))
            assert any(
                (c.rule, c.subjects[0]) == (reach.breaks.rule, reach.breaks.subjects[0])
                and c.holds_back
                for c in after.checks
            )
    assert found.trials > 0


def test_a_hole_on_the_way_is_found_by_sampling():
    # A rule that forbids 26 to 27 layers only: large steps leap over it, the samples do not.
    @signrules.rule(
        "ourshop.hole",
        each="pass",
        source=signrules.shop_practice("none"),
        level=signrules.Level.STOP,
    )
    def hole(item):
        """Not 26 or 27 layers.

        Why it matters: a test.
        A job that breaks it: 26 layers.
        One that meets it: 25 layers.
        """
        yield signrules.check(
            "the hole", measured=1 if 25 < item.layers < 28 else 0, most=0, unit=""
        )

    class Plugin:
        @signrules.hookimpl
        def signrules_rule_sets(self):
            return [signrules.RuleSet("ourshop", (hole,))]

    job = job_of(standards=[])
    found = headroom(
        job, "passes.dots.layers", plugins=signrules.load_plugins(objects=[Plugin()]), within=16
    )
    assert (found.up.limit, found.up.beyond) == (25, 26)
    assert found.up.breaks.rule == "ourshop.hole"


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("printer.locating.pins", 0.1),
        ("printer.gap.spacers[1]", 1.0),
        ("printer.bed[0]", 600.0),
        ("passes.dots.gap.extra", Interval.exact(1.0)),
        ("passes[1].layers", 24),
        ("temperature", 22.0),
    ],
)
def test_numbers_by_their_path(path, value):
    job = job_of()
    assert number_at(job, path) == value
    other = value.moved_to(1.2) if isinstance(value, Interval) else value + 1
    assert number_at(with_number(job, path, other), path) == other
    assert with_number(job, path, value) == job


@pytest.mark.parametrize(
    "path",
    [
        "name",
        "passes.dots",
        "passes.nobody.layers",
        "passes.dots.sheet_temperature",
        "media.panel.bow.low",
        "printer.locating.glue",
        "passes[7].layers",
        "printer.gap.spacers.x",
        "",
        "passes.dots.layers.x",
    ],
)
def test_paths_to_no_number(path):
    with pytest.raises(PathError, match="found"):
        headroom(job_of(), path)


def test_senseless_options():
    for options in ({"within": 0}, {"resolution": -1}, {"resolution": float("nan")}):
        with pytest.raises(ValueError, match="above 0"):
            headroom(job_of(), "passes.dots.layers", **options)


class House:
    """A plugin with one rule, of level STOP, on the passes."""

    def __init__(self, judge):
        def thing(item):
            """A house rule.

            Why it matters: a test.
            A job that breaks it: any.
            One that meets it: none.
            """
            yield from judge(item)

        source, stop = signrules.shop_practice("none"), signrules.Level.STOP
        self.rule = signrules.rule("ourshop.thing", each="pass", source=source, level=stop)(thing)

    @signrules.hookimpl
    def signrules_rule_sets(self):
        return [signrules.RuleSet("ourshop", (self.rule,))]


def layers_up_to(judge):
    plugins = signrules.load_plugins(objects=[House(judge)])
    return headroom(job_of(standards=[]), "passes.dots.layers", plugins=plugins, within=4).up


def test_a_rule_that_fails_further_on_ends_the_room():
    def judge(item):
        if item.layers > 26:
            raise ValueError("too many for me")
        yield signrules.check("layers", measured=item.layers, least=0, unit="")

    up = layers_up_to(judge)
    assert (up.limit, up.beyond, up.breaks) == (26, 27, None)
    assert up.why.startswith("judging fails: ")
    assert "too many for me" in up.why


def test_a_check_that_is_no_longer_made_ends_the_room():
    def judge(item):
        if item.layers <= 26:
            yield signrules.check("layers", measured=item.layers, least=0, unit="")

    up = layers_up_to(judge)
    assert (up.limit, up.beyond, up.breaks) == (26, 27, None)
    assert up.why == "a check of level STOP that was met can no longer be made"


def test_a_check_that_was_not_there_and_is_broken_ends_the_room():
    def judge(item):
        if item.layers > 26:
            yield signrules.check("layers", measured=item.layers, most=26, unit="")

    up = layers_up_to(judge)
    assert (up.limit, up.beyond, up.breaks.rule) == (26, 27, "ourshop.thing")


def test_a_hole_between_steps_that_are_all_good_is_found_by_sampling():
    # The steps go by 1, 2, 4, 8 and 16 layers from 24; from 33 to 38 layers nothing of that is
    # tried.
    def judge(item):
        yield signrules.check(
            "the hole", measured=1 if 32 < item.layers < 39 else 0, most=0, unit=""
        )

    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "dots", "ink": "clear", "layers": 24, "gap": {"extra": 1}, "areas": [[0, 0, 9, 9]]}
    ]
    job = signrules.job_from_dict(document)
    plugins = signrules.load_plugins(objects=[House(judge)])
    up = headroom(job, "passes.dots.layers", plugins=plugins, within=16).up
    assert (up.limit, up.beyond, up.breaks.rule) == (32, 33, "ourshop.thing")


@pytest.mark.thorough
def test_no_finer_than_numbers_are_told_apart():
    # us-ada-2010, 703.3.1: at most 0.063 in, 1.6002 mm, and a nanometre of guard. 1e-12 mm are
    # finer than any value.
    found = headroom(job_of(), "signs.room.braille.dot_diameter", resolution=1e-12)
    assert found.up.limit == pytest.approx(1.6002 + 1e-6, abs=2e-9)
    assert 0 < found.up.beyond - found.up.limit < 2e-9


def test_the_search_goes_no_further_than_it_may():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "only", "ink": "clear", "layers": 5}]
    job = signrules.job_from_dict(document)
    # 2.5 layers are two, and 0.5 mm in steps of 0.2 mm are 0.4 mm.
    layers = headroom(job, "passes.only.layers", within=2.5)
    assert (layers.down.limit, layers.up.limit) == (3, 7)
    assert headroom(
        job, "registration_tolerance", within=0.5, resolution=0.2
    ).up.limit == pytest.approx(0.55)


def two_alike_signs():
    """Two alike sheets with open gaps, whose orders are too many to rule all of them out."""
    document = sign_job(standards=[], signs=[])
    sheet = {"thickness": "3 mm +- 0.2 mm", "size": [150, 100], "hold": "pins"}
    document["media"] = [{**sheet, "id": "one", "at": [10, 10]}, {**sheet, "id": "two"}]
    document["media"][1]["at"] = [180, 10]
    document["printer"].update(
        bed=[900, 600],
        base_gap="0.75 mm +- 0.05 mm",
        min_clearance=0.5,
        gap={"control": "dial", "max": 4, "step": 0.05},
        max_throw=3,
    )
    document["passes"] = []
    for name in ("one", "two"):
        ground = {"id": f"ground-{name}", "media": name, "ink": "black"}
        letters = {"id": f"letters-{name}", "media": name, "ink": "clear", "layers": 26}
        dots = {"id": f"dots-{name}", "media": name, "ink": "clear", "layers": 24}
        letters.update(areas=[[20, 50, 100, 30]], over=[ground["id"]])
        dots.update(areas=[[20, 20, 60, 8]], over=[ground["id"]])
        document["passes"] += [{**item, "gap": "auto"} for item in (ground, letters, dots)]
    return signrules.job_from_dict(document)


@pytest.mark.thorough
def test_that_no_order_was_found_is_told_in_short():
    found = headroom(two_alike_signs(), "printer.min_clearance", resolution=0.05, budget=1500)
    assert found.up.beyond is not None
    assert found.up.why == "none of the orders that were tried is safe"
    words = f"(at {found.up.beyond:.9g} none of the orders that were tried is safe, as far as the"
    assert words in str(found)
