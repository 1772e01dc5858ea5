"""The same work done over with other slips: what the sample of two photographs gives on the whole, not only with its own seeds.

Each repeat sticks the tags, reads the tape and draws the butt anew (samples/tamsin_grey/strake_6, other seeds), and runs the recipe to the sheet. The
shapes are the exact views of what is drawn, in place of the tracer's, which adds some hundredths of a millimetre. Printed beside the limits of end_to_end.py: mean
and largest of the worst and the rms distance of the net outline from the truth, and of the errors of scale; how many repeats keep all limits.

    python tests/benchmarks/end_to_end_repeats.py [REPEATS]        20 unless said; 4 s each
"""
from __future__ import annotations

import sys
import tempfile
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import end_to_end
import numpy as np
from end_to_end import SAMPLE, truth

import draw_photos  # noqa: E402
import make_drawing  # noqa: E402

ROUND = 2 * np.pi * np.arange(72)[:, None] / 72


def draw_shapes(photo):
    """Path text of everything to be read on a photograph, on the page of the picture as it comes."""
    shapes = [corners for _, _, corners in draw_photos.place_tags() if (corners.mean(axis=0)[0] < make_drawing.SEAM_MM) == (photo == "aft")]
    shapes += [place + draw_photos.DOT_MM / 2 * np.hstack([np.cos(ROUND), np.sin(ROUND)]) for place in truth.controls_mm().values() if draw_photos.sees(photo, place)]
    if photo == "aft":
        shapes.append(draw_butt())
    view = draw_photos.find_view(photo)
    return " ".join("M " + " L ".join("%.5f,%.5f" % tuple(p) for p in draw_photos.apply_view(view, s) * draw_photos.PX_MM) + " z" for s in shapes)


def draw_butt():
    """Outline of the marker line at the butt."""
    upper, lower = truth.aft_end_mm([0.0, 1.0])
    length = float(np.hypot(*(lower - upper)))
    along = (lower - upper) / length
    aft = np.array([-along[1], along[0]])
    s = np.linspace(draw_photos.PLY_INSIDE_MM + 1, length - draw_photos.PLY_INSIDE_MM - 1, 200)
    slip = np.abs(draw_photos._wobble(s, length))[:, None]
    near = upper + np.outer(s, along) + slip * aft
    return np.vstack([near, (near + draw_photos.MARKER_MM * aft)[::-1]])


def repeat(seed):
    """Figures of one repeat."""
    draw_photos.TAG_SEED, draw_photos.TAPE_SEED, draw_photos.HAND_SEED = 1000 + seed, 2000 + seed, 3000 + seed
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for photo in draw_photos.PHOTOS:
            (place / ("strake_6_%s_traced.svg" % photo)).write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="%s"/></svg>' % draw_shapes(photo))
        make_drawing.HERE = place
        with redirect_stdout(StringIO()):
            make_drawing.make_drawing()
        (place / "strake_6.toml").write_text((SAMPLE / "strake_6.toml").read_text(encoding="utf-8"))
        return end_to_end.measure(*end_to_end.run_sample(place / "results", recipe=place / "strake_6.toml"))


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    rows = np.abs([[f["worst"], f["rms"], 100 * f["length"], 100 * f["along"], 100 * f["across"]] for f in map(repeat, range(count))])
    limits = [end_to_end.WORST_LIMIT_MM, np.inf] + 3 * [100 * end_to_end.SCALE_LIMIT]
    print("%d repeats" % count)
    for name, column, limit in zip(("worst distance, mm", "rms distance, mm", "length, %", "scale along, %", "scale across, %"), rows.T, limits):
        print("  %-20s mean %.4f   largest %.4f%s" % (name, column.mean(), column.max(), "" if np.isinf(limit) else "   limit %g, kept by %d" % (limit, np.count_nonzero(column <= limit))))
    print("  all limits kept by %d" % np.count_nonzero(np.all(rows <= limits, axis=1)))


if __name__ == "__main__":
    main()
