"""The residuals of a fit of scans, drawn in a layer of their own: a ring at each point, an arrow for its residual, and
sentences."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import JOIN, TRUE_UP
from ..model.facts import Fact, list_words
from . import names
from .overlay import put_facts, read_facts
from .read import find_total_map
from .write import LayerWriter, count_in_mm, make_layer

if TYPE_CHECKING:
    from typing import Sequence

    from ..actions import Action
    from ..geometry.arrays import Points
    from ..model.plank import Finding
    from ..model.scan import Misfit
    from .drawing import Drawing
    from .names import Element

__all__ = ["read_scan_facts", "write_fit_report"]

_TIMES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


def write_fit_report(drawing: Drawing, *, action: Action, facts: Sequence[Fact], misfits: Sequence[Misfit],
                     findings: Sequence[Finding], box: Points, **values: float | str) -> Element:
    """Write the layer at the top of the drawing; the callers have removed an older one.

    Parameters
    ----------
    action : Action
        Whose layer it is. values : attributes of the layer.
    facts : sequence of Fact
        Written on the layer with the findings; their words are lettered below the work.
    misfits : sequence of Misfit
    findings : sequence of Finding
    box : ndarray, shape (k, 2), mm
        Outermost points of the work as it lies now.
    """
    page = drawing.page
    earlier = _list_reports(drawing)
    group = make_layer(drawing.root, label=action.label, layer=action.layer)
    group.set("id", names.find_free_id(drawing.root, "plank-" + action.layer))
    count_in_mm(group, page)
    out = LayerWriter(group, find_total_map(group, page))
    size = float(np.hypot(*np.ptp(box, axis=0)))
    height = float(np.clip(size / 250, 2.5, 12.0))
    largest = max((float(np.hypot(*m.off)) for m in misfits), default=0.0)
    times = max((t for t in _TIMES if t * largest <= 0.05 * size), default=1)
    names.put(group, times=times, **values)
    # joined pieces share points: each report letters its words at another corner of the point
    side, drop, anchor = ((1, -1.4, "start"), (1, 2.1, "start"), (-1, -1.4, "end"), (-1, 2.1, "end"))[len(earlier) % 4]
    for m in misfits:
        off = float(np.hypot(*m.off))
        out.add_circle(m.at, height, role="ring", style="mark" if m.verdict == "used" else "doubtful", point=m.label,
                       residual_mm=off, error_mm=m.error_mm, verdict=m.verdict)
        if off * times > 0.2:
            out.add_polylines(_draw_arrow(np.array(m.at), times * np.array(m.off)), role="residual", style="arrow",
                              point=m.label, residual_mm=off)
        out.add_text("%s: %.2f" % (m.label, off), height_mm=0.7 * height,
                     at_mm=(m.at[0] + side * 1.4 * height, m.at[1] + drop * height), anchor=anchor, point=m.label)
    # below the lines of earlier reports
    said = sum(len([e for e in names.find_roles(one, "note") if not names.get(e, "point")]) + 1 for one in earlier)
    left, below = float(box[:, 0].min()), float(box[:, 1].max()) + (4 + 1.8 * said) * height
    put_facts(group, facts, findings)
    rows = [(text, "note") for text in list_words(facts)]
    if misfits and times * largest > 0.2:
        rows.append(("Arrows are drawn %d times as long as the residuals, in mm" % times, "note"))
    for finding in findings:
        rows.append((finding.text, "warning"))
        if finding.where is not None:
            out.add_circle(finding.where, 2 * height, role="ring", style="doubtful")
    for number, (text, style) in enumerate(rows):
        out.add_text(text, height_mm=height, at_mm=(left, below + 1.8 * height * number), style=style)
    return group


def _draw_arrow(start, way):
    tip = start + way
    back, across = -0.25 * way, 0.12 * np.array([-way[1], way[0]])
    return [np.stack([start, tip]), np.stack([tip + back + across, tip, tip + back - across])]


def _list_reports(drawing):
    return [one for one in drawing.root
            if isinstance(one.tag, str) and names.get(one, "layer") in (TRUE_UP.layer, JOIN.layer)]


def read_scan_facts(drawing: Drawing) -> list[Fact]:
    """What True Up Scan and Join Scans found about the scans' scale, doubts and all, a list of Fact.

    Raises
    ------
    PatternError
        If a layer carries other facts than were written on it.
    """
    found = []
    for one in _list_reports(drawing):
        action = JOIN if names.get(one, "layer") == JOIN.layer else TRUE_UP
        found += read_facts(one, action=action.title, lettered=True) or _read_older(one)
    return found


def _read_older(layer):
    """What a layer made before 2026-11-29 has lettered below the work: it carries no facts, and what it was made of may
    be a plank by now, so that it cannot be made again.
    """
    return [Fact("told", names.get(e, "text")) for e in names.find_roles(layer, "note") if not names.get(e, "point")]
