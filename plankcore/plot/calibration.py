"""Errors of length of a printer or its paper: measured on bars, and corrected by a map of the medium."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..model.page import MediumCorrection, SheetLie
from ..model.plank import Finding
from ..trade.media import find_roll_mm, find_sheet_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import Page
    from .sheet import MediumSettings

__all__ = [
    "MOST_OFF",
    "choose_correction",
    "correct_page",
    "find_lie",
    "measure_medium",
    "refuse_nameless",
    "restore_page",
    "shrink_room",
    "turn_correction",
]


def correct_page(page: Page, correction: MediumCorrection | None, *, about_mm: float = 0.0,
                 fixed: bool = False) -> Page:
    """Apply a correction to everything on a page, bars included.

    Parameters
    ----------
    page : Page
    correction : MediumCorrection or None
        None leaves the page as it is.
    about_mm : float
        Width of the border that the machine cannot reach; the point (about_mm, about_mm) stays in place.
    fixed : bool
        Whether the page keeps its size, as a sheet of paper does; else its size is corrected with its contents.
    """
    if correction is None:
        return page
    matrix = correction.matrix
    shift = np.full(2, about_mm) - matrix @ np.full(2, about_mm)
    # on a page of fixed size the contents fill what `shrink_room` gives
    lean = matrix[0, 1] * (page.height_mm - 2 * about_mm) / (matrix[1, 1] if fixed else 1.0)
    shift[0] -= min(lean, 0.0)
    lines = tuple(replace(line, cubics=np.asarray(line.cubics) @ matrix.T + shift) for line in page.lines)
    if fixed:
        return replace(page, lines=lines)
    width = (page.width_mm - 2 * about_mm) * matrix[0, 0] + abs(lean) + 2 * about_mm
    height = (page.height_mm - 2 * about_mm) * matrix[1, 1] + 2 * about_mm
    return replace(page, width_mm=float(width), height_mm=float(height), lines=lines)


def restore_page(page: Page, correction: MediumCorrection | None, *, about_mm: float = 0.0) -> Page:
    """The inverse of `correct_page`, for a page that is not fixed: a page in true mm again."""
    if correction is None:
        return page
    matrix = correction.matrix
    height = (page.height_mm - 2 * about_mm) / matrix[1, 1]
    lean = matrix[0, 1] * height
    width = (page.width_mm - 2 * about_mm - abs(lean)) / matrix[0, 0]
    shift = np.full(2, about_mm) - matrix @ np.full(2, about_mm)
    shift[0] -= min(lean, 0.0)
    back = np.linalg.inv(matrix).T
    lines = tuple(replace(line, cubics=(np.asarray(line.cubics) - shift) @ back) for line in page.lines)
    return replace(page, width_mm=float(width + 2 * about_mm), height_mm=float(height + 2 * about_mm), lines=lines)


def find_lie(kind: str, medium: MediumSettings) -> SheetLie:
    """How a plot lies in the machine: SheetLie.

    Parameters
    ----------
    kind : {'one sheet', 'roll', 'tiles'}
        A roll is fed along itself. A sheet goes in by `medium.first_edge`, 'short edge' or 'long edge'. For one sheet
        that is sized to the plank the short edges are those at the plank's ends, and `page` says so instead of giving a
        size, which differs for each plank.
    medium : MediumSettings
    """
    if kind == "roll":
        return SheetLie("along", "roll %.1f mm wide" % find_roll_mm(medium.roll, medium.own_mm[0]))
    short_first = medium.first_edge == "short edge"
    if kind == "one sheet":
        return SheetLie("along" if short_first else "across", "one sheet sized to the plank")
    along = short_first == (medium.long_side == "along")
    return SheetLie("along" if along else "across", "%.1f x %.1f mm" % find_sheet_mm(medium.sheet, medium.own_mm))


def shrink_room(width_mm: float, height_mm: float, correction: MediumCorrection | None) -> tuple[float, float]:
    """The largest room that still fits after correction: width and height, mm."""
    if correction is None:
        return float(width_mm), float(height_mm)
    matrix = correction.matrix
    height = height_mm / matrix[1, 1]
    return float((width_mm - abs(matrix[0, 1]) * height) / matrix[0, 0]), float(height)


MOST_OFF = 0.05            # a bar that is off by a larger share was misread, or the plot was scaled to fit the page
_LEAN_MM_PER_M = 30.0
# disagreement of the four lengths, as a share of the diagonal, that is a doubt, and that is refused
_DOUBT, _REFUSE = 1e-3, 5e-3


def _check_bar(told_mm, found_mm, field):
    if not (told_mm > 0 and found_mm > 0):
        raise SettingError("A bar has no length: %g mm told, %g mm found." % (told_mm, found_mm),
                           "Type what is printed at it, and what it measures.", field)
    if abs(found_mm / told_mm - 1) > MOST_OFF:
        raise SettingError("%g mm found for %g mm is off by %.1f percent."
                           % (found_mm, told_mm, 100 * (found_mm / told_mm - 1)),
                           "Measure again; if it is so, plot at 100 percent, never fitted to the page.", field)


def refuse_nameless() -> None:
    """Refuse a measurement without a medium's name: it could not be found again."""
    raise SettingError("The medium has no name.", "Give one that you will know it by: drafting film, roll of March.",
                       "Medium")


