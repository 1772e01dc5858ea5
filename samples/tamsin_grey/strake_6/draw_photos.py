"""Draws strake_6_aft.png and strake_6_fore.png: the invented pattern of strake 6 as two photographs, overlapping
amidships.

Each is what a pinhole camera sees that hangs over half the pattern and is tilted by a few degrees: a plain perspective,
known exactly, with no bulge of a lens. A floor, a ply pattern, dark tags butted to the neighbours' edges, five narrow
ones pushed into the rabbet of the stem, a marker line along a straightedge where the butt is to be, a net of dots taped
to the floor; frame numbers and other writing, a few specks. Everything is invented, and drawn the same each time.

    python draw_photos.py          writes both pictures, and both drawings to trace, beside this file

Needs numpy and Pillow (10.1 or later).
"""
from __future__ import annotations

import pathlib

import numpy as np
import strake_6_truth as truth
from PIL import Image, ImageDraw, ImageFont

__all__ = [
    "PHOTOS",
    "PIXELS_HIGH",
    "PIXELS_WIDE",
    "PX_MM",
    "apply_view",
    "find_view",
    "measure_controls",
    "place_tags",
    "sees",
]

HERE = pathlib.Path(__file__).resolve().parent
PIXELS_WIDE, PIXELS_HIGH = 7200, 2950
FOCUS_PX = 8400.0                   # of the lens, in pixels: 3 px to the mm from 2.8 m
PX_MM = 25.4 / 96                   # size of a pixel on the page of a picture that does not say its size

# middle of what the camera looks at on the floor, mm; its height, mm; tilt along and across the pattern, and turn, in
# degrees
PHOTOS = {"aft": ((1180.0, 500.0), 2800.0, 1.6, -2.1, 0.5), "fore": ((3020.0, 500.0), 2790.0, -1.3, 2.4, -0.7)}

FLOOR, PLY, INK = 0.80, 0.72, 0.10  # tones; the tracer's cutoff of 0.45 is midway between ink and floor
FINE = 4                            # each pixel is the mean of FINE x FINE

# narrow strips in the rabbet, to see its bow
TAG_MM = {"upper": (45.0, 20.0), "lower": (45.0, 20.0), "fore": (45.0, 12.0)}
# how far off the edge a tag is stuck, and how far out of square
TAG_SEED, TAG_SD_MM, TAG_TURN_SD_DEG = 61, 0.2, 0.4
DOT_MM = 8.0                        # across
TAPE_SEED, TAPE_SD_MM = 62, 0.2     # in x and in y
MARKER_MM = 3.5
HAND_SEED, HAND_SD_MM = 63, 0.1     # wobble of the marker along the straightedge
PLY_INSIDE_MM = 14.0                # the ply stands this far inside the opening
FIGURE_MM, LETTER_MM = 10.0, 22.0


def find_view(photo):
    """Homography (3, 3) from the floor in mm to the photograph in pixels from its upper left corner."""
    (x, y), height, along, across, turn = PHOTOS[photo]
    a, b, c = np.radians([along, across, turn])
    roll = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    pitch = np.array([[1, 0, 0], [0, np.cos(b), -np.sin(b)], [0, np.sin(b), np.cos(b)]])
    yaw = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    turned = roll @ pitch @ yaw
    lens = np.array([[FOCUS_PX, 0, PIXELS_WIDE / 2], [0, FOCUS_PX, PIXELS_HIGH / 2], [0, 0, 1]])
    # a floor point from the middle, turned as the camera sees it, and let down by its height
    seen = np.column_stack([turned[:, 0], turned[:, 1], [0.0, 0.0, height]])
    return lens @ seen @ np.array([[1, 0, -x], [0, 1, -y], [0, 0, 1]])


def apply_view(view, points):
    """Points (n, 2) through a homography."""
    points = np.atleast_2d(np.asarray(points, float))
    out = np.column_stack([points, np.ones(len(points))]) @ view.T
    return out[:, :2] / out[:, 2:]


def sees(photo, points, *, margin_px=20.0):
    """Whether all of points (n, 2), mm on the floor, lie in a photograph, this far from its border."""
    at = apply_view(find_view(photo), points)
    return bool(np.all(at > margin_px) and np.all(at < [PIXELS_WIDE - margin_px, PIXELS_HIGH - margin_px]))


def place_tags():
    """[(edge, frame or 0, corners (4, 2))] of the tags as stuck: outboard end first, its middle off the true edge by a
    seeded error.
    """
    rng = np.random.default_rng(TAG_SEED)
    out = []
    for edge, frame, place, outboard in truth.tag_marks_mm():
        long, wide = TAG_MM[edge]
        off, turn = rng.normal(0, TAG_SD_MM), np.radians(rng.normal(0, TAG_TURN_SD_DEG))
        way = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ outboard
        side = np.array([-way[1], way[0]]) * wide / 2
        end = place + off * outboard
        out.append((edge, frame, np.array([end - side, end + side, end + side - long * way, end - side - long * way])))
    return out


