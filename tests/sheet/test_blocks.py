"""What the steps of a run sheet say, ask and leave to write."""

from __future__ import annotations

import pytest
from scenario import pass_of, sign_job
from sheet.many_signs import many_passes
from sheet.pages import NBSP, example, of_class, seen, sheet_of, tree

from signrules.sheet.block_making import SetupBlocks
from signrules.sheet.language import ENGLISH


def made_of(result):
    return SetupBlocks(result, ENGLISH)


def steps_of(job):
    """All blocks of a job, those before the load first."""
    made = made_of(sheet_of(job)[0])
    return [*made.before_the_load(), *made.at_the_machine()]


def of_kind(blocks, kind):
    return [block for block in blocks if block.kind == kind]


def rows_of(blocks):
    return [row for block in blocks for row in block.prints]


def asks(block):
    return [tick.short or tick.label for tick in block.all_ticks]


def terms(block):
    return [tick.term for tick in block.all_ticks]


def test_the_alignment_of_the_clinic():
    (align,) = made_of(example("clinic")[0]).before_the_load()
    # The extra, what it serves and its passes are worked by hand in docs/how-it-computes.md. Of the
    # spacers 0.3, 0.6, 1.3 and 2.1 mm none lies from 1.065 to 1.293; 1.3 mm over scrap that is
    # raised to the middle does, 1.3 - 1.179 mm in shims of 0.01 mm. A gauge then shows 2.05 - 0.12,
    # and may show 0.75 + 1.065 to 0.75 + 1.293, rounded inwards.
    assert (align.noun, align.big) == ("spacer", f"1.3{NBSP}mm")
    assert align.where == (
        f"then lay shims of 0.12{NBSP}mm under scrap",
        "measure above top of scrap",
        "for dots (6) and ink-on-dots (8)",
    )
    gauge = align.blanks[0]
    assert (gauge.nominal, gauge.limits) == (f"1.93{NBSP}mm", "1.82 to 2.04")
    assert (gauge.least, gauge.most) == (1.82, 2.04)
    # The machine stops before the scrap goes on; the gauge is off before the pattern is printed.
    assert asks(align) == [
        *("stopped", "scrap alone", "fits", "tools off", "cured"),
        f"meet within 0.06{NBSP}mm",
    ]
    assert list(made_of(example("clinic")[0]).spacers_to_buy()) == [
        f"Aligned at an extra of 1.065{NBSP}mm: a spacer of 1.065 to 1.293{NBSP}mm would do"
        " without."
    ]


def test_the_gaps_of_the_clinic():
    gaps = of_kind(made_of(example("clinic")[0]).at_the_machine(), "gap")
    assert [(gap.noun, gap.big, gap.where) for gap in gaps] == [
        ("", "no spacer", ("measure above top of panel",)),
        (
            "spacer",
            f"1.3{NBSP}mm",
            ("measure above top of panel", f"never above 2.05{NBSP}mm"),
        ),
        ("spacer", f"0.3{NBSP}mm", ("measure above highest ink on panel",)),
    ]
    # 0.75 mm of base gap and the spacer.
    assert [gap.blanks[0].nominal for gap in gaps] == [
        f"{height}{NBSP}mm" for height in ("0.75", "2.05", "1.05")
    ]
    # Worked by hand. Ground: 0.54 mm are free at least where 0.5 must be, so 0.04 mm down; aligned
    # at its own throw, 0.06 mm of tolerance x 6 m/s / (2 x 0.8 m/s) = 0.225 mm up. Dots: aligned at
    # 1.065, which is 1.29 - 0.225 (the throw over the ground's 0.01 mm), so 0 mm up; down 0.45, and
    # by clearance 1.024 - 0.5. No further than halfway to the next spacer, though: 0.15 mm up from
    # none to 0.3 mm, and 0.35 mm down from 1.3 to 0.6 mm.
    assert [gap.blanks[0].limits for gap in gaps[:2]] == ["0.71 to 0.90", "1.70 to 2.05"]


def test_what_is_printed_and_what_must_not_move():
    rows = rows_of(made_of(example("clinic")[0]).at_the_machine())
    assert [row.name for row in rows] == ["ground", "dots", "ink-on-dots"]
    dots = rows[1]
    assert dots.facts == (
        f"clear, 24 layers, 30{NBSP}% covered",
        "both ways",
    )
    # Each two-way pass asks for the value of its own alignment.
    assert [row.entry.label for row in rows] == [
        f"enter value on record, gauge 0.75{NBSP}mm",
        "enter value (1)",
        "enter value (1)",
    ]
    assert rows[0].still == ("Leave panel in place until dots are measured (9a).",)
    assert dots.still == ("Registers with ground (4).",)
    figures = dict(dots.figures)
    assert figures["Clearance"] == f"1.024 to 1.272{NBSP}mm, at least 0.5{NBSP}mm"
    landing = figures["Two-way landing error at the first layer"]
    assert landing == f"0.06{NBSP}mm, at most 0.06{NBSP}mm"


