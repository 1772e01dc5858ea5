"""Which of four lines is the upper, lower, fore and aft edge, and which marks belong to which."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SelectionError
from ..geometry.polyline import measure_arc_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Mask, Point, Points

__all__ = ["name_edges", "refuse_labels", "settle_axis", "sort_marks"]

UPRIGHT = 0.17            # sine of the angle within which a plank stands upright on the page
NARROW_MM = 20.0          # if the two rows are nearer to each other than this, a mark's row is uncertain
FEWEST = 10               # fewest marks among which one in the wrong row can be recognised

_TURN = "Turn the drawing (a scan may lie upside down or be mirrored), set where the bow lies, or mend the label."


def name_edges(sections: Sequence[Points], *, forward: str,
               told: Sequence[str] = ("", "", "", "")) -> dict[str, Points]:
    """Name four sections that follow each other round a plank.

    The two long ones are the upper and lower edge, the upper being the one nearer the top of the page; of the
    short ones the fore end lies to the right where the bow does. For a plank that stands upright on the page labels
    decide it.

    Parameters
    ----------
    sections : list of 4 ndarray, shape (n, 2), mm
        In order round the plank.
    forward : {'right', 'left'}
    told : sequence of 4 str
        The edge in each section's label, '' where it has none.

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
                           "Check that the outline is a whole plank and at true size.",
                           tuple(map(float, sections[0].mean(axis=0))))
    axis = sections[short[0]].mean(axis=0) - sections[short[1]].mean(axis=0)
    axis = axis / np.hypot(*axis)
    axis = settle_axis(axis, np.stack([s.mean(axis=0) for s in sections]), told, forward=forward)
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


def settle_axis(axis: Point, points: Points, edges: Sequence[str], *, forward: str) -> Point:
    """Direction along the plank that would point to the right on the page with the plank level and its upper edge up.

    For a plank lying along the page this is to the right. For one that stands upright the labels decide: that of an
    end, together with the side that the bow lies on. A long edge must be labelled too, which is compared afterwards, so
    that a mirror image is noticed.

    Parameters
    ----------
    axis : ndarray, shape (2,)
        Unit direction along the plank, either way.
    points : ndarray, shape (n, 2), mm
    edges : sequence of str
        The edge in each one's label, '' where it has none.
    forward : {'right', 'left'}

    Raises
    ------
    SelectionError
        Where it stands upright and too little is labelled.
    """
    if abs(axis[0]) >= UPRIGHT:
        return axis if axis[0] > 0 else -axis
    reach = (points - points.mean(axis=0)) @ axis
    to_bow = sum(r if e == "fore" else -r for r, e in zip(reach, edges) if e in ("fore", "aft"))
    if abs(to_bow) < 1e-9 or not any(e in ("upper", "lower") for e in edges):
        raise SelectionError("The plank stands upright on the page, so left and right, upper and lower are not clear.",
                             "Turn it to lie along the page, upper edge towards the top; or label the edge lines or "
                             "marks upper, lower, fore, aft; and run the action again.")
    return axis if (to_bow > 0) == (forward == "right") else -axis


def sort_marks(points: Points, edges: Sequence[str], *, ends: Sequence[tuple[str, Point]] = (),
               forward: str = "right") -> tuple[Mask, Point]:
    """Which marks lie on the upper edge, and the direction of the plank.

    A cubic along the plank for the middle, and a tapering half width added above and subtracted below, are fitted to
    all marks; marks are moved to the side that fits better until none changes.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
    edges : list of str
        'upper' or 'lower' where a mark says so, else ''.
    ends : sequence of (edge, (x, y))
        Objects labelled fore or aft, which decide the direction of a plank that stands upright.
    forward : {'right', 'left'}

    Returns
    -------
    upper : ndarray of bool, shape (n,)
    axis : ndarray, shape (2,)
        Unit direction along the plank, towards the right of the page (see `settle_axis`).
    """
    centre = points.mean(axis=0)
    axis = np.linalg.svd(points - centre, full_matrices=False)[2][0]
    axis = settle_axis(axis, np.vstack([points, *(np.reshape(at, (1, 2)) for _, at in ends)]),
                       list(edges) + [e for e, _ in ends], forward=forward)
    up = np.array([axis[1], -axis[0]])
    x, y = (points - centre) @ axis, (points - centre) @ up
    x = x / np.abs(x).max()
    told = np.array([1 if e == "upper" else -1 if e == "lower" else 0 for e in edges])
    sweep = np.polyval(np.polyfit(x, y, 3), x)
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


