"""Which of four lines is the upper, lower, fore and aft edge, and which marks belong to which."""
from __future__ import annotations

import numpy as np

from .errors import PatternError, SelectionError
from .geometry.polyline import measure_arc_mm

__all__ = ["name_edges", "sort_marks", "refuse_labels"]

_TURN = "Turn the drawing (a scan may lie upside down or be mirrored), set where the bow lies, or mend the label."


def name_edges(sections, *, forward):
    """Name four sections that follow each other round a plank.

    The two long ones are the upper and lower edge, the upper being the one nearer the top of the page; of the
    short ones the fore end lies to the right where the bow does.

    Parameters
    ----------
    sections : list of 4 ndarray, shape (n, 2), mm
        In order round the plank.
    forward : {'right', 'left'}

    Returns
    -------
    dict of str to ndarray
        upper and lower run from fore to aft; fore and aft from upper to lower.
    """
    length = [measure_arc_mm(s)[-1] for s in sections]
    long = (0, 2) if length[0] + length[2] > length[1] + length[3] else (1, 3)
    short = tuple(k for k in range(4) if k not in long)
    if min(length[k] for k in long) < 1.5 * max(length[k] for k in short):
        raise PatternError("The shape is not long enough for its width to be read as a plank.",
                           "Check that the outline is a whole plank and at true size.", tuple(map(float, sections[0].mean(axis=0))))
    axis = sections[short[0]].mean(axis=0) - sections[short[1]].mean(axis=0)
    axis = axis / np.hypot(*axis)
    if abs(axis[0]) < 0.17:
        raise SelectionError("The plank stands upright on the page, so left and right, upper and lower are not clear.",
                             "Turn it to lie along the page, upper edge towards the top, and run the action again.")
    if axis[0] < 0:
        axis = -axis
    up = np.array([axis[1], -axis[0]])
    middle = [s.mean(axis=0) for s in sections]
    high, low = sorted(long, key=lambda k: -float(middle[k] @ up))
    right, left = sorted(short, key=lambda k: -float(middle[k] @ axis))
    fore, aft = (right, left) if forward == "right" else (left, right)
    run_aft = axis if forward == "left" else -axis

    def directed(points, way):
        return points if (points[-1] - points[0]) @ way > 0 else points[::-1]
    return {"upper": directed(sections[high], run_aft), "lower": directed(sections[low], run_aft),
            "fore": directed(sections[fore], -up), "aft": directed(sections[aft], -up)}


def sort_marks(points, edges):
    """Which marks lie on the upper edge, and the direction of the plank.

    A sweep (a cubic along the plank) is fitted through all marks with half a width, itself tapering, added above and
    taken away below; marks change side until none wants to.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
    edges : list of str
        'upper' or 'lower' where a mark says so, else ''.

    Returns
    -------
    upper : ndarray of bool, shape (n,)
    axis : ndarray, shape (2,)
        Unit direction along the plank, towards the right of the page.
    """
    centre = points.mean(axis=0)
    axis = np.linalg.svd(points - centre, full_matrices=False)[2][0]
    if abs(axis[0]) < 0.17:
        raise SelectionError("The plank stands upright on the page, so left and right, upper and lower are not clear.",
                             "Turn it to lie along the page, upper edge towards the top, and run the action again.")
    axis = axis if axis[0] > 0 else -axis
    up = np.array([axis[1], -axis[0]])
    x, y = (points - centre) @ axis, (points - centre) @ up
    x = x / np.abs(x).max()
    told = np.array([1 if e == "upper" else -1 if e == "lower" else 0 for e in edges])
    sweep = np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyfit(x, y, 3))
    side = np.where(y > sweep, 1, -1)
    side = np.where(told, told, side)
    for _ in range(30):
        design = np.stack([np.ones_like(x), x, x ** 2, x ** 3, side, side * x], axis=1)
        c = np.linalg.lstsq(design, y, rcond=None)[0]
        sweep = design[:, :4] @ c[:4]
        half = c[4] + c[5] * x
        changed = np.where(told, told, np.where(np.abs(y - sweep - half) < np.abs(y - sweep + half), 1, -1))
        if np.array_equal(changed, side):
            break
        side = changed
    return side > 0, axis


def refuse_labels(points, edges, names, *, axis, forward):
    """Refuse labels that contradict where things lie on the page: labels rule, but a scan that lies upside down must not become the mirror image.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
    edges : list of str
        Edge of each, '' where none.
    names : list of str
        What the user can find each by.
    axis : ndarray, shape (2,)
        Unit direction along the plank, towards the right of the page.
    forward : {'right', 'left'}

    Raises
    ------
    SelectionError
        Naming two that stand the wrong way round.
    """
    up, bow = np.array([axis[1], -axis[0]]), axis if forward == "right" else -axis
    place = {e: [k for k, one in enumerate(edges) if one == e] for e in ("upper", "lower", "fore", "aft")}
    if place["upper"] and place["lower"]:
        mine = place["upper"] + place["lower"]
        x, y = points[mine] @ axis, points[mine] @ up
        x = (x - x.mean()) / max(float(np.ptp(x)), 1e-9)
        side = np.array([1.0] * len(place["upper"]) + [-1.0] * len(place["lower"]))
        # a sweep with the rows half a width above and below it, as sort_marks has it
        design = np.column_stack([np.vander(x, 4 if len(mine) >= 8 else 2 if len(mine) >= 4 else 1), side])
        if np.linalg.lstsq(design, y, rcond=None)[0][-1] < 0:
            high, low = (min(place[e], key=lambda k: abs(float((points[k] - points.mean(axis=0)) @ axis))) for e in ("upper", "lower"))
            raise SelectionError("%s is labelled upper and %s lower, and on the page the first lies below the second." % (names[high], names[low]), _TURN, tuple(map(float, points[high])))
    reach = points @ bow
    middle = (reach.min() + reach.max()) / 2
    for end, sign in (("fore", 1), ("aft", -1)):
        wrong = [k for k in place[end] if sign * (reach[k] - middle) < 0]
        if wrong and len(points) > len(place[end]):
            raise SelectionError("%s is labelled %s, and lies at the %s end: the bow is to the %s." % (names[wrong[0]], end, "aft" if end == "fore" else "fore", forward), _TURN, tuple(map(float, points[wrong[0]])))
