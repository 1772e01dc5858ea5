"""Layout of the butt map: scale from the side to the page, and the new planks of the side."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PlankError, SettingError
from ..model.joints_and_fastenings import JointRecord
from .frames import number_strakes

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Station
    from ..model.joints_and_fastenings import Joint, SideFrames
    from ..model.plank import Plank

__all__ = ["MARGIN_MM", "ROW_MM", "MapChart", "NewPlank", "find_new_planks"]

MARGIN_MM = 10.0
MOST_STRAKES, MOST_FRAMES = 40, 120
ROW_MM = 3.6                      # row height in the list of verdicts
_LEFT, _TOP = 24.0, 34.0          # margins for strake names and for the title
_RATIOS = (1, 2, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 75, 80, 100, 125, 150, 200, 250, 300, 400, 500)


@dataclass(frozen=True)
class NewPlank:
    """A new plank of the side, from the drawing: its strake, the strake's number from the garboard, and where it begins
    and ends along the baseline of the plank that the map is made for. own : whether it is that plank."""

    strake: str
    number: int
    from_mm: float
    to_mm: float
    own: bool = False


def find_new_planks(plank: Plank, frames: SideFrames, joints: Sequence[Joint],
                    others: Sequence[tuple[Plank, Sequence[Station]]]) -> tuple[tuple[NewPlank, ...], tuple[Joint, ...],
                                                                                tuple[str, ...]]:
    """The planks of the side by their own frames, laid along this plank's baseline.

    Returns
    -------
    planks : tuple of NewPlank
        This one first. Each is placed by its foremost and its aftermost frame; what reaches beyond them keeps its own
        length.
    joints : tuple of Joint
        With strake numbers, where only the names of the other planks made it possible to number them.
    lost : tuple of str
        Strakes of planks that cannot be placed: they share no frame with the side, or their strake has no number.
    """
    own = next((j.number for j in joints if j.ours), 0)
    numbers = {j.strake.lower(): j.number for j in joints if j.number} if own else {}
    here = [(other, stations) for other, stations in others if other.side == plank.side]
    unknown = [other.strake.strip() for other, _ in here if other.strake.strip().lower() not in numbers]
    try:
        counted = number_strakes([JointRecord(plank.side, name) for name in unknown], plank.strake) if unknown else {}
    except PlankError:
        counted = {}
    # where a table numbers the strakes differently from their names, the table wins
    if own and counted.get(plank.strake.strip().lower(), own) != own:
        counted = {}
    if not own and counted:
        own = counted[plank.strake.strip().lower()]
        joints = [replace(j, number=own) if j.ours else j for j in joints]
    numbers = {**counted, **numbers}
    places = dict(zip(frames.labels, map(float, frames.distances_mm)))
    found, lost = [NewPlank(plank.strake, own, 0.0, plank.measure_length_mm(), own=True)], []
    for other, stations in here:
        name = other.strake.strip()
        along = sorted((s.distance_mm, places[s.label.strip()]) for s in stations if s.label.strip() in places)
        if not along or name.lower() not in numbers:
            lost.append(name or "without a name")
            continue
        one = NewPlank(name, numbers[name.lower()], along[0][1] - along[0][0],
                       along[-1][1] + other.measure_length_mm() - along[-1][0])
        # a plank and its copy with the other face up are drawn once
        if all((one.strake, round(one.from_mm), round(one.to_mm)) != (p.strake, round(p.from_mm), round(p.to_mm))
               for p in found):
            found.append(one)
    return tuple(found), tuple(joints), tuple(lost)


class MapChart:
    """Maps strake and distance along the baseline to the page: mm of the side divided by `ratio` are mm on the page."""

    def __init__(self, plank: Plank, frames: SideFrames, *, joints: Sequence[Joint], planks: Sequence[NewPlank],
                 page_mm: tuple[float, float], listed: int):
        width, height = page_mm
        self.plank, self.frames, self.page, self.planks = plank, frames, page_mm, planks
        self.number = planks[0].number
        numbers = [j.number for j in joints] + [p.number for p in planks]
        self.low, self.high = min(min(numbers), 1) if min(numbers) > 0 else min(numbers), max(numbers)
        if self.high - self.low + 1 > MOST_STRAKES:
            raise SettingError("The map would hold %d strakes; one page can be read with %d."
                               % (self.high - self.low + 1, MOST_STRAKES),
                               "Take strakes far from the plank out of the table.", "Map file")
        self._choose_frames(joints)
        self.names = {j.number: j.strake for j in joints}
        self.names.update({p.number: p.strake for p in planks if p.number not in self.names})
        list_mm = 31.0 + ROW_MM * min(max(listed, 1), 14)
        self.left, most = MARGIN_MM + _LEFT, width - 2 * MARGIN_MM - _LEFT - 4.0
        self.ratio = float(next((r for r in _RATIOS if (self.to_mm - self.from_mm) / r <= most), _RATIOS[-1]))
        self.right = self.left + (self.to_mm - self.from_mm) / self.ratio
        self.top, self.foot = MARGIN_MM + _TOP, height - MARGIN_MM - list_mm
        self.row = min((self.foot - self.top) / (self.high - self.low + 1), 14.0)
        self.foot = self.top + self.row * (self.high - self.low + 1)
        self.bow_right = plank.side == "starboard"

    def _choose_frames(self, joints):
        """The range of frames shown: the whole side where its frames are given; where they are only counted on, those
        that are needed."""
        places = self.frames.distances_mm
        last = len(places) - 1
        reach = [j.distance_mm for j in joints] + [v for p in self.planks for v in (p.from_mm, p.to_mm)]
        self.first = max(int(np.searchsorted(places, min(reach), side="right")) - 2, 0)
        self.last = min(int(np.searchsorted(places, max(reach))) + 1, last)
        if self.frames.datum_mm is not None and last <= MOST_FRAMES:
            self.first, self.last = 0, last
        if self.last - self.first > MOST_FRAMES:
            raise SettingError("The map would hold %d frames; one page can be read with %d." % (
                self.last - self.first, MOST_FRAMES), "Take joints far from the plank out of the table.", "Map file")
        self.from_mm = float(min(places[self.first], *reach))
        self.to_mm = float(max(places[self.last], *reach))

    def x(self, distance_mm: float) -> float:
        """Where a distance along the baseline lies on the page."""
        away = (distance_mm - self.from_mm) / self.ratio
        return self.right - away if self.bow_right else self.left + away

    def y(self, number: int) -> float:
        """Middle of a strake's row."""
        return self.foot - (number - self.low + 0.5) * self.row
