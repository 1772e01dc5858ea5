"""What True Up Scan, Join Scans and Read Marks found, as facts. Lengths are told to 0.0001 mm, scales to seven
decimals: what solvers differ by is not written.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import Fact, Place
from ..model.plank import EDGE_NAMES
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.scan import Misfit, ReadMark, Unread
    from .join import JoinFit
    from .true_up import TrueUp

__all__ = ["list_join_facts", "list_mark_facts", "list_true_up_facts"]


def _tell_mm(key, value, *, verdict="", limit=None, about="", station=""):
    return Fact(key, verdict=verdict, number=None if value is None else round(float(value), 4) + 0.0, unit="mm",
                limit=limit, about=about, place=Place(station) if station else None)


def _tell_scale(key, scale, about=""):
    return Fact(key, number=round(float(scale), 7), unit="times", about=about)


def _count(key, count, unit, **more):
    return Fact(key, number=float(count), unit=unit, **more)


def _list_misfits(key: str, misfits: Sequence[Misfit]) -> list[Fact]:
    """How far each control or shared point lies off, then the worst of them and all together (rms)."""
    off = [float(np.hypot(*m.off)) for m in misfits]
    found = [_tell_mm(key, size, verdict="holds" if m.verdict == "used" else "doubt", station=m.label)
             for m, size in zip(misfits, off)]
    if off:
        worst = int(np.argmax(off))
        found += [_tell_mm("worst-" + key, off[worst], station=misfits[worst].label),
                  _tell_mm("rms-" + key, np.sqrt(np.mean(np.square(off))))]
    return found


def list_true_up_facts(fit: TrueUp, *, honest_mm: float, most_far_mm: float) -> tuple[Fact, ...]:
    """Facts of a TrueUp, which has none yet; first what people read of it.

    true-up : standard error of one observation as it was found, against the honest error; a doubt where nothing is
    spare to prove it, or where the controls contradict each other. about : the map.
    """
    sound = fit.sigma0_mm is not None and fit.explained
    head = Fact("true-up", words.tell_true_up(fit), verdict="holds" if sound else "doubt", unit="mm", limit=honest_mm,
                number=None if fit.sigma0_mm is None else round(fit.sigma0_mm, 4), about=fit.map)
    return (head, _count("spare", fit.freedom, "observations"), _tell_scale("scale", fit.scale),
            _tell_scale("scale-error", fit.scale_error), _tell_mm("far-end-error", fit.far_mm, limit=most_far_mm),
            *_list_misfits("residual", fit.misfits))


def list_join_facts(join: JoinFit, *, honest_mm: float, most_far_mm: float) -> tuple[Fact, ...]:
    """Facts of a JoinFit, which has none yet; first what people read of it.

    join : standard error of one coordinate of a shared point as it was found, against the honest error; a doubt where
    the pieces contradict each other. piece : error foretold at its far end. about : the pieces.
    """
    found = [Fact("join", words.tell_join(join), verdict="holds" if join.explained else "doubt", unit="mm",
                  number=round(join.sigma0_mm, 4), limit=honest_mm, about="; ".join(p.label for p in join.pieces))]
    found += [Fact("piece", words.tell_joined(p), number=round(p.far_mm, 4), unit="mm", limit=most_far_mm,
                   about=p.label) for p in join.pieces]
    found.append(_count("spare", join.freedom, "observations"))
    for piece in join.pieces:
        found += [_count("shared-points", piece.shared, "points", about=piece.label),
                  _tell_mm("joint-error", piece.joint_mm, about=piece.label)]
        if piece.scale is not None and piece.scale_error is not None:
            found += [_tell_scale("piece-scale", piece.scale, piece.label),
                      _tell_scale("piece-scale-error", piece.scale_error, piece.label)]
    return (*found, *_list_misfits("overlap", join.misfits))


def list_mark_facts(marks: Sequence[ReadMark], unread: Sequence[Unread]) -> tuple[Fact, ...]:
    """Facts of the marks that were read, one at least, and of the shapes that were not.

    marks-read : how many. mark-error : the largest standard error, limit : the least. doubtful-mark : its standard
    error. not-read : how many shapes for one and the same reason, which about names by its key.
    """
    errors = [one.mark.error_mm for one in marks]
    doubtful = [one for one in marks if one.mark.verdict != "used"]
    found = [_count("marks-read", len(marks), "marks", words=words.tell_marks_read(marks)),
             Fact("mark-error", words.tell_mark_errors(errors, len(doubtful)), number=round(max(errors), 4), unit="mm",
                  limit=round(min(errors), 4), verdict="doubt" if doubtful else "holds")]
    edges = [name for name in EDGE_NAMES if any(one.mark.edge == name for one in marks)]
    missing = [name for name in EDGE_NAMES if name not in edges]
    if missing and len(edges) > 1:               # one edge alone was asked for
        found.append(Fact("edges-without-marks", words.tell_no_marks_on(missing), about="; ".join(missing),
                          verdict="doubt"))
    for name in edges:
        found.append(_count("marks-on-edge", sum(one.mark.edge == name for one in marks), "marks",
                            place=Place("", name)))
    for kind in dict.fromkeys(one.kind for one in marks):
        found.append(_count("marks-of-kind", sum(one.kind == kind for one in marks), "marks", about=kind))
    for one in doubtful:
        found.append(Fact("doubtful-mark", brief="; ".join(one.notes), verdict="doubt", number=round(
            one.mark.error_mm, 4), unit="mm", place=Place(one.mark.station, one.mark.edge), about=one.kind))
    for some in sorted(words.group_unread(unread), key=lambda some: -len(some)):
        found.append(_count("not-read", len(some), "shapes", words=words.tell_not_read(some), about=some[0].key))
    return tuple(found)
