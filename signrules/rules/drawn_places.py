"""Where what passes build of a sign lies: on that sign, and not on another."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.built_areas import areas_building, unstated_place
from signrules.model.job import Job
from signrules.model.passes import FEATURES, Area, sign_of_feature
from signrules.model.sign import Sign
from signrules.model.wording import joined_names, shown_value
from signrules.physics.bed_layout import Layout
from signrules.physics.upright import distance_apart, inside_by, upright_area
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, Outcome, check, missing
from signrules.rules.drawn_parts import Drawn, drawn_part, ground_of

_WORDS = {"braille": "braille", "raised": "raised text", "visual": "visual characters"}
_COUNTERPARTS = {"braille": "raised", "raised": "braille"}


def on_the_sign(item: Sign, layout: Layout, rounding: float) -> Iterator[Draft]:
    """How far the parts of a sign stay from the edge of the area that it states."""
    face = layout.faces[item.id]
    ground, _ = ground_of(item, layout, face)
    for feature in FEATURES:
        yield from _none_drawn(item, layout.job, feature)
        what = f"the distance from the areas of its {feature} to the edge of the sign"
        for found in drawn_part(item, layout.job, feature):
            if found.side == face and found.unstated is not None:
                yield missing(found.unstated, what)
            elif found.side == face:
                draft = check(
                    what,
                    measured=inside_by(found.box, ground),
                    least=-rounding,
                    unit="mm",
                    advice="Move the areas onto the sign, or correct the area that it states.",
                    others=found.paths,
                )
                beyond = quantity_text(-inside_by(found.box, ground), "mm")
                told = f"the areas of its {feature} reach over the edge of the sign by {beyond}"
                yield _for_another_sign(evolve(draft, told=told), item, layout, face, rounding)


def _none_drawn(item: Sign, job: Job, feature: str) -> Iterator[Draft]:
    """A part that passes with areas of several signs are said to build, and do not."""
    name = f"{item.id}.{feature}"
    builders = [each for each in job.passes if name in each.builds]
    if builders and all(areas_building(job, each, name) == () for each in builders):
        names = joined_names([each.id for each in builders])
        draft = check(
            f"the areas that print its {feature}",
            measured=0,
            least=1,
            unit="areas",
            advice="Give the pass an area where the sign says that it lies, or correct that place.",
            others=tuple(f"passes.{each.id}" for each in builders),
            level=Level.STOP if feature in _COUNTERPARTS else Level.REVIEW,
        )
        yield evolve(draft, told=f"no area of {names} prints its {_WORDS[feature]}")


def next_sign(item: Sign, layout: Layout, side: str, rounding: float) -> Iterator[Draft]:
    """The distance to the nearest other sign on a side of the sheet, which stands for them all."""
    places = _places(item, layout, side)
    others = {id: area for id, area in places.items() if id != item.id}
    if not others:
        return
    what = "the distance from what is built of the sign to the next sign"
    own = places.get(item.id)
    if own is None:
        unstated = _unstated_places(item, layout.job, side)
        yield from (missing(path, what) for path in unstated)
        return
    nearest = min(others, key=lambda id: distance_apart(own, others[id]))
    apart = distance_apart(own, others[nearest])
    draft = check(
        what,
        measured=apart,
        least=-rounding,
        unit="mm",
        advice="Check which sign each pass builds and where its areas lie.",
        others=(f"signs.{nearest}",),
    )
    if draft.outcome is Outcome.MET:
        yield draft
        return
    other = _name_of(_sign_with(nearest, layout.job))
    told = f"what is built of it overlaps {other} by {quantity_text(-apart, 'mm')}"
    yield _for_another_sign(evolve(draft, told=told), item, layout, side, rounding)


def _for_another_sign(
    draft: Draft, item: Sign, layout: Layout, side: str, rounding: float
) -> Draft:
    """The check, and STOP where braille or raised text of this sign lies on another one."""
    if draft.outcome is not Outcome.BROKEN:
        return draft
    for feature in _COUNTERPARTS:
        for found in drawn_part(item, layout.job, feature):
            if found.side != side or found.unstated is not None:
                continue
            if other := _sign_under(item, layout, found, feature, rounding):
                what = "braille" if feature == "braille" else "raised text"
                told = f"{draft.told}; its {what} is drawn on {_name_of(other)}"
                return evolve(draft, told=told, level=Level.STOP)
    return draft


def _sign_under(
    item: Sign, layout: Layout, found: Drawn, feature: str, rounding: float
) -> Sign | None:
    """The other sign on which a part of this one certainly lies."""
    for name, place in _places(item, layout, found.side).items():
        apart = distance_apart(found.box, upright_area(place, item.top))
        if name == item.id or apart >= -rounding:
            continue
        other = _sign_with(name, layout.job)
        if other.area is not None or _belongs_to(other, item, layout.job, found, feature):
            return other
    return None


def _belongs_to(other: Sign, item: Sign, job: Job, found: Drawn, feature: str) -> bool:
    """Whether a part lies nearer to the text (or the braille) of another sign than to the own."""
    counterpart = _COUNTERPARTS[feature]
    builds = f"{other.id}.{counterpart}"
    theirs = []
    for each in job.passes:
        if builds in each.builds and each.side == found.side:
            areas = areas_building(job, each, builds) or ()
            theirs += [distance_apart(found.box, upright_area(area, item.top)) for area in areas]
    own = [
        distance_apart(found.box, each.box)
        for each in drawn_part(item, job, counterpart)
        if each.side == found.side
    ]
    return bool(theirs and own) and min(theirs) < min(own)


def _places(item: Sign, layout: Layout, side: str) -> dict[str, Area]:
    return layout.signs.get((layout.job.media_of(item).id, side), {})


def _sign_with(id: str, job: Job) -> Sign:
    return next(sign for sign in job.signs if sign.id == id)


def _name_of(sign: Sign) -> str:
    """The id of a sign, with its text where it has one."""
    text = " ".join(line.strip() for line in sign.text if line.strip())
    return f"{sign.id} ({shown_value(text)})" if text else sign.id


def _unstated_places(item: Sign, job: Job, side: str) -> Iterator[str]:
    """For each pass that builds something of a sign, what would tell where that lies."""
    for each in job.passes:
        if each.side != side:
            continue
        for feature in each.builds:
            if sign_of_feature(feature) == item.id:
                yield unstated_place(job, each, feature) or f"passes.{each.id}.areas"