def refuse_labels(points: Points, edges: Sequence[str], names: Sequence[str], *, axis: Point, forward: str) -> None:
    """Refuse labels that contradict the arrangement on the page. Labels take precedence, but a scan that lies upside
    down must not become a mirror image.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
    edges : list of str
        Labelled edge of each, '' where it has none.
    names : list of str
        How the user can find each.
    axis : ndarray, shape (2,)
        Unit direction along the plank, towards the right of the page.
    forward : {'right', 'left'}

    Raises
    ------
    SelectionError
        Naming two that are the wrong way round, or the one that lies in the other row.
    """
    up, bow = np.array([axis[1], -axis[0]]), axis if forward == "right" else -axis
    place = {e: [k for k, one in enumerate(edges) if one == e] for e in ("upper", "lower", "fore", "aft")}
    if place["upper"] and place["lower"]:
        mine = place["upper"] + place["lower"]
        x, y = points[mine] @ axis, points[mine] @ up
        x = (x - x.mean()) / max(float(np.ptp(x)), 1e-9)
        side = np.array([1.0] * len(place["upper"]) + [-1.0] * len(place["lower"]))
        # the same model as in sort_marks: a smooth middle with the rows half a width above and below it
        design = np.column_stack([np.vander(x, 4 if len(mine) >= 8 else 2 if len(mine) >= 4 else 1), side])
        if np.linalg.lstsq(design, y, rcond=None)[0][-1] < 0:
            high, low = (min(place[e], key=lambda k: abs(float((points[k] - points.mean(axis=0)) @ axis)))
                         for e in ("upper", "lower"))
            raise SelectionError("%s is labelled upper and %s lower, and on the page the first lies below the second."
                                 % (names[high], names[low]), _TURN, tuple(map(float, points[high])))
        odd = _find_odd(x, y, side)
        if odd is not None:
            k, (own, other) = mine[odd[0]], ("upper", "lower") if side[odd[0]] > 0 else ("lower", "upper")
            raise SelectionError("%s is labelled %s, and lies in the row of the %s edge, at (%.0f, %.0f) mm: %.0f mm "
                                 "from where the %s edge passes, %.0f mm from the %s." %
                                 (names[k], own, other, *points[k], odd[1], own, odd[2], other), "Mend its label.",
                                 tuple(map(float, points[k])))
    reach = points @ bow
    middle = (reach.min() + reach.max()) / 2
    for end, sign in (("fore", 1), ("aft", -1)):
        wrong = [k for k in place[end] if sign * (reach[k] - middle) < 0]
        if wrong and len(points) > len(place[end]):
            raise SelectionError("%s is labelled %s, and lies at the %s end: the bow is to the %s."
                                 % (names[wrong[0]], end, "aft" if end == "fore" else "fore", forward), _TURN,
                                 tuple(map(float, points[wrong[0]])))


def _find_odd(x, y, side):
    """The mark that clearly lies in the other row: (index, mm from its own row, mm from the other), or None. Rows are
    fitted to all other marks."""
    found = []
    if len(x) < FEWEST:
        return None
    design = np.column_stack([np.vander(x, 4), side, side * x])
    for k in range(len(x)):
        rest = np.arange(len(x)) != k
        if min((side[rest] > 0).sum(), (side[rest] < 0).sum()) < 3:
            continue
        c = np.linalg.lstsq(design[rest], y[rest], rcond=None)[0]
        half = c[4] + c[5] * x[k]
        sweep = design[k, :4] @ c[:4]
        own, other = abs(y[k] - sweep - side[k] * half), abs(y[k] - sweep + side[k] * half)
        if 2 * half > NARROW_MM and other < 0.5 * half and own > 1.5 * half:
            found.append((own / half - other / half, k, own, other))
    return max(found)[1:] if found else None
