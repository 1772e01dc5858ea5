"""Draws strake_5_scan.png: the invented pattern of strake 5 as a scanner would see it.

White ground, 1 bit, 150 dpi. A black marker line 4 mm wide runs all round on the true edges of
truth.py plus the wobble of a hand; at each frame a pen tick across each edge and, inboard of the
upper edge, a boxed frame number. Everything is invented, and drawn the same each time.

    python draw_scan.py            writes strake_5_scan.png and strake_5_scan.svg beside this file

Needs numpy and Pillow.
"""
from __future__ import annotations

import pathlib

import numpy as np
import truth
from PIL import Image, ImageDraw, ImageFont

__all__ = ["SIDES", "draw_scan", "drawn_side_mm", "wobble_mm"]

HERE = pathlib.Path(__file__).resolve().parent
PIXELS_PER_MM = truth.DPI / 25.4

MARKER_MM = 4.0
PEN_MM = 1.0
TICK_REACH_MM = 8.0
TAG_MM = (18.0, 14.0)
TAG_BELOW_EDGE_MM = 18.0            # upper edge to the top of the box
FIGURE_MM = 7.0                     # height of the figures in a box
LETTER_MM = 13.0                    # height of the writing

WOBBLE_SEED = 5
WOBBLE_SD_MM = 0.15
WOBBLE_LENGTHS_MM = (60.0, 250.0)
WOBBLE_WAVES = 9

SIDES = {"upper": truth.upper_edge_mm, "fore": truth.fore_end_mm, "lower": truth.lower_edge_mm, "aft": truth.aft_end_mm}


def _side_lengths_mm():
    t = np.linspace(0, 1, 4001)
    return {side: float(np.hypot(*np.diff(edge(t), axis=0).T).sum()) for side, edge in SIDES.items()}


def wobble_mm(along_mm, round_mm):
    """The hand's slip, mm, inward positive: WOBBLE_WAVES sines of lengths within WOBBLE_LENGTHS_MM, sd WOBBLE_SD_MM.

    Parameters
    ----------
    along_mm : array_like, mm
        Way from the upper aft corner, clockwise as seen, of the point.
    round_mm : float
        Way all round; every wave goes into it a whole number of times, so the line closes on itself.
    """
    rng = np.random.default_rng(WOBBLE_SEED)
    fewest, most = round_mm / WOBBLE_LENGTHS_MM[1], round_mm / WOBBLE_LENGTHS_MM[0]
    times = np.round(np.geomspace(np.ceil(fewest), np.floor(most), WOBBLE_WAVES))
    phase = rng.uniform(0, 2 * np.pi, WOBBLE_WAVES)
    height = rng.uniform(0.6, 1.4, WOBBLE_WAVES)
    height *= WOBBLE_SD_MM / np.sqrt(np.sum(height ** 2) / 2)
    along = np.atleast_1d(np.asarray(along_mm, float))
    return np.sin(2 * np.pi * np.outer(along, times) / round_mm + phase) @ height


def drawn_side_mm(side, *, step_mm=0.1):
    """Middle of the marker line along one side, page axes in mm: the true edge moved square to itself by the wobble.

    Parameters
    ----------
    side : {"upper", "fore", "lower", "aft"}
    step_mm : float
        Distance between points, nearly.

    Returns
    -------
    ndarray, shape (n, 2), mm
        In the direction of the function in truth.py.
    """
    lengths = _side_lengths_mm()
    clockwise = list(SIDES)
    before = sum(lengths[name] for name in clockwise[:clockwise.index(side)])
    t = np.linspace(0, 1, int(lengths[side] / step_mm) + 2)
    points = SIDES[side](t)
    way = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if side in ("lower", "aft"):            # these two functions run against the clock
        way = lengths[side] - way
    tangent = np.gradient(points, axis=0)
    tangent /= np.hypot(*tangent.T)[:, None]
    slip = wobble_mm(before + way, sum(lengths.values()))
    if side in ("lower", "aft"):            # inward is on the other hand of these two
        slip = -slip
    return points + slip[:, None] * np.column_stack([-tangent[:, 1], tangent[:, 0]])


def _stroke(ink, points_mm, width_mm):
    """Blacken every pixel whose middle lies within half the width of one of the points (n, 2), page mm.

    Exact to the pixel, which a polygon fill is not, as long as the points lie close together.
    """
    radius = width_mm / 2 * PIXELS_PER_MM
    reach = int(np.ceil(radius)) + 1
    offset = np.arange(-reach, reach + 1)
    for x, y in points_mm * PIXELS_PER_MM - 0.5:
        column, row = round(x), round(y)
        inside = (offset[:, None] + row - y) ** 2 + (offset[None, :] + column - x) ** 2 <= radius ** 2
        ink[row - reach:row + reach + 1, column - reach:column + reach + 1] |= inside


def _rule(ink, corners_mm, width_mm):
    """A polyline (n, 2), page mm, drawn with a round pen."""
    for start, end in zip(corners_mm[:-1], corners_mm[1:]):
        count = int(np.hypot(*(end - start)) / 0.1) + 2
        _stroke(ink, start + np.outer(np.linspace(0, 1, count), end - start), width_mm)