def measure_medium(medium: str, *, day: str, along_mm: Sequence[float], across_mm: Sequence[float],
                   rectangle_mm: Sequence[float] | None = None, diagonals_mm: Sequence[float] | None = None,
                   earlier: MediumCorrection | None = None,
                   lie: SheetLie | None = None) -> tuple[MediumCorrection, list[Finding]]:
    """The MediumCorrection for a medium, from measured bars.

    Parameters
    ----------
    medium : str
        Its name.
    day : str
        When it was measured.
    along_mm, across_mm : (float, float)
        Of a bar: the length lettered at it, and the length measured. Long bars show the scale more accurately: a
        reading error of 0.5 mm is 0.05 percent of 1000 mm.
    rectangle_mm : (float, float), optional
        Sides along and across, as lettered; 0 for what was not measured.
    diagonals_mm : (float, float), optional
        As measured: from upper left to lower right (A to C), and from upper right to lower left (B to D).
    earlier : MediumCorrection, optional
        The correction that the measured sheet was plotted with; the errors measured now are corrected in addition.
    lie : SheetLie, optional
        How the measured sheet lay in the machine; the factors are stored for that.

    Returns
    -------
    correction : MediumCorrection
        The earlier one itself where it was made from these same lengths: a sheet typed twice must not count twice.
    findings : list of Finding

    Raises
    ------
    SettingError
        If a bar is missing, a length is off by more than is possible, or the four disagree.
    """
    if not medium.strip():
        refuse_nameless()
    whole = any(diagonals_mm or ()) or any(rectangle_mm or ())
    bare = [way for way, bar in (("along", along_mm), ("across", across_mm)) if not bar[1]]
    if whole and bare:
        needed = "bars along and across are" if len(bare) == 2 else "bar %s is" % bare[0]
        raise SettingError("Sides or diagonals of the rectangle are given; the %s needed too." % needed,
                           "Measure what is wanting with a steel tape: the bars tell the scale, the diagonals the "
                           "lean.", "Bar " + bare[0])
    _check_bar(along_mm[0], along_mm[1], "Bar along")
    _check_bar(across_mm[0], across_mm[1], "Bar across")
    p, q, r, residual, findings = along_mm[1] / along_mm[0], 0.0, across_mm[1] / across_mm[0], float("nan"), []
    measured = " ".join("%g" % v for v in (*along_mm, *across_mm,
                                           *((*(rectangle_mm or ()), *(diagonals_mm or ())) if whole else ())))
    if earlier is not None and earlier.measured == measured:
        return earlier, []
    if whole:
        a, b = rectangle_mm or (0.0, 0.0)
        if not (a > 0 and b > 0):
            raise SettingError("The rectangle has no size: %g x %g mm." % (a, b),
                               "Type the sides that are printed at its crosses.", "Rectangle")
        diagonals = diagonals_mm or (0.0, 0.0)
        for found in diagonals:
            _check_bar(float(np.hypot(a, b)), found, "Diagonals")
        # a first guess from the sides and the difference of the squared diagonals; then least squares, with equal
        # weights for all four
        q = (diagonals[0] ** 2 - diagonals[1] ** 2) / (4 * a * b * p)
        p, q, r, residual = _adjust(p, q, r=r, along=along_mm, across=across_mm, sides=(a, b), diagonals=diagonals)
        diagonal = float(np.hypot(a, b))
        if residual > _REFUSE * diagonal:
            raise SettingError("The lengths disagree by %.1f mm: no scale and lean give them all." % residual,
                               "Measure bars and diagonals again, on a flat table.", "Diagonals")
        if residual > _DOUBT * diagonal:
            findings.append(Finding(
                "The bars and the diagonals disagree by %.1f mm: measure them again, on a flat table." % residual,
                None, "bars-disagree", number=residual, unit="mm", limit=_DOUBT * diagonal))
    if abs(q / p) * 1000 > _LEAN_MM_PER_M:
        raise SettingError("The medium would lean by %.0f mm in a metre." % (1000 * q / p),
                           "Measure the diagonals again: A to C, and B to D.", "Diagonals")
    undo = np.array([[1 / p, -q / (p * r)], [0.0, 1 / r]])
    total = undo if earlier is None else earlier.matrix @ undo
    number = 1 if earlier is None else earlier.number + 1
    feed, page = (lie.feed, lie.page) if lie else ("", "")
    return MediumCorrection(medium.strip(), day, number=number, along=float(total[0, 0]), across=float(total[1, 1]),
                            skew_mm_per_m=float(1000 * total[0, 1] / total[1, 1]), residual_mm=float(residual),
                            measured=measured, feed=feed, page=page), findings


