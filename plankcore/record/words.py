"""Every sentence of the record: the plank's names, how to strike it, how to read its figures, what they include and
what they do not, and the doubts."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import ALLOWANCE, JOINTS, TRUE_UP
from ..model.drawing import list_words
from ..model.plank import EDGE_NAMES
from ..model.record import Heading
from ..model.saw import find_saw_range
from ..trade.media import find_film_movement_mm, find_paper_movement_mm
from ..units import format_feet_inches_eighths, format_mm, format_outside_mm
from .doubts import is_doubt, settle_case

if TYPE_CHECKING:
    from typing import Iterator, Sequence

    from ..model.board import Board
    from ..model.drawing import Fact, SawLine
    from ..model.joints_and_fastenings import PlacedJoint
    from ..model.plank import Mark, Plank
    from ..model.record import OffsetTable, ToldLayer
    from ..model.saw import SawPlace
    from .build import RecordSettings

__all__ = [
    "CAUTIONS",
    "FILL_IN",
    "FOUND",
    "HUNG",
    "OLD_AND_NEW",
    "PHOTOGRAPHS",
    "PROOFS",
    "SIGNATURES",
    "Measure",
    "bracket",
    "count_doubts",
    "list_facts",
    "list_inclusions",
    "list_sections",
    "list_steps",
    "list_told",
    "name_plank",
    "name_saw_place",
    "tell_asked",
    "tell_media",
    "write_bevel",
    "write_key",
    "write_outside",
    "write_residual",
]

PROOFS = {"baseline": "Baseline, fore mark to aft mark", "over all": "Over all, along the baseline",
          "fore end": "Fore end, corner to corner", "aft end": "Aft end, corner to corner",
          "falling": "Diagonal, upper fore to lower aft", "rising": "Diagonal, lower fore to upper aft",
          "upper edge": "Upper edge, tape along the batten", "lower edge": "Lower edge, tape along the batten",
          "width": "Greatest width, square to the baseline",
          "breadth": "Breadth of board it lies in, along the baseline"}
CAUTIONS = (
    ("This record is not an approval. Whether, how far and how to repair, where butts and scarfs may stand and how "
    "the plank is fastened are for the surveyor, the class society "
    "or the flag authority; local rules come first. Verdicts printed here are checks against the rule named beside "
    "them and nothing more."),
    ("Prove the struck plank by the lengths given here before cutting. Check hand and face against the boat. Dry fit "
    "before fastening."),
    ("Sawing, planing, sanding: guards on, dust drawn off; old paint may hold lead. Steam burns. A bent plank is a "
    "spring: wedge and clamp it with a second person."),
)

# blanks filled in by hand on the boat: headings, and names of columns and rows
FILL_IN = "To be filled in by hand, on the boat. Filled in or not, this is not an approval."
FOUND = ("What was found", ("Extent of the repair set by", "What had failed, and why",
                            "Frames and neighbours, as found"))
OLD_AND_NEW = ("Old against new", ("", "Old, as found", "New, as drawn", "New, as hung"), {
    "species": "Species", "cut": "Cut (flat or quarter sawn)", "heart": "Heart side, in or out",
    "moisture": "Moisture when hung", "thickness": "Thickness", "fastening": "Fastening, kind and size",
    "metal": "Metal of the fastenings", "joints": "Joints and butt blocks", "bedding": "Bedding, seam and caulking"})
HUNG = ("Hung against drawn", ("Measure", "Drawn", "Hung", "Difference"))
PHOTOGRAPHS = ("Photographs", ("", "Numbers, and where they are kept"), ("Before", "Opened up",
                                                                        "Fitted and fastened"))
SIGNATURES = ("Signatures", ("", "Name", "Date", "Signature"), {
    "measured": "Measured by", "hung": "Hung by", "surveyor": "Seen by the surveyor"})


def list_told(plank: Plank) -> tuple[str, ...]:
    """Shapes of edges that the user gave, so that they are not derived from marks or a trace."""
    shapes = ["%s edge: %s, as it was said." % (name.capitalize(), "straight" if edge.told == "straight"
                                               else "after the line '%s'" % edge.told)
              for name, edge in plank.edges.items() if edge.told]
    return tuple(shapes + ["%s edge: a knuckle%s, where it turns by %.1f degrees. Lay no batten across it." % (
        name.capitalize(), " at frame %s" % station if station else "", turn)
        for name, station, turn in plank.find_knuckles()])


def list_steps(plank: Plank, tables: Sequence[OffsetTable], length: str) -> tuple[str, ...]:
    """How to strike the plank from the figures, step by step; length is that of the baseline, in words."""
    table = tables[0]
    outside = _find_outside(table)
    leaning = any(r.kind == "station" and (r.upper is None or r.lower is None) for r in table.rows)
    apart = any(not r.batten for t in tables for r in t.rows)
    half = " or ".join("%s" % ("%.2f mm" % t.half_mm if t.figures == "mm" else "half of %s" % t.rounding)
                       for t in tables)
    steps = [
        "Strike a straight baseline (chalk line, or a stretched wire) and on it the fore mark and the aft mark, %s "
        "apart. They are the middles of the two ends." % length
        + (" %s the baseline lies outside the plank: strike it on a board wide enough to hold it, or stretch a wire."
           % outside if outside else ""),
        "The board lies with its %s face up, forward to the %s; the figures are of the %s face. 'Up' is towards the "
        "upper edge, 'down' towards the lower."
        % (plank.seen_from, plank.forward, plank.face),
        "For each row lay off 'Along' by one tape from the fore mark, aft ('forward' where it says so); square off "
        "the baseline there; prick off both edges, up or down from the baseline."
        + (" Where a frame does not stand square to the baseline it has a row for each edge: the line through its "
           "two points is the frame; one with a single row meets an end of the plank." if leaning else ""),
        "Spring a limber batten of even section through all the points of one edge, held at the points only, and let "
        "it run on past both corners without bending it there."
        + (" Points in brackets only place a frame: do not hold the batten to them." if apart else "")
        + " Every point is true to %s; where the batten wants to lie as much as that off a point to be fair, let it."
        % half,
        ("Join the corners of each end by a straight line. Where the end is bowed, lay off its points along that line "
        "from the upper corner and square to it."),
        "Prove it: measure the proof lengths, the diagonals above all.",
    ]
    return tuple(steps)


def _find_outside(table):
    """Along which stretch both edges lie on the same side of the baseline, named by rows of the table; '' where they
    never do."""
    out = [r for r in table.rows if r.upper and r.lower and (r.lower.value_mm > 0 or r.upper.value_mm < 0)]
    if not out:
        return ""
    return "From about %s to %s%s along" % (out[0].along.words, out[-1].along.words,
                                            " mm" if table.figures == "mm" else "")


def write_key(tables: Sequence[OffsetTable]) -> tuple[str, ...]:
    """How the figures are read and rounded: a line for each table, and one for eighths."""
    lines = []
    for table in tables:
        fine = ("" if table.fine_rounding == table.rounding else ", corners and ends to the nearest %s"
                % table.fine_rounding)
        reached = ("A batten through these figures, with free ends or running on evenly, comes within %.1f mm of the "
                   "edges everywhere (worked out from the figures as printed)."
                   % max(round(table.reached_mm + 0.049, 1), 0.1))
        lines.append("Figures in %s: rounded to the nearest %s%s. %s"
                     % ("mm" if table.figures == "mm" else "feet-inches-eighths", table.rounding, fine, reached))
        if table.figures == "inches":
            lines.append("Feet-inches-eighths: 1-3-4 is 1 foot 3 inches and 4 eighths. Behind the eighths + adds "
                         "1/16 in, +- adds 1/32 in, ++ adds 3/32 in. "
                         "There is no minus: the words say which side. 1 in is 25.4 mm exactly.")
    if len(tables) > 1:
        lines.append("Each table is whole in itself: its rows between frames stand where its own figures round "
                     "kindly. Do not take points from both.")
    return tuple(lines)


def list_inclusions(plank: Plank, places: Sequence[SawPlace], board: Board | None) -> tuple[str, ...]:
    """What the figures include and what they do not; places : SawPlaces of the saw line, empty where there is none."""
    counted = tuple(board.includes) if board is not None else ()
    inside = "inside" if plank.face == "inboard" else "outside"
    found = ["The figures are the net line of the %s face (%s of the planking), as it lies %s. No allowance is in "
             "them." % (
        plank.face, inside, "on the flat board" if board is not None else "in the drawing")]
    if board is not None:
        found.append("Counted in them: %s."
                     % (", ".join(w for w in ("bending along", "roundness across")
                                  if {"bending along": "bend", "roundness across": "hollow"}[w] in counted)
                        or "neither bending nor roundness"))
        found.append("Counted in the width of the other face: %s." % (", ".join(counted) or "nothing"))
    if places:
        added = ", ".join("%s %s" % (n, format_outside_mm(*ends)) for n, ends in find_saw_range(places).items())
        found.append("The saw line in the drawing stands outside this line by: %s. Saw to that, or leave wood as the "
                     "yard does." % added)
        found.append("That is measured from the saw line as it is drawn, square to the net line, at the places "
                     "listed below.%s"
                     % (" Where it is more than the allowance, the other face reaches farther out there, and the "
                        "rest is planed off to the bevel." if board is not None else ""))
    missing = [w for w, k in (("bevel", "bevel"), ("hollow", "hollow"), ("seam", "seam"), ("bending", "bend"))
               if k not in counted]
    found.append("Not in the figures: %s." % ", ".join(["saw and plane", "fitting at the ends", *missing, "swelling"]))
    return tuple(found)


def tell_asked(saw: SawLine) -> str:
    """The allowance as typed, with the distances measured on the drawing."""
    asked = ", ".join("%s %s" % (name, format_mm(saw.added_mm[name])) for name in ("upper", "lower", "fore", "aft"))
    return "Allowance asked%s: %s." % (", room for swelling taken off first" if "swelling" in saw.includes
                                       else ", outside both faces", asked)


def tell_media(length_mm: float) -> str:
    """How much a paper sheet of this plank's length may change with the weather."""
    least, most = find_paper_movement_mm(length_mm)
    return ("Where the plank is cut from a sheet: measure its bars, along and across, before cutting. Over this length "
            "plain paper may move %.1f to %.1f mm with the weather, polyester film %.1f mm for 10 degrees C; film and "
            "vinyl stretch." % (least, most, find_film_movement_mm(length_mm, degrees=10)))