def measure_controls():
    """Name to what the tape says of each dot (2,), mm to one decimal: its true place with a seeded error."""
    rng = np.random.default_rng(TAPE_SEED)
    return {name: np.round(place + rng.normal(0, TAPE_SD_MM, 2), 1) for name, place in truth.controls_mm().items()}


def _wobble(along_mm, length_mm):
    """The hand's slip, mm: six waves of 30 to 120 mm."""
    rng = np.random.default_rng(HAND_SEED)
    waves, phase, height = np.geomspace(30, 120, 6), rng.uniform(0, 2 * np.pi, 6), rng.uniform(0.6, 1.4, 6)
    height *= HAND_SD_MM / np.sqrt(np.sum(height ** 2) / 2)
    return np.sin(2 * np.pi * along_mm[:, None] / waves + phase) @ height


def _ply_mm():
    """Outline of the ply: inside the opening, and run on past the butt."""
    t = np.linspace(-0.012, 1 - 0.004, 400)
    upper, lower = truth.upper_edge_mm(t), truth.lower_edge_mm(t)
    across = (lower - upper) / np.hypot(*(lower - upper).T)[:, None]
    return np.vstack([upper + PLY_INSIDE_MM * across, (lower - PLY_INSIDE_MM * across)[::-1]])


class _Picture:
    """A grey picture, drawn on in mm of the floor."""

    def __init__(self, photo):
        self.view = find_view(photo)
        self.back = np.linalg.inv(self.view)
        self.tone = np.full((PIXELS_HIGH, PIXELS_WIDE), FLOOR, np.float32)

    def fill(self, corners, tone):
        """A large shape, to the pixel."""
        mask = Image.new("1", (PIXELS_WIDE, PIXELS_HIGH))
        ImageDraw.Draw(mask).polygon([tuple(p) for p in apply_view(self.view, corners)], fill=1)
        self.tone[np.asarray(mask)] = tone

    def ink(self, around, inside):
        """Whatever of the floor within the box round points (n, 2) is inside; inside(points) tells for mm on the floor.
        """
        at = apply_view(self.view, around)
        low = np.maximum(np.floor(at.min(axis=0)).astype(int) - 2, 0)
        high = np.minimum(np.ceil(at.max(axis=0)).astype(int) + 3, [PIXELS_WIDE, PIXELS_HIGH])
        if np.any(high <= low):
            return
        wide, tall = high - low
        x = low[0] + (np.arange(wide * FINE) + 0.5) / FINE
        y = low[1] + (np.arange(tall * FINE) + 0.5) / FINE
        points = apply_view(self.back, np.column_stack([g.ravel() for g in np.meshgrid(x, y)]))
        cover = inside(points).reshape(tall, FINE, wide, FINE).mean(axis=(1, 3))
        part = self.tone[low[1]:high[1], low[0]:high[0]]
        part += (INK - part) * cover

    def ink_polygon(self, corners):
        """A convex polygon (n, 2)."""
        turn = np.sign(np.sum(corners[:, 0] * np.roll(corners[:, 1], -1) - corners[:, 1] * np.roll(corners[:, 0], -1)))

        def inside(points):
            within = np.ones(len(points), bool)
            for a, b in zip(corners, np.roll(corners, -1, axis=0)):
                within &= turn * ((b[0] - a[0]) * (points[:, 1] - a[1]) - (b[1] - a[1]) * (points[:, 0] - a[0])) >= 0
            return within
        self.ink(corners, inside)

    def ink_disc(self, middle, across_mm):
        r = across_mm / 2
        self.ink(middle + r * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]),
                 lambda p: np.sum((p - middle) ** 2, axis=1) <= r * r)

    def ink_words(self, text, middle, height_mm, turn_deg=0.0):
        """Capitals height_mm high, their middle at a place. Pillow's own face, so the picture does not depend on the
        machine's fonts.
        """
        fine = 6.0                                             # dots to the mm
        font = ImageFont.load_default(size=height_mm * fine / 0.72)
        left, top, right, bottom = font.getbbox(text)
        patch = Image.new("L", (int(right - left) + 8, int(bottom - top) + 8), 0)
        ImageDraw.Draw(patch).text((4 - left, 4 - top), text, fill=255, font=font)
        mask = np.asarray(patch) > 127
        turn = np.radians(turn_deg)
        spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        half = np.array(patch.size) / fine / 2

        def inside(points):
            cell = np.floor(((points - middle) @ spin.T + half) * fine).astype(int)
            within = np.all(cell >= 0, axis=1) & (cell[:, 0] < mask.shape[1]) & (cell[:, 1] < mask.shape[0])
            out = np.zeros(len(points), bool)
            out[within] = mask[cell[within, 1], cell[within, 0]]
            return out
        self.ink(middle + (np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half) @ spin, inside)

    def ink_butt(self):
        """The marker run along the outboard side of a straightedge laid on the butt, from border to border of the ply.
        """
        upper, lower = truth.aft_end_mm([0.0, 1.0])
        length = float(np.hypot(*(lower - upper)))
        along = (lower - upper) / length
        outboard = np.array([-abs(along[1]),
                             abs(along[0])]) if along[0] > 0 else np.array([-abs(along[1]), -abs(along[0])])

        def inside(points):
            s, out = (points - upper) @ along, (points - upper) @ outboard
            # the straightedge keeps the pen out, the hand lets it wander off
            slip = np.abs(_wobble(s, length))
            ends = (s > PLY_INSIDE_MM + 1) & (s < length - PLY_INSIDE_MM - 1)
            return ends & (out >= slip) & (out <= slip + MARKER_MM)
        self.ink(np.array([upper, lower, upper + 8 * outboard, lower + 8 * outboard]), inside)


