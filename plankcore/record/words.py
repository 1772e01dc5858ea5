"""What the record says in words: how to strike the plank, how its figures are read, what they hold, and what they are
not.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..model.saw import find_saw_range
from ..units import format_outside_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.plank import Plank
    from ..model.record import OffsetTable
    from ..model.saw import SawPlace

__all__ = ["CAUTIONS", "list_inclusions", "list_steps", "write_key"]

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
    """Along what stretch neither edge has the baseline between them, in the words of its rows, or ''."""
    out = [r for r in table.rows if r.upper and r.lower and (r.lower.value_mm > 0 or r.upper.value_mm < 0)]
    if not out:
        return ""
    return "From about %s to %s%s along" % (out[0].along.words, out[-1].along.words,
                                            " mm" if table.figures == "mm" else "")


def write_key(tables: Sequence[OffsetTable]) -> tuple[str, ...]:
    """How the figures are read and rounded, one line to a table and one for eighths."""
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
    """What is in the figures and what is not; places are the SawPlaces of the saw line, none where there is none."""
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
