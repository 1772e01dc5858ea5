"""How far the drawn saw line is outside the net line: measured between the two drawn lines, not taken from the
allowance typed."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.curve import Curve
from ..geometry.outline import measure_outline_area_mm2
from ..geometry.outward import measure_aside_mm

if TYPE_CHECKING:
    from typing import Sequence

    from .drawing import SawLine, Station
    from .plank import Plank

__all__ = ["SawPlace", "find_saw_range", "measure_saw_line"]

_LOOP = ("upper", "aft", "lower", "fore")          # the order of Plank.outline
_SHARES = (("a quarter down", 0.25), ("middle", 0.5), ("three quarters down", 0.75))
_ALONG = (("a quarter along", 0.25), ("middle", 0.5), ("three quarters along", 0.75))


@dataclass(frozen=True)
class SawPlace:
    """One place where the saw line is measured.

    station : the frame's label, '' away from the frames. end : at a frame, 'upper' or 'lower', which end of its line.
    where : away from the frames, the place in words.
    edge : the edge of the net line that the place lies on. outside_mm : from there to the saw line, square to the net
    line; negative where the saw line runs inside.
    """

    station: str
    end: str
    where: str
    edge: str
    outside_mm: float


def measure_saw_line(plank: Plank, stations: Sequence[Station], saw: SawLine) -> tuple[SawPlace, ...]:
    """The saw line against the net line at both ends of each frame line, and at three places of each end of the plank;
    where there are no frames, of each long edge too.

    Parameters
    ----------
    plank : Plank
        As it is struck: with a board, its drawn face.
    stations : sequence of Station
        Their lines on that plank.
    saw : SawLine

    Returns
    -------
    tuple of SawPlace
        A place is left out where the line square to the net line does not meet the saw line; this cannot happen with a
        closed line round the plank.
    """
    loop = dict(zip(_LOOP, plank.outline()))
    left = 1.0 if measure_outline_area_mm2(list(loop.values())) > 0 else -1.0
    cubics = np.concatenate([c.cubics for c in saw.curves])
    line, wanted = Curve(cubics), []           # (edge, place on it, what it is called)
    for station in stations:
        for end, edge, point in zip(("upper", "lower"), station.ends, station.line):
            wanted.append((edge, float(loop[edge].find_nearest(point)[0]), {"station": station.label, "end": end}))
    for edge in ("fore", "aft") if len(stations) else ("upper", "lower", "fore", "aft"):
        curve = loop[edge]
        # in the outline these run from their far end
        back = edge in ("lower", "fore")
        for words, share in _SHARES if edge in ("fore", "aft") else _ALONG:
            at = curve.find_places([curve.measure_length_mm() * (1 - share if back else share)])[0]
            wanted.append((edge, float(at), {"where": words}))
    outside = np.empty(len(wanted))
    for edge in {one[0] for one in wanted}:
        mine = [k for k, one in enumerate(wanted) if one[0] == edge]
        outside[mine] = left * measure_aside_mm(loop[edge], line, [wanted[k][1] for k in mine])[0]
    return tuple(SawPlace(**{"station": "", "end": "", "where": "", **names}, edge=edge, outside_mm=value)
                 for (edge, _, names), value in zip(wanted, outside.tolist()) if np.isfinite(value))


def find_saw_range(places: Sequence[SawPlace]) -> dict[str, tuple[float, float]]:
    """Least and greatest of the distances measured on each edge, mm: {edge: (least, most)}, long edges first."""
    found = {}
    for edge in ("upper", "lower", "fore", "aft"):
        values = [p.outside_mm for p in places if p.edge == edge]
        if values:
            found[edge] = (min(values), max(values))
    return found
