"""Film for a cutter: cut into parts where it is longer than the machine feeds, framed for weeding, with register
crosses, and mirrored where it is cut from its back."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.lettering import text_width_mm
from ..geometry.outline import part_closed
from ..geometry.strokes import clip_strokes, draw_polyline, measure_extent
from ..model.drawing import SheetLine, SheetText
from ..model.page import Page
from ..model.typed import refuse_outside
from ..paper.blocks import letter_texts, make_cross, move_line
from .calibration import correct_page, restore_page

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import MediumCorrection

__all__ = ["FilmSettings", "make_film"]

_ARM_MM = 5.0             # arm of a cross
_CLEAR_MM = 3.0           # distance of the crosses from what is cut, or from its frame
_WORDS_MM = 5.0
_MOST_PARTS = 200
_FAR_MM = 1e7             # beyond any page


@dataclass(frozen=True)
class FilmSettings:
    """weeding_mm : distance outside what is cut of the weeding frame, in which the waste is pulled off; 0 for none.
    crosses : cut at the corners. mirror : for film that is cut from its back. feed_mm : the longest page that the
    machine feeds, 0 where there is no end to it. hairline : cuts drawn as thin as drivers of cutters want them. edge_mm
    : clear film round everything."""

    weeding_mm: float = 0.0
    crosses: bool = False
    mirror: bool = False
    feed_mm: float = 0.0
    hairline: bool = False
    edge_mm: float = 10.0

    def __post_init__(self):
        refuse_outside(self.weeding_mm, 0, 100, problem="A weeding frame %g mm off cannot be used.",
                       remedy="Give 0 for none, 5 mm for instance.", field="Weeding frame")
        refuse_outside(self.feed_mm, 0, 1e6, problem="A feed of %g mm cannot be used.",
                       remedy="Give 0 where there is no end to it.", field="Longest feed")

    def is_plain(self) -> bool:
        """Whether pages stay as they are."""
        return not (self.weeding_mm or self.crosses or self.mirror or self.feed_mm or self.hairline)

    def leave_tiles(self) -> FilmSettings:
        """Settings that leave paper tiles as they are; film settings on tiles are refused."""
        if self.weeding_mm or self.crosses or self.mirror or self.feed_mm:
            raise SettingError("Weeding frame, crosses, mirror and longest feed are for one sheet or a roll.",
                               "Choose one of those, or leave them off.", "Film")
        return FilmSettings()

    @property
    def around_mm(self) -> float:
        """Distance from what is cut to the end of the page."""
        crosses = _CLEAR_MM + _ARM_MM if self.crosses else 0.0
        return self.weeding_mm + crosses + self.edge_mm


def make_film(pages: Sequence[Page], film: FilmSettings, *, correction: MediumCorrection | None = None,
              about_mm: float = 0.0) -> tuple[list[Page], list[str]]:
    """Pages as they are cut of film.

    Parameters
    ----------
    pages : sequence of Page
        Each of its natural length.
    correction : MediumCorrection, optional
        The correction already applied to them, about about_mm: it is undone, they are cut up and mirrored in true mm,
        and corrected again.

    Returns
    -------
    pages : list of Page
        A page for each part. Parts meet edge to edge on straight cuts square to the feed, and the crosses at their ends
        lie on those cuts.
    said : list of str
        Sentences for the user: where the crosses are, and how many parts there are.

    Raises
    ------
    SettingError
        If the machine feeds too little for a part, or nothing is cut.
    """
    done, said = [], []
    for page in pages:
        whole = restore_page(page, correction, about_mm=about_mm)
        parts = _list_parts(whole, film, 1.0 if correction is None else correction.along)
        across = np.array(measure_extent(np.concatenate([one.cubics for one in whole.lines])))[:, 1]
        for number, (low, high) in enumerate(parts, 1):
            told = "%s part %d of %d" % (page.name.capitalize(), number, len(parts)) if len(parts) > 1 \
                else page.name.capitalize()
            lines = _clip(whole.lines, low, high) if len(parts) > 1 else whole.lines
            made, crosses = _frame(replace(page, lines=lines), film, ends=(low, high) if len(parts) > 1 else None,
                                   across=across)
            if len(parts) > 1:
                made = replace(made, name="%s PART %d" % (page.name, number))
                said.append("%s: from %.1f to %.1f mm of it." % (told, low - parts[0][0], high - parts[0][0]))
            if crosses is not None:
                wide, tall = crosses
                said.append("%s: its crosses are %.1f mm apart along, %.1f mm across and %.1f mm from corner to "
                            "corner. Measure them before weeding." % (told, wide, tall, np.hypot(wide, tall)))
            done.append(correct_page(_mirror(made) if film.mirror else made, correction, about_mm=about_mm))
    return done, said


def _list_parts(page, film, along):
    """Start and end of each part along the page; one part where the page is not too long."""
    cuts = [one.cubics for one in page.lines if one.pen == "cut"]
    if not cuts:
        raise SettingError("There is nothing to cut on the page.", "Plot all of it.", "What to plot")
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines] if not film.feed_mm else cuts))
    if not film.feed_mm or (high[0] - low[0] + 2 * film.around_mm) * along <= film.feed_mm:
        return [(float(low[0]), float(high[0]))]
    room = film.feed_mm / along - 2 * film.around_mm
    count = int(np.ceil((high[0] - low[0]) / room - 1e-9)) if room > 0 else _MOST_PARTS + 1
    if count > _MOST_PARTS:
        raise SettingError("A feed of %.0f mm leaves too little for a part: frame, crosses and edges take %.0f mm."
                           % (film.feed_mm, 2 * film.around_mm), "Give a longer feed, or leave off frame and crosses.",
                           "Longest feed")
    ends = np.linspace(low[0], high[0], count + 1)
    return [(float(a), float(b)) for a, b in zip(ends[:-1], ends[1:])]


def _clip(lines, low, high):
    """The contents between two places along the page: outlines to cut stay closed, all other lines are just clipped."""
    found = []
    for line in lines:
        if line.closed and line.pen == "cut":
            some = part_closed(line.cubics, low=low, high=high)
        else:
            some = clip_strokes(line.cubics, (low, -_FAR_MM), (high, _FAR_MM))
        whole = line.closed and len(some) == 1 and np.array_equal(some[0], line.cubics)
        found += [replace(line, cubics=one, closed=line.closed and (whole or line.pen == "cut")) for one in some]
    return tuple(found)


def _frame(page, film, ends, across):
    """A page with its frame and crosses, cropped to them; and the distance of the crosses, or None. ends : of this
    part, along the page. across : of the whole page, so that the crosses of all parts are on the same two lines."""
    lines = tuple(replace(one, style="hairline") if film.hairline and one.pen == "cut" else one for one in page.lines)
    look = "hairline" if film.hairline else "saw"
    low, high = measure_extent(np.concatenate([one.cubics for one in lines]))
    low, high = low - film.weeding_mm, high + film.weeding_mm
    added, apart = [], None
    if film.weeding_mm:
        corners = [low, (high[0], low[1]), high, (low[0], high[1]), low]
        added.append(SheetLine(draw_polyline(corners), "cut", role="weeding-frame", style=look, closed=True))
    if film.crosses:
        out = film.weeding_mm + _CLEAR_MM + _ARM_MM
        across = across[0] - out, across[1] + out
        along = ends if ends is not None else (low[0] - _CLEAR_MM - _ARM_MM, high[0] + _CLEAR_MM + _ARM_MM)
        for name, at in zip("ABCD", ((along[0], across[0]), (along[1], across[0]), (along[1], across[1]),
                                     (along[0], across[1]))):
            added.append(replace(make_cross(at, _ARM_MM, role="film-cross", style=look, values=(("corner", name),)),
                                 pen="cut"))
        apart = float(along[1] - along[0]), float(across[1] - across[0])
    whole = (*lines, *added)
    low, high = measure_extent(np.concatenate([one.cubics for one in whole]))
    low, high = low - film.edge_mm, high + film.edge_mm
    move = np.array([[1.0, 0.0, -low[0]], [0.0, 1.0, -low[1]]])
    return replace(page, width_mm=float(high[0] - low[0]), height_mm=float(high[1] - low[1]),
                   lines=tuple(move_line(one, move) for one in whole)), apart


def _mirror(page):
    """A page as seen from behind, with the only readable words on it saying so."""
    words = "MIRRORED, FOR FILM REVERSED: TURNED OVER IT SHOWS %s" % (page.title or "THE PLANK")
    size = min(_WORDS_MM, 0.9 * page.width_mm / text_width_mm(words, height_mm=1.0))
    text = SheetText(words, (page.width_mm / 2, page.height_mm + size), height_mm=size, angle_deg=0.0, anchor="middle",
                     style="warning", role="mirrored")
    turn = np.array([[-1.0, 0.0, page.width_mm], [0.0, 1.0, 0.0]])
    return replace(page, height_mm=float(page.height_mm + 2 * size),
                   lines=(*(move_line(one, turn) for one in page.lines), *letter_texts((text,))))