def name_plank(plank: Plank) -> str:
    """The heading of the record."""
    return ", ".join(p for p in (plank.name or "Unnamed boat", "strake %s" % plank.strake if plank.strake else "",
                                 plank.side) if p)


def name_saw_place(place: SawPlace) -> str:
    """A name for a place away from the frames where the saw line is measured."""
    return "%s %s, %s" % (place.edge, "end" if place.edge in ("fore", "aft") else "edge", place.where)


class Measure:
    """Writes a length in the kinds of figures that are asked for."""

    def __init__(self, kinds: Sequence[str], denominator: int):
        self.kinds, self.denominator = kinds, denominator

    def write(self, value_mm: float, between: str = " = ") -> str:
        """'118.0 mm', '0-4-5', or both: '118.0 mm = 0-4-5'."""
        words = {"mm": "%.1f mm" % value_mm,
                 "inches": format_feet_inches_eighths(value_mm, denominator=self.denominator)}
        return between.join(words[k] for k in self.kinds)


def list_facts(plank: Plank, board: Board | None, saw: SawLine | None, measure: Measure,
               settings: RecordSettings) -> tuple[tuple[str, str], ...]:
    """What the record begins with: (name, text), '' to be filled in by hand."""
    thickness = board.thickness_mm if board is not None else plank.thickness_mm
    facts = [("Boat", plank.name), ("Strake and side", " ".join(p for p in (plank.strake, plank.side) if p)),
             ("Face of the figures",
              "%s face (%s of the planking)" % (plank.face, "inside" if plank.face == "inboard" else "outside")),
             ("Seen from", "%s: the board lies with its %s face up, not mirrored, FWD to the %s"
              % (plank.seen_from, plank.seen_from, plank.forward)),
             ("Thickness, finished", measure.write(thickness) if thickness else ""),
             ("Moisture of the wood", "%g %%" % settings.moisture if settings.moisture is not None else ""),
             *([("This plank lives",
                 saw.lives
                 + ("" if saw.afloat_percent is None else "; swelling told to %g %% afloat" % saw.afloat_percent))]
               if saw is not None and (saw.lives != "not said" or saw.afloat_percent is not None) else []),
             ("Measured by", settings.measured_by), ("Date", settings.day),
             ("Drawing", settings.drawing_name + (", fairing %s" % plank.key if plank.key else "")),
             ("This record", settings.file_name)]
    return tuple(facts + ([("Remarks", settings.remarks)] if settings.remarks else []))