def test_the_bed_is_cleared_before_a_gap_is_set():
    ground, dots, _ = of_kind(made_of(example("clinic")[0]).at_the_machine(), "gap")
    # The bed beside may bear what stays clear of the head at its lowest: 3 - 0.2 + 0.75 mm of the
    # ground and 1.3 mm more of the dots, less 0.5 mm that must stay free. The band of the dots:
    # 50 + 30 - 40 to 50 + 38 + 40.
    assert [tick.short for tick in ground.first] == [
        "stopped",
        f"only panel in y 10 to 290{NBSP}mm, nothing over 3.05{NBSP}mm beside",
    ]
    assert [tick.short for tick in dots.first] == [
        "stopped",
        "cured",
        f"only panel in y 40 to 128{NBSP}mm, nothing over 4.35{NBSP}mm beside",
    ]
    (block, *_) = of_class(tree(example("clinic")[1]), "block", "gap")
    assert seen(block).index("nothing over") < seen(block).index("Set the gap")


def test_of_very_many_passes_a_band_is_asked_for_where_it_is_not_yet():
    gaps = of_kind(made_of(sheet_of(many_passes())[0]).at_the_machine(), "gap")
    asked = [gap for gap in gaps if any(tick.listed_as for tick in gap.first)]
    assert gaps[0] in asked
    assert len(asked) < len(gaps) / 2


@pytest.mark.thorough
def test_every_pass_says_whether_it_registers():
    rows = rows_of(made_of(example("two-thicknesses")[0]).at_the_machine())
    # The two passes on sheets of their own say it, though in the same words.
    alone = ("No other pass registers with this one.",)
    assert [row.still for row in rows[:2]] == [alone, alone]
    # Of very many passes that is said where it changes.
    many = rows_of(made_of(sheet_of(many_passes())[0]).at_the_machine())
    assert len(many) == 60
    assert sum(bool(row.still) for row in many) < 5


def test_a_file_that_is_not_given_is_told_and_asked_for():
    _, page = sheet_of(sign_job())
    sent = [seen(label) for label in of_class(tree(page), "sent")]
    assert sent == ["No file, ask:"] * 3


def test_a_strike_or_a_moved_sheet_has_a_place_to_be_noted():
    root = tree(example("clinic")[1])
    (box,) = [each for each in of_class(root, "strike") if each.tag == "section"]
    assert "Stop, print nothing more, leave all as it lies." in seen(box)
    fields = [(seen(label), label.find("input").get("id")) for label in box.iter("label")]
    assert fields == [
        ("Step", "strike-step"),
        ("What happened", "strike-what"),
        ("Told to", "strike-told"),
        ("Ask", "strike-ask"),
    ]


def test_the_file_to_send_is_named():
    job = sign_job()
    pass_of(job, "dots")["artwork"] = {
        "file": "doors.pdf",
        "page": 3,
        "layer": "dots",
        "fingerprint": "sha256:" + "0123456789abcdef" * 4,
    }
    _, page = sheet_of(job)
    (file,) = of_class(tree(page), "file")
    assert seen(file) == "doors.pdf, page 3, layer dots"
    assert "doors.pdf 0123 4567 89ab" in seen(tree(page).find("body/main/header"))


def test_dials_and_gaps_that_cannot_be_set():
    job = sign_job()
    job["printer"]["gap"] = {"control": "dial", "max": "2 mm", "step": "0.25 mm"}
    dots = of_kind(steps_of(job), "gap")[1]
    assert (dots.noun, dots.big) == ("dial", f"1{NBSP}mm")
    pass_of(job, "dots")["gap"]["extra"] = 1.1
    dots = of_kind(steps_of(job), "gap")[1]
    assert (dots.noun, dots.big) == ("extra", f"1.1{NBSP}mm")
    assert dots.where[0] == "the dial of this printer does not give it"
    job["printer"]["gap"] = {"control": "spacers", "spacers": ["0.5 mm"]}
    dots = of_kind(steps_of(job), "gap")[1]
    assert dots.where[0] == "no spacer of this printer gives it"


def test_a_head_that_is_set_over_the_bed_itself():
    job = sign_job(standards=[], signs=[])
    del pass_of(job, "dots")["builds"]
    pass_of(job, "dots")["gap"] = {"head_above_bed": "5.5 mm"}
    (over_bed,) = [block for block in steps_of(job) if block.noun == "head over the bed"]
    assert over_bed.big == f"5.5{NBSP}mm"
    assert over_bed.where[0] == "measure from the bed"
    # No base gap comes on top of a height that is stated itself.
    assert over_bed.blanks[0].nominal == f"5.5{NBSP}mm"


