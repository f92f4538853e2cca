"""Which spacer a shop would have to buy: worked by hand, and tried at both ends.

The base gap is 1.5 mm, of which dots of 24 x 0.03 mm on 0.01 mm of colour leave 0.77 mm. 1 mm must
be left, and drops fly 4 mm at the most; to the colour they fly 1.49 mm. So a spacer of 0.23 to 2.51
mm does.
"""

from __future__ import annotations

import jsonpatch
import pytest
from attrs import evolve
from scenario import pass_of, sign_job

import signrules
from signrules import Outcome
from signrules.remedies import finder
from signrules.remedies.candidates import worded_change
from signrules.remedies.spacers import Thickness, bought_spacer

FAR = {"control": "spacers", "spacers": ["5 mm"]}
ADVICE = "No spacer of the shop serves dots: a spacer of 0.23 to 2.51 mm would do."


def document(dots_gap, **printer):
    made = sign_job(standards=[])
    made["printer"] |= {"gap": FAR} | printer
    pass_of(made, "dots")["gap"] = dots_gap
    return made


def evaluate(made):
    return signrules.evaluate(signrules.job_from_dict(made))


def margin(result, name="dots"):
    return next(
        c
        for c in result.checks
        if (c.rule, c.subjects[0]) == ("clearance.margin", f"passes.{name}")
    )


def advised(remedies):
    return [one for one in remedies if "a spacer of" in one.summary]


def offered(made, rule="clearance.margin"):
    result = evaluate(made)
    (check,) = [c for c in result.checks if c.rule == rule and c.subjects[0] == "passes.dots"]
    return advised(check.remedies)


def test_the_range_is_said_and_the_patch_takes_the_thinnest():
    made = document({"extra": 0})
    (remedy,) = offered(made)
    assert remedy.summary == (
        f"{ADVICE} Set the gap of dots to 0.23 mm over panel instead of 0 mm over panel."
    )
    patched = jsonpatch.apply_patch(
        signrules.job_to_dict(signrules.job_from_dict(made)), list(remedy.patch)
    )
    assert patched["printer"]["gap"]["spacers"] == [0.23, 5]
    after = evaluate(patched)
    assert margin(after).outcome is Outcome.MET
    assert after.ok


@pytest.mark.parametrize(
    ("extra", "clears", "reaches"), [(0.22, 0, 1), (0.23, 1, 1), (2.51, 1, 1), (2.52, 1, 0)]
)
def test_both_ends_are_those_of_an_evaluation(extra, clears, reaches):
    result = evaluate(document({"extra": extra}, gap={"control": "spacers", "spacers": [extra]}))
    found = {c.rule: c.outcome for c in result.checks if c.subjects[0] == "passes.dots"}
    assert (found["clearance.margin"] is Outcome.MET) == clears
    assert (found["throw.reach"] is Outcome.MET) == reaches


def test_where_a_spacer_of_the_shop_clears_none_is_bought():
    made = document({"extra": 0}, gap={"control": "spacers", "spacers": ["5 mm", "2 mm"]})
    assert offered(made) == []
    dial = {"control": "dial", "max": "0.2 mm", "step": "0.1 mm"}
    assert offered(document({"extra": 0}, gap=dial)) == []


def test_an_empty_range_is_no_advice():
    # 1.6 - 1.49 = 0.11 mm is less than 0.23 mm.
    assert offered(document({"extra": 0}, max_throw="1.6 mm")) == []


def test_a_range_of_one_thickness_and_one_without_an_end():
    exact = offered(document({"extra": 0}, max_throw="1.72 mm"))
    assert "a spacer of 0.23 mm would do" in exact[0].summary
    made = document({"extra": 0}, gap={"control": "spacers", "spacers": []})
    del made["printer"]["max_throw"]
    assert "a spacer of 0.23 mm or more would do" in offered(made)[0].summary


def test_a_conflict_says_it_too():
    """The gap is open, and neither without a spacer nor with 5 mm is there one that clears and
    reaches.
    """
    result = evaluate(document("auto"))
    assert result.conflict is not None
    (remedy, *_) = advised(result.conflict_remedies)
    assert remedy.summary == ADVICE
    after = signrules.apply_remedy(result.job, remedy)
    assert signrules.evaluate(after).order_is_safe
    thickest = evolve(after, printer=evolve(after.printer, gap=signrules.Spacers((2.51, 5.0))))
    assert signrules.evaluate(thickest).order_is_safe
    beyond = evolve(after, printer=evolve(after.printer, gap=signrules.Spacers((2.52, 5.0))))
    assert signrules.evaluate(beyond).conflict is not None


def test_a_stated_conflict_says_it_at_its_members():
    made = document({"extra": 0})
    result = evaluate(made)
    assert result.conflict is not None
    assert any(one.summary.startswith(ADVICE) for one in advised(result.conflict_remedies))


