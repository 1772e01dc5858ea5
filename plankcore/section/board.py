"""Hollow and bevels: from the readings at the frames to the board, with both its faces, the section at every station,
and the stock that it needs."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR, STATIONS
from ..errors import PatternError, SettingError
from ..geometry import arrays
from ..geometry.bezier import flatten_cubics
from ..model.board import Board, Seam, Section
from ..model.plank import Finding
from ..model.typed import refuse_outside, refuse_unknown
from ..trade.lumber_measure import SYSTEMS, find_stock_size
from ..trade.seams import RULES, find_gap_mm
from ..trade.wood import find_species
from .drawing import draw_board
from .faces import PlankShape, check_shape, find_turning, lay_axes, lay_faces, report_bend
from .facts import list_facts
from .fair_readings import fair_readings
from .reading_line import TREATMENTS
from .readings import find_crossings, read_frames
from .shapes import EDGES, SectionShape, draw_profile, find_fault, find_finished_mm
from .words import note_missed, tell_thin_stock

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..model.drawing import Station
    from ..model.plank import Plank

__all__ = ["READ", "RULES", "SHARES", "SYSTEMS", "TREATMENTS", "WIDTHS", "BoardSettings", "draw_board", "make_board"]

WIDTHS = ("girth", "chord")
READ = ("square", "frame")
SHARES = ("both", "upper", "lower")
LEAST_SHORT_MM = 0.05     # smaller differences of thickness are ignored: nobody planes to that
MOST_TURN_DEG, MOST_END_DEG = 180.0, 75.0


@dataclass(frozen=True)
class BoardSettings:
    """How the readings were taken, and what the board is to allow for.

    pattern_mm : thickness of the pattern. widths : 'girth' where it was bent round the frames, 'chord' where it lay
    straight across.
    read : bevels and angles 'square' to the seam or in the plane of the 'frame'. seam_in_bevels : whether the bevels
    typed already include the seam.
    turn_deg : total angle of bend between the ends, spread evenly; 0 uses the bends in the table. honest_hollow_mm,
    honest_bevel_deg, shortest_wave_mm : for the fairing along the plank. doubtful : one of TREATMENTS, for hollows and
    bevels that contradict the other frames.
    planing_mm : to be taken off the stock's thickness. stock_mm : thickness of the stock at hand, 0 where none is
    given. sizes : one of SYSTEMS.
    """

    pattern_mm: float = 3.0
    widths: str = "girth"
    read: str = "square"
    seam_rule: str = "none"
    seam_own_mm: float = 0.0
    seam_share: str = "both"
    seam_in_bevels: bool = False
    turn_deg: float = 0.0
    fore_bevel_deg: float = 0.0
    aft_bevel_deg: float = 0.0
    honest_hollow_mm: float = 0.5
    honest_bevel_deg: float = 1.0
    shortest_wave_mm: float = 600.0
    planing_mm: float = 1.5
    stock_mm: float = 0.0
    sizes: str = "metric"
    species: str = ""
    doubtful: str = "keep"


def _check(plank, stations, settings):
    if not plank.thickness_mm > 0:
        raise PatternError("The plank has no thickness, and without it there is no section.",
                           "Run %s again and give the finished thickness." % FAIR.title)
    if not stations:
        raise PatternError("The plank has no stations.",
                           "Run %s first, with the labels that the table has." % STATIONS.title)
    for value, allowed, field in ((settings.widths, WIDTHS, "Widths"), (settings.read, READ, "Bevels read"),
                                  (settings.seam_share, SHARES, "Seam taken from"),
                                  (settings.doubtful, TREATMENTS, "Doubtful readings")):
        refuse_unknown(value, allowed, problem="'%s' cannot be used.", field=field)
    for value, most, field in ((settings.turn_deg, MOST_TURN_DEG, "Total turn"),
                               (settings.fore_bevel_deg, MOST_END_DEG, "Bevel of the fore end"),
                               (settings.aft_bevel_deg, MOST_END_DEG, "Bevel of the aft end")):
        refuse_outside(value, -most, most, problem="%g degrees cannot be used.",
                       remedy="Give -%g to %g degrees." % (most, most), field=field)
    for value, most, field in ((settings.pattern_mm, 50.0, "Pattern thickness"),
                               (settings.planing_mm, 25.0, "Planing"), (settings.stock_mm, 300.0, "Stock thickness")):
        refuse_outside(value, 0, most, problem="%g mm cannot be used.", remedy="Give 0 to %g mm." % most, field=field)
    refuse_outside(settings.shortest_wave_mm, 20, 20000, problem="A shortest wave of %g mm cannot be used.",
                   remedy="Give 20 mm to 20 m; 600 mm suits most planks.", field="Shortest wave")


def make_board(plank: Plank, stations: Sequence[Station], rows: Sequence[Mapping[str, Any]], *,
               settings: BoardSettings = BoardSettings()) -> Board:
    """The board for a plank.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    rows : sequence of dict
        Rows of the frames' table, as `readings.read_frames` takes them; without any the plank is flat with square
        edges.
    settings : BoardSettings

    Returns
    -------
    Board

    Raises
    ------
    SettingError, PatternError
        The message names the row or the frame.
    """
    _check(plank, stations, settings)
    thickness = float(plank.thickness_mm)
    outboard, wrapped = plank.face == "outboard", settings.widths == "girth"
    if settings.species.strip():
        find_species(settings.species)
    seam, seams_rad = _find_seam(thickness, settings)
    crossings = find_crossings(plank, stations)
    readings, findings = read_frames(rows, crossings, thickness_mm=thickness, face=plank.face,
                                     pattern_mm=settings.pattern_mm if wrapped else None,
                                     in_frame_plane=settings.read == "frame")
    fair = fair_readings(readings, crossings, settings=settings, seam_rad=seams_rad)
    if settings.turn_deg and fair.bend is not None:
        raise SettingError("The bend is given twice: in the table, and as a total turn of %g degrees."
                           % settings.turn_deg, "Give one.", "Total turn")
    axes = lay_axes(plank)
    turning = find_turning(fair, axes, settings, beyond_mm=(thickness if outboard else 0.0) + settings.pattern_mm / 2)
    shape = PlankShape(axes, fair, thickness_mm=thickness, outboard=outboard, pattern_mm=settings.pattern_mm,
                       wrapped=wrapped, turning=turning, seams_rad=seams_rad)
    by_frame = {r.station: r for r in readings}
    shapes = [_shape_station(shape, crossing, by_frame.get(crossing.label)) for crossing in crossings]
    check_shape(shape)
    drawn, other, carry = lay_faces(plank, shape, end_bevels_rad={"fore": np.radians(settings.fore_bevel_deg),
                                                                  "aft": np.radians(settings.aft_bevel_deg)})
    # bending makes a frame line that is not square to the run a little longer on the board: its section is computed for
    # the line as struck
    shapes = [_shape_station(shape, crossing, by_frame.get(crossing.label),
                             chord_mm=float(np.hypot(*np.diff(carry(crossing.line), axis=0)[0])))
              for crossing in crossings]
    needed = max([float(s.stock_mm) for s in shapes] + [float(shape.shape(shape.list_places()).stock_mm.max())])
    stock_name, stock_size = find_stock_size(needed + settings.planing_mm, system=settings.sizes)
    bend = report_bend(shape, fair, settings)
    sections, thin = _make_sections(crossings, shapes, by_frame=by_frame, fair=fair, carry=carry, bend=bend,
                                    settings=settings)
    findings = [*findings, *fair.findings, *thin]
    includes = [word
                for word, yes in (("bevel", any(abs(b) > 0.005 for s in sections for b in s.bevels_deg.values())),
                                  ("hollow", any(s.curvature_per_mm for s in sections)),
                                       ("seam", seam.gap_mm > 0), ("bend", abs(bend.added_mm) > 0)) if yes]
    board = Board(drawn_face=drawn, other_face=other, sections=sections, seam=seam, thickness_mm=thickness,
                  stock_mm=needed + settings.planing_mm, stock_name=stock_name, length_added_mm=bend.added_mm,
                  turn_deg=bend.turn_deg, includes=tuple(includes), findings=tuple(findings), face=plank.face,
                  given_stock_mm=float(settings.stock_mm))
    return replace(board, facts=list_facts(board, bend=bend, fair=fair, settings=settings, size_mm=stock_size,
                                           crossings=crossings))


def _find_seam(thickness, settings):
    """The Seam, and by how much it reduces the bevel of each edge, rad."""
    gap, words = find_gap_mm(settings.seam_rule, thickness, own_mm=settings.seam_own_mm)
    if settings.seam_share == "both":
        each = float(np.arctan(gap / (2 * thickness)))
        return Seam(settings.seam_rule, words, gap, "both"), dict.fromkeys(EDGES, each)
    alone = float(np.arctan(gap / thickness))
    return Seam(settings.seam_rule, words, gap,
                settings.seam_share), {e: alone if e == settings.seam_share else 0.0 for e in EDGES}


def _pick(shape, i):
    """The section at one index of a SectionShape of many."""
    def take(value):
        return {k: v[i] for k, v in value.items()} if isinstance(value, dict) else value[i]
    return SectionShape(**{name: take(value) for name, value in vars(shape).items()})


def _shape_station(shape, crossing, reading, *, chord_mm=None):
    """SectionShape at one station; refused, naming the frame, where no such section is possible."""
    many = shape.shape(np.array([crossing.distance_mm]), np.array([crossing.width_mm]), chord_mm=None
                       if chord_mm is None else np.array([chord_mm]), missed=tuple(crossing.find_missed()))
    fault = find_fault(many)
    if fault is not None:
        raise PatternError("Frame %s cannot be: %s." % (crossing.label, fault[1]),
                           "Read it again; bevels count from square, plus where the outside is wider.",
                           reading.row if reading is not None and reading.row else "frame %s" % crossing.label)
    return _pick(many, 0)


def _make_sections(crossings, shapes, *, by_frame, fair, carry, bend, settings):
    """Sections, with findings where the given stock leaves too little."""
    sections, short = [], []
    left = settings.stock_mm - settings.planing_mm
    for crossing, shape in zip(crossings, shapes):
        wanted = finished = float(shape.thickness_mm)
        if settings.stock_mm and float(shape.stock_mm) > left:
            finished = min(float(find_finished_mm(shape, left)), wanted) if left > 0 else 0.0
            if finished <= 0:
                raise PatternError("Stock of %.1f mm leaves no thickness at frame %s." % (
                    settings.stock_mm, crossing.label), "The section needs %.1f mm, and %.1f for planing." % (
                        shape.stock_mm, settings.planing_mm), tuple(map(float, crossing.line.mean(axis=0))))
            if finished < wanted - LEAST_SHORT_MM:
                short.append((finished, crossing, float(shape.stock_mm) + settings.planing_mm))
        reading = by_frame.get(crossing.label)
        x = crossing.distance_mm
        kinds = (("radius", fair.curvature), *fair.bevels.items(), ("bend", fair.bend), ("twist", fair.twist))
        cubics, _ = draw_profile(shape)
        sections.append(Section(
            station=crossing.label, line=carry(crossing.line), distance_mm=x,
            curvature_per_mm=float(shape.curvature_per_mm), inside_mm=float(shape.inside_mm),
            outside_mm=float(shape.outside_mm), hollow_mm=float(shape.hollow_mm),
            rounding_mm=float(shape.rounding_mm), stock_mm=float(shape.stock_mm), thickness_mm=finished,
            bevels_deg={e: float(np.degrees(shape.bevels_rad[e])) for e in EDGES},
            growths_mm={e: float(shape.growths_mm[e]) for e in EDGES},
            known={**{name: "taken" if line is None else line.tell(crossing.label, x) for name, line in kinds},
                   **crossing.find_missed()},
            profile=flatten_cubics(cubics, tolerance_mm=arrays.FLATTEN_MM)[:-1],
            note="; ".join(_list_notes(crossing, reading, fair, x)),
            strain=float(bend.find_strain(np.array([x]), crossing.width_mm)[0]) if bend.find_strain else None))
    return tuple(sections), [_find_thinnest(short, settings, wanted)] if short else []


def _list_notes(crossing, reading, fair, at_mm):
    """The notes beside a frame's section: its reading's own, the fairing's, and the edges that it does not meet."""
    own = [reading.note] if reading is not None and reading.note else []
    missed = [note_missed(edge, end) for edge, end in crossing.find_missed().items()]
    return own + fair.list_notes(crossing.label, at_mm) + missed


def _find_thinnest(short, settings, wanted):
    """One finding for all frames where the given stock is too thin, placed at the worst."""
    worst = min(short, key=lambda row: row[0])
    frames = [(crossing.label, finished) for finished, crossing, _ in short]
    return Finding(tell_thin_stock(settings.stock_mm, wanted, frames, max(row[2] for row in short)),
                   tuple(map(float, worst[1].line[1])), "thin-stock", number=worst[0],
                   unit="mm", limit=wanted, station=worst[1].label)
