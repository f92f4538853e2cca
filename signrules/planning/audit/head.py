"""In which plane does the head run, and what had to be set for it?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Gap, HeadSetting, Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.heights import HeadPlane
from signrules.physics.planes import StatedGap
from signrules.physics.standing import Standing
from signrules.physics.timeline import Step
from signrules.planning.audit.claims import is_mm, is_near
from signrules.planning.audit.findings import Findings

DECIMALS = 6
"""Extras that are alike in so many decimals of a mm are one."""


class Head:
    """The head as gaps are set.

    Of the pass that took its plane last, `counts_as_setting` is whether setting its gap counts,
    `kept` whether a stated gap was left as it had been set for the pass before.
    """

    def __init__(self, job: Job, standing: Standing, findings: Findings) -> None:
        self.standing, self.findings = standing, findings
        # As a set of rounded numbers: asked for every gap step, and a dial may have hundreds of
        # places.
        self.settable = {round(extra, DECIMALS) for extra in job.printer.gap.extras()}
        self.plane: HeadPlane | None = None
        self.settings = 0
        self.counts_as_setting = self.kept = False
        self._stated: StatedGap | None = None

    def take_plane(
        self,
        pass_index: int,
        item: Pass,
        sheet: Media,
        setting: Step | None,
    ) -> HeadPlane | None:
        """The plane of a pass that is printed next; None where no gap has ever been set.

        `setting` is the gap step right before it, if there is one.
        """
        before, self.kept = self.plane, False
        if item.gap is not None:
            plane = self._plane_of_stated(pass_index, item, item.gap, sheet, setting)
        elif setting is not None:
            plane = self._plane_of_open(pass_index, item, sheet, setting)
        else:
            plane = before
        self._stated = None if item.gap is None else StatedGap(item.gap, sheet.id)
        if plane is None:
            return None
        # By identity first: most passes keep the very plane that stood.
        self.counts_as_setting = plane is not before and not _is_level(plane, before)
        self.settings += self.counts_as_setting
        self.plane = plane
        return plane

    def _plane_of_stated(
        self,
        pass_index: int,
        item: Pass,
        gap: HeadSetting,
        sheet: Media,
        setting: Step | None,
    ) -> HeadPlane | None:
        """A stated gap is set as stated, or kept from the pass just before."""
        # Set now, before the pass prints, whether or not the plan says that it was set.
        plane_anew = self.standing.head_plane(pass_index, gap)
        if setting is not None:
            self._is_set_as(item, gap, sheet, setting)
            return plane_anew
        if self.plane is None:
            return None
        # Without a gap step the plane that stands must be the stated one, or kept from the same
        # gap.
        if self.plane.is_as(plane_anew):
            return plane_anew
        self.kept = self._stated == StatedGap(gap, sheet.id)
        if not self.kept:
            self.findings.tell(f"{item.id}: the head plane is not that of its stated gap")
        return self.plane

    def _plane_of_open(
        self, pass_index: int, item: Pass, sheet: Media, setting: Step
    ) -> HeadPlane | None:
        """An open gap is one that the printer can set over the sheet or what stands on it."""
        extra, reference = setting.extra, setting.above
        if not is_mm(extra) or not isinstance(reference, str):
            return self.plane
        if round(extra, DECIMALS) not in self.settable or reference not in ("media", "build-up"):
            wish = f"{extra:g} mm over the {reference}"
            self.findings.tell(f"{item.id}: the printer cannot set {wish}")
        gap = Gap(Interval.exact(extra), reference)
        self._is_set_as(item, gap, sheet, setting)
        return self.standing.head_plane(pass_index, gap)

    def _is_set_as(self, item: Pass, gap: HeadSetting, sheet: Media, setting: Step) -> None:
        same_extra = is_near(setting.extra, gap.stated.nominal)
        if not same_extra or setting.above != gap.above or setting.media != sheet.id:
            self.findings.tell(f"the gap step before {item.id} is not that of its head plane")


def _is_level(plane: HeadPlane, other: HeadPlane | None) -> bool:
    return other is not None and abs(plane.height.nominal - other.height.nominal) <= GUARD_MM