def _letter(ink, text, middle_mm, height_mm, turn_deg=0.0):
    """Write text with capitals height_mm high, its middle at a page point, turned anticlockwise.

    Pillow's own face, so the drawing does not depend on the machine's fonts.
    """
    font = ImageFont.load_default(size=height_mm * PIXELS_PER_MM / 0.72)     # capitals are 0.72 of the size
    left, top, right, bottom = font.getbbox(text)
    patch = Image.new("L", (int(right - left) + 8, int(bottom - top) + 8), 0)
    ImageDraw.Draw(patch).text((4 - left, 4 - top), text, fill=255, font=font)
    patch = np.asarray(patch.rotate(turn_deg, resample=Image.Resampling.BICUBIC, expand=True)) > 127
    column = round(middle_mm[0] * PIXELS_PER_MM - patch.shape[1] / 2)
    row = round(middle_mm[1] * PIXELS_PER_MM - patch.shape[0] / 2)
    ink[row:row + patch.shape[0], column:column + patch.shape[1]] |= patch


def _arrow(ink, tail_mm, tip_mm, barb_mm=9.0):
    tail, tip = np.asarray(tail_mm, float), np.asarray(tip_mm, float)
    back = (tail - tip) / np.hypot(*(tail - tip)) * barb_mm
    side = np.array([-back[1], back[0]]) * 0.45
    _rule(ink, np.array([tail, tip]), 1.5)
    _rule(ink, np.array([tip + back + side, tip, tip + back - side]), 1.5)


def draw_scan():
    """The scan as a bool array (rows, columns), True where black."""
    ink = np.zeros((truth.PIXELS_HIGH, truth.PIXELS_WIDE), bool)
    for side in SIDES:
        _stroke(ink, drawn_side_mm(side), MARKER_MM)

    for frame, marks in truth.frame_marks_mm().items():
        down = marks["lower"] - marks["upper"]
        down /= np.hypot(*down)
        for edge in marks.values():
            _rule(ink, np.array([edge - TICK_REACH_MM * down, edge + TICK_REACH_MM * down]), PEN_MM)
        middle = marks["upper"] + (TAG_BELOW_EDGE_MM + TAG_MM[1] / 2) * down
        across = np.array([down[1], -down[0]])
        box = [middle + x * TAG_MM[0] / 2 * across + y * TAG_MM[1] / 2 * down
               for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))]
        _rule(ink, np.array(box), PEN_MM)
        _letter(ink, str(frame), middle_mm=middle, height_mm=FIGURE_MM, turn_deg=truth.TURN_DEG)

    # The pattern lay on the frames, so its lines are those of the inner face; the writing is on the side that faced
    # out.
    place = truth.frame_line_mm(13).mean(axis=0)
    _letter(ink, "TAMSIN GREY   STRAKE 5 STBD   IN FACE LINES   SEEN FROM OUTBOARD", middle_mm=place + [115.0, 27.0],
            height_mm=LETTER_MM,
            turn_deg=truth.TURN_DEG)
    fore = truth.frame_line_mm(8).mean(axis=0) + [75.0, 18.0]
    _letter(ink, "FWD", fore, LETTER_MM)
    _arrow(ink, fore + [26.0, 0.0], fore + [86.0, 0.0])
    aft = truth.frame_line_mm(16).mean(axis=0) + [-115.0, 22.0]
    _letter(ink, "UP", aft + [-14.0, 0.0], LETTER_MM)
    _arrow(ink, aft + [4.0, 8.0], aft + [4.0, -32.0])
    return ink


_PAGE = """<?xml version="1.0" encoding="UTF-8"?>
<svg width="{w:.6f}mm" height="{h:.6f}mm" viewBox="0 0 {w:.6f} {h:.6f}" id="page" version="1.1"
   xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
   xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
   xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd">
  <title>TAMSIN GREY, strake 5 starboard: the scan</title>
  <desc>Boat, plank and numbers are invented. The scan of the pattern, at true size.</desc>
  <sodipodi:namedview id="view" inkscape:document-units="mm" pagecolor="#ffffff" />
  <g id="layer_scan" inkscape:groupmode="layer" inkscape:label="Scan">
    <image id="scan" x="0" y="0" width="{w:.6f}" height="{h:.6f}" preserveAspectRatio="none"
           xlink:href="strake_5_scan.png" />
  </g>
</svg>
"""


def main():
    paper = Image.fromarray(~draw_scan())
    paper.save(HERE / "strake_5_scan.png", optimize=True, dpi=(truth.DPI, truth.DPI))
    (HERE / "strake_5_scan.svg").write_text(_PAGE.format(w=truth.PAGE_WIDTH_MM, h=truth.PAGE_HEIGHT_MM),
                                            encoding="utf-8")
    print("strake_5_scan.png  %d x %d pixels, %d bytes" % (*paper.size, (HERE / "strake_5_scan.png").stat().st_size))


if __name__ == "__main__":
    main()
