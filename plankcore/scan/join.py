"""Join scans: pieces that are each at true size, brought together on the labelled points they share.

One piece is held fixed; every other is turned and shifted, never scaled. All pieces are solved together, with the
shared points' places as unknowns (a block adjustment), so that errors accumulate along a chain no more than necessary.
As a check, the scale that each piece would take if it were free is computed: it should be 1.

Where labels give the dots' places on one tape, these are observations too, and the tape is held instead of the first
piece (join_ways.py).
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..actions import TRUE_UP
from ..errors import PatternError, SelectionError
from ..geometry.map_fits import PointSet, fit_map, limit_chi_square
from ..geometry.plane_maps import PlaneMap, fit_similarity, judge_mirror
from ..model.plank import Finding
from ..model.scan import Misfit
from ..model.typed import refuse_outside
from . import words
from .facts import list_join_facts
from .join_ways import Block, find_tape

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.drawing import Fact
    from ..model.scan import ScanPiece

__all__ = ["JoinFit", "JoinSettings", "JoinedPiece", "join_pieces"]

# limit of a point's residual over its honest error, exceeded by a distance in the plane with a chance of 1 percent
_DOUBTFUL = 3.0
_FLAG = 2.0  # a farthest point whose error is this many times a point's is reported (common practice, no source)


@dataclass(frozen=True)
class JoinSettings:
    """honest_error_mm : how far off a shared point may honestly be in each piece. most_far_mm : largest error allowed
    at the farthest points of the artwork."""

    honest_error_mm: float = 0.3
    most_far_mm: float = 10.0

    def __post_init__(self):
        refuse_outside(self.honest_error_mm, 0, 100, above=True, problem="A shared point cannot be %g mm off.",
                       remedy="Give more than 0 and at most 100 mm; 0.3 mm is careful.",
                       field="How far off a point may honestly be")
        refuse_outside(self.most_far_mm, 0, math.inf, above=True,
                       problem="No error at all at the far ends cannot be had.",
                       remedy="Give a length, 5 mm for instance.", field="Largest error allowed at the far ends")


@dataclass(frozen=True, eq=False, repr=False)
class JoinedPiece:
    """One piece: its rigid map, page mm to page mm (the first piece has one too if the tape is held); number of points
    that it shares; the scale that it would take and that scale's error (None for a piece without neighbours); predicted
    error at its joint and at its farthest point, and where that point comes to lie."""

    label: str
    plane_map: PlaneMap
    shared: int
    scale: float | None
    scale_error: float | None
    joint_mm: float
    far_mm: float
    far_point: tuple[float, ...]


@dataclass(frozen=True, eq=False, repr=False)
class JoinFit:
    """All pieces in the order given. misfits : one for each shared point, between the two pieces where its places are
    farthest apart. sigma0_mm : standard error of one coordinate of a point in a piece, estimated from the residuals.
    freedom : number of spare observations. facts : all of it; their words are lettered beside the work."""

    pieces: tuple[JoinedPiece, ...]
    misfits: tuple[Misfit, ...]
    worst: Misfit
    sigma0_mm: float
    freedom: int
    explained: bool
    findings: tuple[Finding, ...]
    facts: tuple[Fact, ...] = ()

    def find_reach(self, pieces: Any) -> Any:
        """Far ends of all pieces as they lie once joined, (k, 2) mm."""
        return np.concatenate([one.plane_map.apply(piece.reach) for one, piece in zip(self.pieces, pieces)])


_UNTRUE = 0.005            # a piece whose scale is off by more than this was never trued up


def join_pieces(pieces: Sequence[ScanPiece], *, held: int = 0, settings: JoinSettings = JoinSettings()) -> JoinFit:
    """Fit all pieces to one another.

    Parameters
    ----------
    pieces : sequence of ScanPiece
    held : int
        The piece that stays where it is.
    settings : JoinSettings

    Returns
    -------
    JoinFit

    Raises
    ------
    SelectionError
        Fewer than two pieces, or a piece that shares fewer than two points with the others.
    PatternError
        A label twice in one piece, a mirrored piece, or larger errors at the farthest points than allowed.
    """
    if len(pieces) < 2:
        raise SelectionError("There is only one piece to join." if pieces else "There are no pieces to join.",
                             "Select two groups or layers or more, each with the labelled points it shares with "
                             "another.")
    tables = [_read_points(piece) for piece in pieces]
    for piece in pieces:
        _refuse_untrue(piece)
    counts = {}
    for table in tables:
        for name in table:
            counts[name] = counts.get(name, 0) + 1
    everything = tables
    shared = [n for n in counts if counts[n] > 1]
    tables = [{n: p for n, p in table.items() if n in shared} for table in tables]
    for piece, table in zip(pieces, tables):
        if not table:
            raise SelectionError("The piece '%s' shares no labelled point with any other." % piece.label,
                                 "Give a point the same label in two pieces; two are needed, three or more prove "
                                 "themselves.", piece.label)
    tied, tape = find_tape(pieces, everything, held)
    rough = _place_roughly(pieces, tables, held, settings)
    if tied:
        known = _read_points(tape)
        tables = [{n: p for n, p in every.items() if n in table or k in tied and n in known}
                  for k, (table, every) in enumerate(zip(tables, everything))] + [known]
        shared = list(dict.fromkeys(n for table in tables for n in table))
        rough[len(pieces)] = PlaneMap(np.eye(3))
    block = Block([*pieces, tape] if tied else pieces, tables, shared=shared, held=len(pieces) if tied else held,
                   error_mm=settings.honest_error_mm, tied=tied)
    return _report(pieces, tables, block=block, fit=block.solve(rough), settings=settings)


def _refuse_untrue(piece):
    """Refuse a piece that is not at true size, by points whose labels are true places."""
    known = [p for p in piece.points if p.true is not None]
    if len(known) < 2:
        return
    at, true = np.array([p.at for p in known], float), np.array([p.true for p in known], float)
    spread = [float(np.sqrt(np.mean(np.sum((v - v.mean(axis=0)) ** 2, axis=1)))) for v in (at, true)]
    if spread[1] > 50 and abs(spread[0] / spread[1] - 1) > _UNTRUE:
        raise PatternError(
            "The piece '%s' is not at true size: its points lie %.3f times as far apart as their labels say."
            % (piece.label, spread[0] / spread[1]),
                           "Run %s on it first." % TRUE_UP.title, tuple(map(float, at[0])))


def _read_points(piece):
    table = {}
    for point in piece.points:
        name = " ".join(point.label.split()).casefold()
        if name in table:
            raise PatternError("The label '%s' stands twice in the piece '%s'." % (point.label, piece.label),
                               "Label each point of a piece differently.", tuple(map(float, point.at)))
        table[name] = point
    return table


def _place_roughly(pieces, tables, held, settings):
    """A first rigid map for each piece, fitted one after another to the pieces already placed."""
    maps, placed = {held: PlaneMap(np.eye(3))}, {n: [np.array(p.at, float)] for n, p in tables[held].items()}
    while len(maps) < len(pieces):
        rest = [k for k in range(len(pieces)) if k not in maps]
        best = max(rest, key=lambda k: sum(n in placed for n in tables[k]))
        common = [n for n in tables[best] if n in placed]
        if not common:
            raise SelectionError("The piece '%s' shares no point with '%s' or what is joined to it."
                                 % (pieces[best].label, pieces[held].label), "Give a point the same label in both; "
                                                                             "two are needed, three or more prove "
                                                                             "themselves.", pieces[best].label)
        if len(common) < 2:
            raise SelectionError("The piece '%s' shares only one point with the others, '%s': it could turn about it."
                                 % (pieces[best].label, tables[best][common[0]].label),
                                 "Label a second shared point, as far from the first as the overlap allows.",
                                 pieces[best].label)
        source = np.array([tables[best][n].at for n in common], float)
        target = np.array([np.mean(placed[n], axis=0) for n in common])
        if max(np.hypot(*(source - source[0]).T)) < 1e-6 or max(np.hypot(*(target - target[0]).T)) < 1e-6:
            raise PatternError("The shared points of the piece '%s' lie on one another." % pieces[best].label,
                               "Put each on its own place.", tuple(map(float, source[0])))
        straight, mirrored = judge_mirror(source, target)
        if len(common) > 2 and mirrored < straight / 2 and straight > 3 * settings.honest_error_mm:
            raise PatternError("The piece '%s' is a mirror image of the others." % pieces[best].label,
                               "Flip it (Object > Flip Horizontal), then run the action again.",
                               tuple(map(float, source[0])))
        maps[best] = fit_similarity(source, target, scaled=False)
        for n, p in tables[best].items():
            placed.setdefault(n, []).append(maps[best].apply(np.array(p.at, float)))
    return maps


def _check_scale(block, k):
    """The scale that piece k would take to lie on its neighbours, each left free to turn and shift, and its error; None
    where no neighbour shares two points.
    """
    source, target, errors, frames = [], [], [], []
    for other in range(len(block.middles)):
        pairs = [(a, b) for a in np.flatnonzero(block.piece == k) for b in np.flatnonzero(block.piece == other)
                 if block.point[a] == block.point[b]]
        if other != k and len(pairs) > 1:
            frames += [max(frames, default=-1) + 1] * len(pairs)
            source += [block.at[a] for a, _ in pairs]
            target += [block.at[b] for _, b in pairs]
            errors += [np.hypot(block.stated[a], block.stated[b]) for a, b in pairs]
    try:
        return fit_map("similarity",
                       PointSet(np.array(source), np.array(target), np.array(errors), np.array(frames))).measure_scale()
    except ValueError:
        return None, None


def _list_misfits(block, fit, grow, count):
    """Misfit at each shared point between the two of `count` pieces that are farthest apart there."""
    q, residual, _, effects = fit
    places = q[3 * len(block.free):].reshape(-1, 2)
    misfits = []
    for j in range(block.count):
        rows = np.flatnonzero((block.point == j) & (block.piece < count))
        if len(rows) < 2:
            continue
        images = residual[rows] + places[j]
        apart = images[None] - images[:, None]
        a, b = np.unravel_index(int(np.argmax(np.hypot(apart[..., 0], apart[..., 1]))), (len(rows), len(rows)))
        first = 3 * len(block.free) + 2 * j
        error = grow * float(np.sqrt(np.sum(effects[first:first + 2] ** 2)))
        off = apart[min(a, b), max(a, b)]
        bad = np.any(np.hypot(*residual[rows].T) > _DOUBTFUL * block.stated[rows])
        misfits.append(Misfit(block.rows[rows[0]][2].label, tuple(map(float, places[j])), off=tuple(map(float, off)),
                              error_mm=error, verdict="doubtful" if bad else "used"))
    return misfits


def _report(pieces, tables, block, fit, settings):
    q, residual = fit[:2]
    freedom = 2 * len(block.rows) - block.size - block.spent
    chi_square = float(np.sum((residual / block.errors[:, None]) ** 2))
    explained = chi_square <= limit_chi_square(freedom)
    sigma = float(np.sqrt(chi_square / freedom))
    grow = 1.0 if explained else max(sigma, 1.0)
    misfits = _list_misfits(block, fit, grow, len(pieces))
    worst = max(misfits, key=lambda m: np.hypot(*m.off))
    findings = [] if explained else [Finding(
        words.tell_disagreement(settings.honest_error_mm, sigma * settings.honest_error_mm, worst), worst.at,
        "disagree", number=sigma * settings.honest_error_mm, unit="mm", limit=settings.honest_error_mm,
        station=worst.label)]
    joined = []
    for k, (piece, table) in enumerate(zip(pieces, tables)):
        plane_map = block.map(q, k)
        errors = grow * block.measure_error(fit, k, piece.reach)
        worst_end = int(np.argmax(errors))
        scale, scale_error = _check_scale(block, k)
        joint = grow * float(block.measure_error(fit, k, block.middles[k][None])[0])
        joined.append(JoinedPiece(piece.label, plane_map,
                                  shared=sum(np.sum((block.point == block.point[r]) & (block.piece < len(pieces))) > 1
                                      for r in np.flatnonzero(block.piece == k)), scale=scale,
                                  scale_error=scale_error, joint_mm=joint,
                                  far_mm=float(errors[worst_end]),
                                  far_point=tuple(map(float, plane_map.apply(piece.reach[worst_end])))))
        spot = tuple(map(float, plane_map.apply(block.middles[k])))
        if len(table) == 2 and k != block.held and k not in block.tied:
            findings.append(Finding(words.tell_two_points(piece.label), spot, "two-points", number=2.0, unit="points"))
        if scale is not None and k != block.held and k not in block.tied and abs(scale - 1) > 3 * scale_error:
            findings.append(Finding(words.tell_out_of_scale(piece.label, scale, scale_error), spot, "out-of-scale",
                                    number=scale, limit=1.0))
    far = max(joined, key=lambda p: p.far_mm)
    if far.far_mm > settings.most_far_mm:
        said = "".join(" " + f.text for f in findings)
        raise PatternError(
            "The far end of the piece '%s' would be uncertain by %.1f mm, more than the %.1f mm allowed.%s"
            % (far.label, far.far_mm, settings.most_far_mm, said),
                           "Label shared points farther apart, or more of them, or allow a larger error.", far.label)
    if far.far_mm > _FLAG * settings.honest_error_mm and explained:
        findings.append(Finding(words.tell_far_piece(far.label, far.far_mm), far.far_point, "far-end",
                                number=far.far_mm, unit="mm", limit=_FLAG * settings.honest_error_mm))
    found = JoinFit(tuple(joined), tuple(misfits), worst=worst, sigma0_mm=sigma * settings.honest_error_mm,
                    freedom=freedom, explained=bool(explained), findings=tuple(findings))
    return replace(found, facts=list_join_facts(found, honest_mm=settings.honest_error_mm,
                                                most_far_mm=settings.most_far_mm))