def count_doubts(doubts: Sequence[str]) -> str:
    """How much is in doubt, for the first page."""
    return ("In doubt: %d thing%s, told behind under 'In doubt'. Read %s before cutting." % (
        len(doubts), "" if len(doubts) == 1 else "s", "it" if len(doubts) == 1 else "them") if doubts
            else "In doubt: nothing was found. What was not worked out is told behind.")


def write_outside(value_mm: float, measure: Measure, between: str) -> str:
    """'3.0 mm', or 'inside 0.4 mm'."""
    words = measure.write(abs(value_mm), between)
    return "inside " + words if value_mm < 0 and words != measure.write(0.0, between) else words


def write_bevel(bevel_deg: float, source: str) -> str:
    """'+3.0' where the outside face is wider, '-3.0' where it is narrower, in degrees; with 'radial' where no bevel was
    given and the edge is square to the frame's curve."""
    words = "%+.1f" % bevel_deg if abs(bevel_deg) >= 0.05 else "0.0" if source == "radial" else "square"
    return words + " radial" if source == "radial" else words


def bracket(word: str, measured: bool) -> str:
    """In brackets if it was not measured at the frame itself."""
    return word if measured else "(%s)" % word


def write_residual(plank: Plank, mark: Mark) -> str:
    """Distance of a mark from the fair edge, and how it was treated if it is doubtful."""
    off = plank.measure_outside_mm(mark)
    words = "%+.1f" % off if abs(off) >= 0.05 else "0.0"
    return words if mark.verdict == "used" else "%s, %s" % (words, mark.verdict.replace("-", " "))