def turn_correction(correction: MediumCorrection) -> MediumCorrection:
    """The correction of a sheet that lies a quarter turned in the machine: along and across are exchanged, and the skew
    changes its sign.

    The machine's errors are a matrix M in its own directions, corrected by C. For a page that lies turned they are R M
    R', corrected by R C R'. That matrix is then rotated, which changes no length, so that it again consists of two
    scales and a skew along.
    """
    a, s, b = correction.matrix[0, 0], correction.matrix[0, 1], correction.matrix[1, 1]
    h = float(np.hypot(s, a))
    feed = {"along": "across", "across": "along"}[correction.feed]
    return replace(correction, along=float(a * b / h), across=h, skew_mm_per_m=float(-1000 * s * b / h ** 2),
                   measured="", feed=feed, turned=not correction.turned)


def choose_correction(kept: Sequence[MediumCorrection], lie: SheetLie) -> MediumCorrection:
    """The correction of a medium for a sheet that lies in a certain way.

    Parameters
    ----------
    kept : sequence of MediumCorrection
        All of one medium, at least one.
    lie : SheetLie
        Of the sheet that is to be plotted.

    Returns
    -------
    MediumCorrection
        The one measured on a sheet that lay like this; or one measured on the same page lying the other way, turned.

    Raises
    ------
    SettingError
        If none was measured on this page, since a machine's errors on another size or width of roll are not known.
    """
    for one in kept:
        if (one.feed, one.page) == (lie.feed, lie.page):
            return one
    for one in kept:
        if one.page == lie.page and one.feed in ("along", "across"):
            return turn_correction(one)
    told = "; ".join(SheetLie(one.feed, one.page).describe() if one.page
                     else "a sheet of which it was not kept how it lay" for one in kept)
    raise SettingError("The medium '%s' was measured on %s, and not on %s: its factors may be others there."
                       % (kept[0].medium, told, lie.describe()),
                       "Plot this sheet once with the name left empty, measure it and keep what you find under the "
                       "same name; or leave the name empty to plot uncorrected.", "Medium")


def _adjust(p, q, *, r, along, across, sides, diagonals):
    """Least squares on four lengths, by Gauss and Newton. Returns p, q, r and the largest misfit, mm."""
    a, b = sides
    told = np.array([(along[0], 0.0), (0.0, across[0]), (a, b), (-a, b)])
    found = np.array([along[1], across[1], *diagonals])
    x = np.array([p, q, r], float)
    for _ in range(20):
        plotted = np.stack([x[0] * told[:, 0] + x[1] * told[:, 1], x[2] * told[:, 1]], axis=1)
        length = np.hypot(plotted[:, 0], plotted[:, 1])
        unit = plotted / length[:, None]
        slope = np.stack([unit[:, 0] * told[:, 0], unit[:, 0] * told[:, 1], unit[:, 1] * told[:, 1]], axis=1)
        step = np.linalg.lstsq(slope, found - length, rcond=None)[0]
        x = x + step
        if np.abs(step).max() < 1e-14:
            break
    plotted = np.stack([x[0] * told[:, 0] + x[1] * told[:, 1], x[2] * told[:, 1]], axis=1)
    return (*map(float, x), float(np.abs(np.hypot(plotted[:, 0], plotted[:, 1]) - found).max()))
