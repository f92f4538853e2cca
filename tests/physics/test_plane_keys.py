"""What planes over sheets that are alike have in common."""

from __future__ import annotations

from signrules.model.passes import Gap
from signrules.model.quantities import Interval
from signrules.physics.forms import Form, Unknown
from signrules.physics.planes import HeadPlane


def plane_over(media: str, thickness: float, ink: str) -> HeadPlane:
    form = Form.of(
        Unknown(f"media.{media}.thickness", Interval.exact(thickness)),
        Unknown(f"inks.{ink}.layer", Interval.exact(0.03)),
    )
    return HeadPlane((form,), Gap(Interval.exact(1.0)), media)


def test_the_names_of_their_own_sheets_are_left_out_and_other_names_are_not():
    def kind(media: str, thickness: float = 3.0, ink: str = "clear") -> object:
        return plane_over(media, thickness, ink).key_without(f"media.{media}.")

    assert kind("a") == kind("b")
    assert kind("a") != kind("b", thickness=2.0)
    assert kind("a") != kind("b", ink="white")
    assert kind("a") != plane_over("b", 3.0, "clear").key_without("media.a.")
