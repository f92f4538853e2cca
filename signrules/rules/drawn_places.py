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
        for drawn in drawn_part(item, layout.job, feature):
            if drawn.side == face and drawn.unstated is not None:
                yield missing(drawn.unstated, what)
            elif drawn.side == face:
                draft = check(
                    what,
                    measured=inside_by(drawn.box, ground),
                    least=-rounding,
                    unit="mm",
                    advice="Move the areas onto the sign, or correct the area that it states.",
                    others=drawn.paths,
                )
                beyond = quantity_text(-inside_by(drawn.box, ground), "mm")
                finding = f"the areas of its {feature} reach over the edge of the sign by {beyond}"
                yield _for_another_sign(evolve(draft, told=finding), item, layout, face, rounding)


def _none_drawn(item: Sign, job: Job, feature: str) -> Iterator[Draft]:
    """A part that passes with areas of several signs are said to build, and do not."""
    name = f"{item.id}.{feature}"
    builders = [builder for builder in job.passes if name in builder.builds]
    # None, other than empty, is what nobody knows: that is told as missing, and not as undrawn.
    if builders and all(areas_building(job, builder, name) == () for builder in builders):
        names = joined_names([builder.id for builder in builders])
        draft = check(
            f"the areas that print its {feature}",
            measured=0,
            least=1,
            unit="areas",
            advice="Give the pass an area where the sign says that it lies, or correct that place.",
            others=tuple(f"passes.{builder.id}" for builder in builders),
            level=Level.STOP if feature in _COUNTERPARTS else Level.REVIEW,
        )
        yield evolve(draft, told=f"no area of {names} prints its {_WORDS[feature]}")


def next_sign(item: Sign, layout: Layout, side: str, rounding: float) -> Iterator[Draft]:
    """The distance to the nearest other sign on a side of the sheet, which stands for them all."""
    places = _places(item, layout, side)
    others = {sign_id: area for sign_id, area in places.items() if sign_id != item.id}
    if not others:
        return
    what = "the distance from what is built of the sign to the next sign"
    own_place = places.get(item.id)
    if own_place is None:
        unstated = _unstated_places(item, layout.job, side)
        yield from (missing(path, what) for path in unstated)
        return
    # The nearest stands for all: whatever keeps clear of it keeps clear of those behind it.
    nearest = min(others, key=lambda sign_id: distance_apart(own_place, others[sign_id]))
    distance = distance_apart(own_place, others[nearest])
    draft = check(
        what,
        measured=distance,
        least=-rounding,
        unit="mm",
        advice="Check which sign each pass builds and where its areas lie.",
        others=(f"signs.{nearest}",),
    )
    if draft.outcome is Outcome.MET:
        yield draft
        return
    other = _name_of(_sign_with(nearest, layout.job))
    finding = f"what is built of it overlaps {other} by {quantity_text(-distance, 'mm')}"
    yield _for_another_sign(evolve(draft, told=finding), item, layout, side, rounding)


def _for_another_sign(
    draft: Draft, item: Sign, layout: Layout, side: str, rounding: float
) -> Draft:
    """The check, and STOP where braille or raised text of this sign lies on another one."""
    if draft.outcome is not Outcome.BROKEN:
        return draft
    for feature in _COUNTERPARTS:
        for drawn in drawn_part(item, layout.job, feature):
            if drawn.side != side or drawn.unstated is not None:
                continue
            if other := _sign_under(item, layout, drawn, feature, rounding):
                what = "braille" if feature == "braille" else "raised text"
                finding = f"{draft.told}; its {what} is drawn on {_name_of(other)}"
                return evolve(draft, told=finding, level=Level.STOP)
    return draft


def _sign_under(
    item: Sign, layout: Layout, drawn: Drawn, feature: str, rounding: float
) -> Sign | None:
    """The other sign on which a part of this one certainly lies."""
    for name, place in _places(item, layout, drawn.side).items():
        distance = distance_apart(drawn.box, upright_area(place, item.top))
        # Areas that only touch, or overlap by what drawing rounds off, lie beside each other.
        if name == item.id or distance >= -rounding:
            continue
        other = _sign_with(name, layout.job)
        # A stated area is somebody's word. Without it a rectangle around parts may reach where no
        # sign is.
        if other.area is not None or _belongs_to(other, item, layout.job, drawn, feature):
            return other
    return None


def _belongs_to(other: Sign, item: Sign, job: Job, drawn_here: Drawn, feature: str) -> bool:
    """Whether a part lies nearer to the text (or the braille) of another sign than to the own."""
    counterpart = _COUNTERPARTS[feature]
    builds = f"{other.id}.{counterpart}"
    theirs = []
    for builder in job.passes:
        if builds in builder.builds and builder.side == drawn_here.side:
            areas = areas_building(job, builder, builds) or ()
            theirs += [
                distance_apart(drawn_here.box, upright_area(area, item.top)) for area in areas
            ]
    distances = [
        distance_apart(drawn_here.box, drawn.box)
        for drawn in drawn_part(item, job, counterpart)
        if drawn.side == drawn_here.side
    ]
    return bool(theirs and distances) and min(theirs) < min(distances)


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
    for builder in job.passes:
        if builder.side != side:
            continue
        for feature in builder.builds:
            if sign_of_feature(feature) == item.id:
                yield unstated_place(job, builder, feature) or f"passes.{builder.id}.areas"
