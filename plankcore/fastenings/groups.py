"""Fastenings of a plank in groups (frames, butts, ends), kept clear of each other, and the stretches left bare."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..model.drawing import Station
from ..model.joints_and_fastenings import BareStretch, Fastening
from ..model.plank import Finding
from ..model.typed import refuse_outside, refuse_unknown
from ..trade.butt_rules import USUAL_FRAME_EDGE_MM, USUAL_SIDED_MM, list_bare_spans
from ..trade.fastening_patterns import (
    CLEAR_ACROSS_SHANKS,
    CLEAR_ALONG_SHANKS,
    PLUG_WALL_MM,
    find_width_rule,
    measure_edge_distance_mm,
)
from ..units import format_mm
from .places import Zone, find_clear_spans, measure_aft_mm, measure_clearance_mm, survey_plank
from .sizes import SizeSettings, choose_size
from .words import tell_frames

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Array, ArrayLike, Mask, Numbers, Point, Points
    from ..model.joints_and_fastenings import PlacedJoint
    from .places import Ground, Path

__all__ = [
    "ENDS",
    "FRAME_LIES",
    "SCARFS",
    "FasteningSettings",
    "Frame",
    "Layout",
    "Spacing",
    "choose_clear",
    "list_gaps",
    "refuse_settings",
]

_GRAIN_MM = 5.0           # spacing of the places where the run's direction is computed
_LOOK_MM = 0.5            # spacing of the places along a path that are tried
_SAFE_MM = 1e-6
_SHORT_BY = 1.0           # a gap wider than the even one by this many even gaps is reported


class Spacing:
    """The distances that two fastenings of one plank must keep.

    Two clash where their plugs (or shanks, without plugs) overlap, or where they are nearer than along_mm along the
    grain and also nearer than across_mm across it. The grain is taken to follow the run, at the middle between the two.
    """

    def __init__(self, ground, *, shank_mm, plug_mm):
        self.along_mm, self.across_mm = CLEAR_ALONG_SHANKS * shank_mm, CLEAR_ACROSS_SHANKS * shank_mm
        self.apart_mm = plug_mm + PLUG_WALL_MM if plug_mm else shank_mm
        self.points = np.zeros((0, 2))
        self._aft = -ground.forward
        self._down = np.array([-self._aft[1], self._aft[0]])
        charts = [np.stack([line @ self._aft, line @ self._down], axis=1)
                  for line in (ground.long_edges[name] for name in ("upper", "lower"))]
        self._along = np.arange(max(c[:, 0].min() for c in charts), min(c[:, 0].max() for c in charts) + _GRAIN_MM,
                                _GRAIN_MM)
        run = np.mean([np.interp(self._along, *c[np.argsort(c[:, 0], kind="stable")].T) for c in charts], axis=0)
        self._slope = np.gradient(run, self._along)

    def add(self, points: Points) -> None:
        """Add fastenings (n, 2) that are final: later ones keep clear of them."""
        self.points = np.concatenate([self.points, np.reshape(points, (-1, 2))])

    def find_clashes(self, points: Array, others: Array) -> Mask:
        """Which of points (..., n, 2) clash with which of others (..., m, 2): bool (..., n, m)."""
        points, others = np.asarray(points, float)[..., :, None, :], np.asarray(others, float)[..., None, :, :]
        way, middle = points - others, (points + others) / 2
        x, y = way @ self._aft, way @ self._down
        slope = np.interp(middle @ self._aft, self._along, self._slope)
        stretch = np.sqrt(1 + slope ** 2)
        along, across = np.abs(x + slope * y) / stretch, np.abs(y - slope * x) / stretch
        close = (along < self.along_mm - _SAFE_MM) & (across < self.across_mm - _SAFE_MM)
        return close | (np.hypot(x, y) < self.apart_mm - _SAFE_MM)

    def accept(self, rows: Array) -> Numbers:
        """Which of several rows (r, n, 2) clash neither with the final fastenings nor within themselves: bool (r,)."""
        rows = np.asarray(rows, float)
        count = rows.shape[1]
        own = self.find_clashes(rows, rows)[:, ~np.eye(count, dtype=bool)].any(axis=1) if count > 1 else np.zeros(
            len(rows), bool)
        reach = max(np.hypot(self.along_mm, self.across_mm), self.apart_mm)
        low, high = rows.reshape(-1, 2).min(axis=0) - reach, rows.reshape(-1, 2).max(axis=0) + reach
        near = self.points[((self.points >= low) & (self.points <= high)).all(axis=1)]
        return ~own & ~(self.find_clashes(rows, near).any(axis=(1, 2)) if len(near) else np.zeros(len(rows), bool))


def choose_clear(ground: Ground, paths: Sequence[Path], spacing: Any, *, count: int, needs_mm: Mapping[str, float],
                 zones: Sequence[Zone] = ()) -> list[tuple[Path, float]] | None:
    """Places for `count` fastenings on one or two paths, used alternately, clear of all final fastenings and as even as
    possible.

    First each is put as near to its even place as possible; if one then has no place, all are packed from the upper
    edge down.

    Returns
    -------
    list of (path, offset_mm)
        Offsets from the run, from the upper edge down; None where there is no room for all.
    """
    tries, spans_of = [], {}
    for number, path in enumerate(dict.fromkeys(paths)):
        spans_of[number] = find_clear_spans(ground, path, needs_mm=needs_mm, zones=zones)
        for low, high in spans_of[number]:
            along = np.linspace(low, high, max(int(np.ceil((high - low) / _LOOK_MM)), 1) + 1)
            tries.append((along - path.middle_mm, path.find(along), np.full(len(along), number)))
    if not tries:
        return None
    offsets, points, owner = (np.concatenate([t[k] for t in tries]) for k in range(3))
    if len(spacing.points):
        free = ~spacing.find_clashes(points, spacing.points).any(axis=1)
        offsets, points, owner = offsets[free], points[free], owner[free]
    if not len(offsets):
        return None
    kinds = list(dict.fromkeys(paths))
    ends = [(low - path.middle_mm, high - path.middle_mm) for number, path in enumerate(kinds)
            for low, high in spans_of[number]]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    aims = np.linspace(low, high, count) if count > 1 else np.array([(low + high) / 2])
    for fill in (False, True):
        found, open_ = [], np.ones(len(offsets), bool)
        for k in range(count):
            if not open_.any():
                break
            # of equally good places, the one on the path whose turn it is wins
            wish = (offsets if fill else np.abs(offsets - aims[k])) + 0.5 * _LOOK_MM * (owner != k % len(kinds))
            best = int(np.argmin(np.where(open_, wish, np.inf)))
            found.append((kinds[owner[best]], float(offsets[best])))
            open_ &= ~spacing.find_clashes(points, points[best:best + 1])[:, 0]
        if len(found) == count:
            return sorted(found, key=lambda f: f[1])
    return None


def list_gaps(along_mm: Sequence[float], *, first_mm: float, last_mm: float, width_mm: float,
              wanted: int) -> list[tuple[float, float]]:
    """Stretches of a line across the plank that lack the fastenings wanted there.

    Parameters
    ----------
    along_mm : sequence of float
        Places of the fastenings from the upper edge.
    first_mm, last_mm : float
        Where the first and the last could be, if only the plank's edges were in the way.
    width_mm : float
        Of the plank along that line.
    wanted : int

    Returns
    -------
    list of (from_mm, to_mm)
        Every gap over twice the even one; where there are fewer fastenings than wanted, at least the longest gap.
    """
    stops = [0.0, *sorted(along_mm), width_mm]
    gaps = list(zip(stops, stops[1:]))
    if not len(along_mm):
        return gaps
    even = (last_mm - first_mm) / max(wanted - 1, 1)
    limits = [(1 + _SHORT_BY) * even] * len(gaps)
    limits[0], limits[-1] = first_mm + _SHORT_BY * even, width_mm - last_mm + _SHORT_BY * even
    found = [gap for gap, limit in zip(gaps, limits) if gap[1] - gap[0] > limit + _LOOK_MM] if wanted > 1 else []
    if not found and len(along_mm) < wanted:
        found = [max(gaps, key=lambda gap: gap[1] - gap[0])]
    return found


ENDS = ("none", "hood", "butt")
FRAME_LIES = ("middle", "fore", "aft")
SCARFS = ("feather", "whole")


@dataclass(frozen=True)
class FasteningSettings:
    """What is asked for.

    rule : by plank width, of trade.fastening_patterns.RULES. own_count : counted on the boat at a frame; with the rule
    'own' this is what is laid out, with any other rule the least that it must give. butt_count : on each side of a butt
    and at a hood end; 0 goes by the rule. sided_mm : breadth of a frame along the plank. frame_lies : where it lies
    from the station mark. frame_edge_mm : distance to keep from its sides.
    edge_mm : distance to keep from the long edges, 0 goes by the plank's width. end_mm : from ends and butts. hood_mm :
    of the row at a hood end.
    stagger_mm : between the grain lines of one frame's row and the next one's.
    fore_end, aft_end : of ENDS. scarf : one of SCARFS, which part of a scarf is kept clear. block_mm : length of butt
    blocks; 0 goes by thickness, as far as the bay allows.
    neighbours : butts of the strakes next to this one, 'upper 9-10, lower 12-13'. thickness_mm : 0 takes the plank's
    own.
    """

    rule: str = "small"
    own_count: int = 0
    butt_count: int = 0
    sided_mm: float = USUAL_SIDED_MM
    frame_lies: str = "middle"
    frame_edge_mm: float = USUAL_FRAME_EDGE_MM
    edge_mm: float = 0.0
    end_mm: float = 50.8
    hood_mm: float = 30.0
    stagger_mm: float = 10.0
    fore_end: str = "none"
    aft_end: str = "none"
    scarf: str = "feather"
    block_mm: float = 0.0
    neighbours: str = ""
    thickness_mm: float = 0.0
    size: SizeSettings = field(default_factory=SizeSettings)


@dataclass(frozen=True, eq=False, repr=False)
class Frame:
    """A frame behind the plank: its Station, and how far ahead of the station's line its after and its fore side are.
    """

    station: Station
    aft_mm: float
    fore_mm: float


class Layout:
    """The fastenings laid out so far, and the findings."""

    def __init__(self, plank, stations, joints, settings, blocks=()):
        self.plank, self.settings, self.joints, self.blocks = plank, settings, joints, blocks
        self.ground = survey_plank(plank)
        self.thickness_mm = settings.thickness_mm or plank.thickness_mm
        self.size = choose_size(settings.size, self.thickness_mm)
        self.spacing = Spacing(self.ground, shank_mm=self.size.diameter_mm, plug_mm=self.size.plug_mm)
        self.frames = [Frame(s, *_find_sides(settings)) for s in stations]
        self.zones = [zone for joint in joints for zone in self.bar_joint(joint)]
        self.fastenings, self.findings, self.bare, self.words, self.counts, self.short, self._frames_said = (
            [], [], [], {}, {}, {}, {})
        self.apart_mm = []            # least distance between grain lines of each frame's row and the next one's

    def bar_joint(self, joint: PlacedJoint) -> list[Zone]:
        """Zones round a joint where no frame's fastenings may stand."""
        if joint.kind == "butt":
            return [Zone(joint.line, -self.settings.end_mm, self.settings.end_mm)]
        head = max(self.size.plug_mm, self.size.diameter_mm) / 2
        return [Zone(joint.line, *span)
                for span in list_bare_spans(joint.length_mm, head_mm=head, whole=self.settings.scarf == "whole")]

    def find_edge_mm(self, width_mm: float) -> float:
        """Distance to keep from the long edges where the plank has this width."""
        return self.settings.edge_mm or measure_edge_distance_mm(width_mm)

    def add(self, paths: Sequence[Path], offsets: ArrayLike, *, kind: str, station: str, through: int = 0) -> None:
        """Add fastenings, each on its own path at its offset from the run."""
        points = np.array([path.find(path.middle_mm + offset) for path, offset in zip(paths, offsets)]).reshape(-1, 2)
        self.spacing.add(points)
        clear = measure_clearance_mm(self.ground, points)
        butts = [np.abs(measure_aft_mm(self.ground, j.line, points)) for j in self.joints if j.kind == "butt"]
        ends = np.min([clear["fore"], clear["aft"], *butts], axis=0)
        edges = np.minimum(clear["upper"], clear["lower"])
        bolts = set(range(len(points))[len(points) // 2:][:through])
        for k, (path, offset) in enumerate(zip(paths, offsets)):
            self.fastenings.append(Fastening(tuple(map(float, points[k])), kind, station=station,
                                             along_mm=float(path.middle_mm + offset - path.upper_mm),
                                             edge_mm=float(edges[k]),
                                             end_mm=float(ends[k]), through=k in bolts))

    def tell_bare(self, path: Path, along_mm: Sequence[float], *, kind: str, station: str, wanted: int, edge_mm: float,
                  side: str = "") -> list[float]:
        """Record the bare stretches of a path with fastenings along_mm from the upper edge; returns their lengths in
        mm, longest first."""
        width = path.lower_mm - path.upper_mm
        free = find_clear_spans(self.ground, path, needs_mm={"upper": edge_mm, "lower": edge_mm})
        first, last = (free[0][0] - path.upper_mm, free[-1][1] - path.upper_mm) if free else (width / 2, width / 2)
        found = []
        for low, high in list_gaps(along_mm, first_mm=first, last_mm=last, width_mm=width, wanted=wanted):
            ends = tuple(tuple(map(float, p)) for p in path.find(path.upper_mm + np.array([low, high])))
            self.bare.append(BareStretch(kind, station, side=side, from_mm=float(low), to_mm=float(high),
                                         wanted=wanted, count=len(along_mm), ends_mm=ends))
            found.append(float(high - low))
        return sorted(found, reverse=True)

    def doubt(self, key: str, text: str, where: Point | None = None) -> None:
        """Add a finding."""
        self.findings.append(Finding(text, None if where is None else tuple(map(float, where)), key))

    def doubt_frame(self, station: Station, key: str, text: str, bare_mm: Sequence[float] = ()) -> None:
        """Add a finding on a frame; frames with the same finding share one, placed at the first of them. bare_mm :
        stretches left bare there."""
        self._frames_said.setdefault((key, text), []).append((station, bare_mm))

    def list_findings(self) -> tuple[Finding, ...]:
        """All findings, those on frames first."""
        said = []
        for (key, text), told in self._frames_said.items():
            stations, bare_mm = [station for station, _ in told], [v for _, lengths in told for v in lengths]
            # alternately at the upper and the lower edge, so that the words of neighbours do not overlap
            where = stations[0].line[len(said) % 2]
            said.append(Finding(tell_frames([s.label for s in stations], text, bare_mm), tuple(map(float, where)), key,
                                number=float(len(stations)), unit="frames", station=stations[0].label))
        return tuple(said + self.findings)


def refuse_settings(settings: FasteningSettings) -> None:
    """Refuse settings that cannot be laid out, before any work is done."""
    find_width_rule(settings.rule)
    for value, known, name in ((settings.frame_lies, FRAME_LIES, "Frame lies"), (settings.fore_end, ENDS, "Fore end"),
                               (settings.aft_end, ENDS, "Aft end"), (settings.scarf, SCARFS, "Scarfs")):
        refuse_unknown(value, known, field=name)
    if not settings.sided_mm > 2 * settings.frame_edge_mm >= 0:
        raise SettingError("A frame %s broad has no room for fastenings %s from its sides."
                           % (format_mm(settings.sided_mm), format_mm(settings.frame_edge_mm)),
                           "Measure the frame along the plank, or give a smaller distance from its sides.",
                           "Frame width")
    for name, length_mm in (("Edge distance", settings.edge_mm), ("End distance", settings.end_mm),
                        ("Hood end distance", settings.hood_mm), ("Stagger", settings.stagger_mm),
                        ("Block length", settings.block_mm)):
        refuse_outside(length_mm, 0, 1000, problem="%s cannot be used.", told=format_mm(length_mm),
                       remedy="Give 0 to 1000 mm.",
                       field=name)


def _find_sides(settings):
    """How far ahead of the station mark a frame's after and fore sides stand."""
    return {"middle": (-settings.sided_mm / 2, settings.sided_mm / 2), "fore": (0.0, settings.sided_mm),
            "aft": (-settings.sided_mm, 0.0)}[settings.frame_lies]