def list_sections(plank: Plank, joints: Sequence[tuple[PlacedJoint, float]], *, layers: Sequence[ToldLayer],
                  asked: Sequence[str], scans: Sequence[Fact], names: Sequence[str],
                  measure: Measure) -> Iterator[Heading]:
    """Each action's facts without its doubts, then the fairing, then the scans.

    asked : sentences on the saw line that precede its own facts. names : see settle_case.
    """
    for layer in layers:
        if layer.facts is None or not layer.heading:
            continue
        doubts = sum(is_doubt(fact, layer) for fact in layer.facts)
        rows = [settle_case(f.words, names) for f in layer.facts if f.words and not is_doubt(f, layer)]
        rows = [*(asked if layer.heading == ALLOWANCE.heading else ()), *rows]
        rows += ["In doubt: %d more, told under that heading." % doubts] * bool(doubts)
        if layer.heading == JOINTS.heading and joints:
            cells = tuple((j.label, j.kind, j.bay, measure.write(along), measure.write(j.length_mm) if j.length_mm
                           else "", "%g to 1" % j.slope if j.slope else "") for j, along in joints)
            yield Heading(layer.heading, tuple(rows),
                          ("Joint", "Kind", "Bay", "Middle, along from the fore mark", "Length", "Slope"), cells)
        else:
            yield Heading(layer.heading, tuple(rows) or ("Nothing to say.",))
    edges = tuple((n.capitalize(),
                   *(("%.2f" % v if e.rms_mm or e.band_mm else "\u2013") for v in (e.rms_mm, e.worst_mm, e.band_mm)),
                   "straight" if e.straight else "%.1f" % e.degrees_of_freedom)
                  for n, e in ((n, plank.edges[n]) for n in EDGE_NAMES))
    yield Heading("Fairing", (("How far the trace or the marks lie off the fair edges, mm. Band: standard error of "
                              "the edge itself, at its largest."), *list_told(plank), *_list_wander(plank)),
                  ("Edge", "rms", "Worst", "Band", "Degrees of freedom"), edges)
    yield Heading("True scale", tuple(settle_case(row, names) for row in list_words(scans)) or (
        "Nothing in the drawing says how the scan's scale was found (%s has not been run). Prove a known length before "
        "cutting." % TRUE_UP.title,))
    missing = tuple("%s: %s has not been run." % (one.heading, one.action) for one in layers if one.facts is None)
    if missing:
        yield Heading("Not worked out", missing)


def _list_wander(plank: Plank) -> tuple[str, ...]:
    """How the pen wanders about the fair edges; edges with the same wander share a sentence."""
    told: dict[tuple[str, str], list[str]] = {}
    for name in EDGE_NAMES:
        edge = plank.edges[name]
        if edge.wander_mm:
            told.setdefault(("%.2f" % edge.wander_mm, "%.0f" % edge.wander_length_mm), []).append(name)
    return tuple("Trace of %s: it wanders %s mm off a fair line (standard deviation); places within some %s mm of each "
                 "other are off together, and the band counts that." % (", ".join(names), *found)
                 for found, names in told.items())