def test_a_spacer_for_an_alignment_that_none_of_the_shop_reaches():
    """Set over dots of 0.72 mm, crisp beside them: 0.06 x 6000 / 1600 = 0.225 mm to both sides
    serve.
    """
    job = sign_job(alignments=[{"extra": 0}, {"extra": 1}])
    job["printer"]["gap"]["spacers"] = []
    for name in ("dots", "ground"):
        pass_of(job, name)["directions"] = 1
    (align,) = of_kind(steps_of(job), "align")
    assert align.where[:2] == (
        "the gap control does not reach that far",
        f"a spacer of 0.495 to 0.945{NBSP}mm would do without",
    )
    job["printer"]["gap"] = {"control": "dial", "max": "0.2 mm", "step": "0.1 mm"}
    (align,) = of_kind(steps_of(job), "align")
    assert align.where[1] == "ask whoever stated this job"


def test_a_gap_of_the_same_height_over_another_sheet_is_set_and_gauged_all_the_same():
    # 3 mm over a sheet of 3 mm is the same height as 0 mm over one of 6 mm, and yet another place
    # of the dial.
    job = sign_job(standards=[], signs=[])
    job["printer"] |= {
        "gap": {"control": "dial", "max": "4 mm", "step": "1 mm"},
        "max_throw": "9 mm",
    }
    job["media"] = [
        {"id": id, "thickness": f"{thick} mm +- 0.1 mm", "size": [50, 50], "at": [at, 0]}
        for id, thick, at in (("thin", 3, 0), ("thick", 6, 100))
    ]
    job["passes"] = [
        {"id": f"on-{id}", "ink": "black", "media": id, "gap": {"extra": gap}, "directions": 1}
        for id, gap in (("thin", 3), ("thick", 0))
    ]
    result, _ = sheet_of(job)
    assert result.timeline.gap_settings == 1
    first, second = of_kind(steps_of(job), "gap")
    assert (first.big, first.where) == (f"3{NBSP}mm", ("measure above top of thin",))
    assert second.big == f"0{NBSP}mm"
    assert second.where[0] == "measure above top of thick"
    assert "set and gauge it here all the same" in second.where[1]


def test_every_sheet_that_must_not_move_is_named():
    job = sign_job(standards=[], signs=[])
    job["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [100 * n, 0]}
        for n, name in enumerate("pq")
    ]
    job["passes"] = [
        {"id": "first", "ink": "black", "media": "p"},
        {"id": "then", "ink": "black", "media": "q", "registers_to": ["first"], "after": ["first"]},
        {"id": "last", "ink": "black", "media": "q", "registers_to": ["then"], "after": ["then"]},
    ]
    first, then, _ = rows_of(steps_of(job))
    assert first.still[0].startswith("Leave p and q in place until then (")
    assert then.still[1].startswith("Leave q in place until last (")
    assert first.facts[1] == "on p"


def test_loads_and_handling_are_steps_of_their_own():
    job = sign_job(standards=[], signs=[])
    for item in job["passes"]:
        item.pop("builds", None)
    job["passes"].append({"id": "back", "ink": "black", "side": "back", "after": ["turn"]})
    job["handling"] = [
        {"id": "turn", "does": "flip", "locates_by": "pins", "after": ["ink-on-dots"]},
        {"id": "rest", "does": "pause", "after": ["dots"]},
    ]
    blocks = steps_of(job)
    turn, rest = of_kind(blocks, "handle")[::-1]
    assert (turn.action, turn.noun) == ("Turn over", "turn")
    assert turn.where == ("sheet panel", f"put back by pins, within 0.1{NBSP}mm")
    assert "It touches pins everywhere" in asks(turn)
    assert (rest.action, rest.noun, rest.ticks) == ("Pause", "rest", ())
    (back,) = [row for row in rows_of(blocks) if row.name == "back"]
    assert "on panel, its back up" in back.facts


def test_which_side_lies_up_is_said_where_it_is_not_the_front_alone():
    job = sign_job(standards=[], signs=[])
    for item in job["passes"]:
        item.pop("builds", None)
        item["after"] = ["turn"]
    job["media"][0]["up"] = "back"
    job["passes"].append({"id": "back", "ink": "black", "side": "back"})
    job["handling"] = [{"id": "turn", "does": "flip", "locates_by": "pins"}]
    result, _ = sheet_of(job)
    assert result.order[:2] == ("back", "turn")
    blocks = steps_of(job)
    assert "panel lies with its back up" in asks(of_kind(blocks, "load")[0])
    rows = rows_of(blocks)
    assert "on panel, its back up" in rows[0].facts
    assert "on panel, its front up" in rows[1].facts
    assert not [fact for row in rows_of(steps_of(sign_job())) for fact in row.facts if "up" in fact]