def draw_photo(photo):
    """One photograph as an array of grey tones, 0 to 1."""
    picture = _Picture(photo)
    picture.fill(_ply_mm(), PLY)
    for _, _, corners in place_tags():
        picture.ink_polygon(corners)
    for name, place in truth.controls_mm().items():
        picture.ink_disc(place, DOT_MM)
        picture.ink_words(name, place + [0.0, 22.0], FIGURE_MM)
    picture.ink_butt()
    for frame, marks in truth.frame_marks_mm().items():
        picture.ink_words(str(frame), (marks["upper"] + marks["lower"]) / 2 + [22.0, 0.0], FIGURE_MM)
    lines = {"TAMSIN GREY  STRAKE 6  STBD": (13, 12), "IN FACE  SEEN FROM OUTBOARD": (18, 17), "FWD": (9, 8),
             "UP": (21, 20)}
    for text, frames in lines.items():
        pairs = [truth.frame_marks_mm()[f] for f in frames]
        middle = np.mean([p[e] for p in pairs for e in ("upper", "lower")], axis=0)
        # clear of the frame numbers
        picture.ink_words(text, middle + [20.0, 0.0], LETTER_MM if len(text) < 4 else 6.5)
    for x, y, across in ((700.0, 842.0, 2.0), (1500.0, 120.0, 1.5), (2210.0, 800.0, 2.5), (2750.0, 160.0, 2.0),
                         (3400.0, 520.0, 1.2), (3700.0, 880.0, 3.0)):
        picture.ink_disc(np.array([x, y]), across)
    return picture.tone


_PAGE = """<?xml version="1.0" encoding="UTF-8"?>
<svg width="{w:.6f}mm" height="{h:.6f}mm" viewBox="0 0 {w:.6f} {h:.6f}" id="page" version="1.1"
   xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
   xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
   xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd">
  <title>TAMSIN GREY, strake 6 starboard: photograph, {photo} half</title>
  <desc>Boat, plank and numbers are invented.
  The photograph as it comes, 96 pixels to the inch: not at true size.</desc>
  <sodipodi:namedview id="view" inkscape:document-units="mm" pagecolor="#ffffff" />
  <g id="layer_photo" inkscape:groupmode="layer" inkscape:label="Photograph">
    <image id="scan" x="0" y="0" width="{w:.6f}" height="{h:.6f}" preserveAspectRatio="none"
           xlink:href="strake_6_{photo}.png" />
  </g>
</svg>
"""


def main():
    for photo in PHOTOS:
        tone = draw_photo(photo)
        # sixteen greys are enough at the borders of a shape, and keep the file small
        steps = np.round(tone * 15).astype(np.uint8)
        picture = Image.fromarray(steps * 17)
        path = HERE / ("strake_6_%s.png" % photo)
        picture.save(path, optimize=True)
        (HERE / ("strake_6_%s.svg" % photo)).write_text(_PAGE.format(w=PIXELS_WIDE * PX_MM, h=PIXELS_HIGH * PX_MM,
                                                                     photo=photo), encoding="utf-8")
        inside = [n for n, p in truth.controls_mm().items() if sees(photo, p)]
        print("%-20s %d x %d pixels, %d bytes, %d dots" % (path.name, *picture.size, path.stat().st_size, len(inside)))


if __name__ == "__main__":
    main()