def test_what_the_far_end_breaks_is_not_offered():
    """A shop rule forbids throws beyond 3 mm: the thick end of the range breaks it, so the range is
    not promised.
    """

    @signrules.rule(
        "ourshop.near",
        each="pass",
        level=signrules.Level.STOP,
        source=signrules.shop_practice("invented"),
    )
    def near(printing):
        """Drops fly 3 mm at the most.

        Why it matters: it is an invented limit.
        A job that breaks it: a throw of 4 mm.
        One that meets it: a throw of 2 mm.
        """
        yield signrules.check(
            "the throw", measured=printing.throw.to_lowest, most=3.0, advice="Set a smaller gap."
        )

    class Plugin:
        @signrules.hookimpl
        def signrules_rule_sets(self):
            return [signrules.RuleSet("ourshop", [near])]

    job = signrules.job_from_dict(document({"extra": 0}))
    result = signrules.evaluate(job, plugins=signrules.load_plugins(objects=[Plugin()]))
    assert result.complete
    assert advised(margin(result).remedies) == []


def test_with_drag_the_thickest_is_the_last_that_an_alignment_serves():
    """A gap known to 0.3 mm: drops of 7 pL take the longer for it the larger the throw, so thick
    spacers blur.
    """
    made = document({"extra": "0 .. 0.3 mm"}, drop_volume="7 pL", drop_density="1050 kg/m3")
    made["printer"]["landing_tolerance"] = "0.06 mm"
    result = evaluate(made)
    spacer = next(bought_spacer(margin(result), result))
    far = spacer.far_end.made(result.job)
    thickest = max(o for o in far.printer.gap.extras() if o < 5)
    for extra, doubtful in ((thickest, False), (thickest + 0.02, True)):
        passes = tuple(
            evolve(p, gap=evolve(p.gap, extra=p.gap.extra.moved_to(extra))) if p.id == "dots" else p
            for p in far.passes
        )
        served = next(
            c
            for c in signrules.evaluate(
                evolve(far, passes=passes, sequence=("ground", "dots", "ink-on-dots"))
            ).checks
            if (c.rule, c.subjects[0]) == ("alignment.served", "passes.dots")
        )
        assert (served.outcome is Outcome.DOUBTFUL) == doubtful


def test_with_drag_what_is_served_at_the_thick_end_reaches_as_far_as_drops_do():
    drops = {"drop_volume": "7 pL", "drop_density": "1050 kg/m3"}
    assert (
        "a spacer of 0.23 to 2.51 mm would do"
        in offered(document({"extra": 0}, **drops))[0].summary
    )
    made = document({"extra": 0}, gap={"control": "spacers", "spacers": []}, **drops)
    del made["printer"]["max_throw"]
    # They stop after 7.83 mm (tests/physics/test_flight.py), of which 1.49 mm are there without a
    # spacer.
    stop = signrules.job_from_dict(made)
    spacer = next(bought_spacer(margin(evaluate(made)), evaluate(made)))
    thickest = spacer.far_end.made(stop).printer.gap.extras()[-1]
    assert thickest == pytest.approx(7.83 - 1.49, abs=0.01)


def test_what_has_no_order_at_the_far_end_is_not_offered(monkeypatch):
    result = evaluate(document("auto"))
    near, far = (
        worded_change(
            "A spacer.",
            lambda job, o=extra: evolve(
                job, printer=evolve(job.printer, gap=signrules.Spacers((o,)))
            ),
        )
        for extra in (0.23, 0.1)
    )

    def candidates(judged, alike):
        return iter([evolve(near, far_end=far)])

    monkeypatch.setattr(finder, "candidates_for_conflict", candidates)
    assert result.conflict_remedies == ()
    monkeypatch.setattr(finder, "candidates_for_conflict", lambda judged, alike: iter([near]))
    assert [one.summary for one in evaluate(document("auto")).conflict_remedies] == ["A spacer."]


def test_mending_buys_nothing():
    mended = signrules.mend(signrules.job_from_dict(document({"extra": 0})))
    assert not any("spacer of 0.23" in one for one in mended.changes)
    assert (
        mended.job is None
        or mended.job.printer == signrules.job_from_dict(document({"extra": 0})).printer
    )


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (0.2301, 2.511, "0.24 to 2.51 mm"),
        (0.2301, 0.2349, "0.231 to 0.234 mm"),
        (0.23, 0.23, "0.23 mm"),
        (0.2301, None, "0.24 mm or more"),
    ],
)
def test_thicknesses_in_words(least, most, words):
    rounded = Thickness(least, most).rounded()
    assert rounded.in_words() == words
    assert rounded.least >= least - 1e-6


def test_a_range_without_a_round_thickness_is_none():
    assert Thickness(0.2301, 0.2304).rounded() is None
    assert Thickness(0.3, 0.2).rounded() is None