def test_whoever_lays_a_tool_or_a_hand_on_print_is_asked_first():
    job = sign_job(standards=[], signs=[], registration_tolerance="1 mm")
    del pass_of(job, "dots")["builds"]
    moves = ("reload", "flip", "release")
    job["passes"].append({"id": "back", "ink": "black", "side": "back", "after": list(moves)})
    job["handling"] = [
        {"id": does, "does": does, "after": ["ink-on-dots"]} for does in (*moves, "pause")
    ]
    printed, kinds = False, set()
    for block in steps_of(job):
        hands = block.noun != "pause"
        kinds.add(block.action)
        assert ("stopped" in terms(block)) == hands, block
        assert ("cured" in asks(block)) == (block.kind == "align" or (hands and printed)), block
        if hands:
            assert terms(block)[0] == "stopped"
        printed = printed or bool(block.prints)
    assert kinds == {
        "Align both ways, over flat scrap",
        "Load",
        "Set the gap",
        "Take off and put back",
        "Turn over",
        "Release and hold again",
        "Pause",
        "Unload",
    }


@pytest.mark.parametrize(
    ("control", "label"),
    [
        ({"control": "spacers", "spacers": [0.5, 1, 1.5]}, "Gauge and spacers off the bed"),
        ({"control": "dial", "max": "2 mm", "step": "0.25 mm"}, "Gauge off the bed"),
    ],
)
def test_what_was_laid_to_set_a_gap_comes_off_the_bed_before_printing(control, label):
    job = sign_job()
    job["printer"]["gap"] = control
    blocks = steps_of(job)
    gaps = of_kind(blocks, "gap")
    assert len(gaps) == 3
    for gap in gaps:
        assert [tick.label for tick in gap.ticks[-2:]] == ["Gauge within its limits", label]
    for align in of_kind(blocks, "align"):
        assert "Nothing else on the bed but shims" in [tick.label for tick in align.first]


def test_every_tick_says_what_to_do_without_it():
    page = example("clinic")[1]
    root = tree(page)
    (mishaps,) = of_class(root, "mishaps")
    said = seen(mishaps)
    blocks = made_of(example("clinic")[0])
    every = [*blocks.before_the_load(), *blocks.at_the_machine()]
    common = {tick for block in every for tick in block.all_ticks}
    assert {tick.short for tick in common} >= {"stopped", "cured", "fits", "tools off"}
    for tick in common:
        assert f"{tick.label}, else {tick.otherwise}." in said
    assert all(tick.short for tick in common)


def test_sheets_lie_where_they_are_said_to_lie():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": f"s{n}", "thickness": 3, "size": [20, 20], "at": [30 * (n % 10), 30 * (n // 10)]}
        for n in range(43)
    ]
    document["media"][7] |= {"bow": "0.4 mm", "hold": "tape"}
    document["passes"] = [{"id": "ink", "ink": "black", "media": "s0", "gap": {"extra": 0}}]
    made = made_of(sheet_of(document)[0])
    sheets = made.sheets_of_load("1")
    assert [sheet.name for sheet in sheets] == [f"s{n}" for n in range(43)]
    assert (
        sheets[12].place == f"corner nearest origin 60 / 30, 20 \N{MULTIPLICATION SIGN} 20{NBSP}mm"
    )
    assert sheets[7].place.endswith(f"held by tape, flat to 0.4{NBSP}mm")
    assert "lies flat" in asks(of_kind(made.at_the_machine(), "load")[0])
    assert sheets[0].thickness.nominal == f"3{NBSP}mm"
    assert sheets[0].thickness.limits == "no limits given: ask before printing if it differs"


def test_of_many_partners_it_is_said_how_many():
    job = sign_job(standards=[], signs=[])
    job["passes"] = [
        {"id": f"p{n}", "ink": "black", "after": [f"p{n - 1}"] if n else []} for n in range(6)
    ]
    job["passes"].append({"id": "alone", "ink": "black", "registers_to": [], "after": ["p2"]})
    job["passes"][3]["after"] = ["alone"]
    rows = {row.name: row for row in rows_of(steps_of(job))}
    assert rows["p1"].still[0].startswith("Registers with p0 (")
    assert rows["p2"].still[0] == "Registers with every pass before it."
    assert rows["p5"].still[0].startswith("Registers with the 5 passes from p0 (")
    assert rows["alone"].still == ("No other pass registers with this one.",)
