"""Writes side.svg, the patterns of the planks that are out of the invented TAMSIN GREY, and a table of frame readings
for each.

In the drawing each plank is a group of its four lines and a group of frame lines, drawn as a person draws them: few
nodes, each off by 0.15 mm (one standard deviation, seed 31), the long edges run a little past the corners. Bevel gauge,
straightedge and batten are read as a yard reads them: angles to half a degree, radii to 5 mm (beyond 3 m to 0.1 m),
bend to half a metre; a frame whose radius is beyond 12 m is called flat.

Needs numpy only: `python make_side.py`.
"""
from __future__ import annotations

from pathlib import Path

import numpy as np
from hull import FRAME_SPACING_MM, PLANKS, find_frames, lay_flat, read_frame

HERE = Path(__file__).resolve().parent
PITCH_MM, LEFT_MM, TOP_MM = 420.0, 60.0, 200.0
PAGE_WIDTH_MM = 3600.0
NODE_MM, ERROR_MM, PAST_MM = 190.0, 0.15, 6.0


def _write_curve(points, rng):
    """Path text through nodes about NODE_MM apart of a dense line (n, 2), run on past both its ends, the nodes a little
    off.
    """
    ends = [points[0] + (points[0] - points[1]) / np.hypot(*(points[0] - points[1])) * PAST_MM,
            points[-1] + (points[-1] - points[-2]) / np.hypot(*(points[-1] - points[-2])) * PAST_MM]
    points = np.vstack([ends[0], points, ends[1]])
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0, arc[-1], max(round(arc[-1] / NODE_MM), 2) + 1)

    def find(s):
        return np.column_stack([np.interp(s, arc, points[:, k]) for k in (0, 1)])
    # directions by a chord over 40 mm: the dense line is straight between its points, 5 mm apart
    low, high = np.clip(at - 20, 0, arc[-1]), np.clip(at + 20, 0, arc[-1])
    way = (find(high) - find(low)) / (high - low)[:, None]
    nodes = find(at)
    nodes = nodes + rng.normal(0, ERROR_MM, (len(nodes), 1)) * np.column_stack([-way[:, 1], way[:, 0]])
    third = (at[1] - at[0]) / 3
    text = "M %.3f,%.3f" % tuple(nodes[0])
    for k in range(len(nodes) - 1):
        text += " C %.3f,%.3f %.3f,%.3f %.3f,%.3f" % (*(nodes[k] + third * way[k]),
                                                      *(nodes[k + 1] - third * way[k + 1]), *nodes[k + 1])
    return text


def _write_plank(plank, left, top, rng):
    upper, lower, x_upper, x_lower = lay_flat(plank)
    shift = np.array([left, top])
    upper, lower = upper + shift, lower + shift
    style = 'style="fill:none;stroke:#000000;stroke-width:0.5"'
    out = ['<g inkscape:groupmode="layer" inkscape:label="strake %s" id="strake_%s">' % (plank.name, plank.name),
           '<g id="edges_%s" inkscape:label="edges">' % plank.name]
    for name, line in (("upper", upper), ("lower", lower)):
        out.append('<path id="%s_%s" inkscape:label="%s" %s d="%s"/>'
                   % (name, plank.name, name, style, _write_curve(line, rng)))
    for name, k in (("fore", 0), ("aft", -1)):
        way = (lower[k] - upper[k]) / np.hypot(*(lower[k] - upper[k])) * PAST_MM
        out.append('<path id="%s_%s" inkscape:label="%s" %s d="M %.3f,%.3f L %.3f,%.3f"/>'
                   % (name, plank.name, name, style, *(upper[k] - way), *(lower[k] + way)))
    out.append('</g><g id="frames_%s" inkscape:label="frames">' % plank.name)
    for n in find_frames(plank):
        x = FRAME_SPACING_MM * n
        a, b = (np.array([np.interp(x, xs, line[:, k]) for k in (0, 1)])
                for xs, line in ((x_upper, upper), (x_lower, lower)))
        way = (b - a) / np.hypot(*(b - a)) * 8
        out.append('<path id="frame_%s_%02d" inkscape:label="%d" %s d="M %.3f,%.3f L %.3f,%.3f"/>'
                   % (plank.name, n, n, style, *(a - way), *(b + way)))
    out.append("</g></g>")
    return out


def _round_radius(radius_mm):
    if abs(radius_mm) > 12000:
        return "flat"
    return "%.1f m" % (radius_mm / 1000) if abs(radius_mm) > 3000 else "%d" % (5 * round(radius_mm / 5))


def _write_readings(plank):
    """The yard's table: every second frame, as a yard does it, and the last."""
    frames = find_frames(plank)
    lines = ["# strake %s, starboard, TAMSIN GREY (invented). Angles between the flats of neighbouring planks, "
             "degrees; radius of the frame by" % plank.name,
             "# straightedge and wedge, mm; bend: radius along the plank by batten.",
             "frame,radius,upper angle,lower angle,bend,note"]
    for n in sorted({*frames[::2], frames[-1]}):
        read = read_frame(plank.strake, n)
        lines.append("%d,%s,%.1f,%.1f,%s," % (n, _round_radius(read["radius_mm"]), round(2 * read["upper_angle_deg"])
                                              / 2, round(2 * read["lower_angle_deg"]) / 2,
                                               "flat" if abs(read["bend_mm"]) > 60000 else "%.1f m"
                                              % (round(read["bend_mm"] / 500) / 2)))
    return "\n".join(lines) + "\n"


def write_all():
    """Write the drawing and the tables beside this file."""
    rng = np.random.default_rng(31)
    height = TOP_MM + PITCH_MM * len(PLANKS)
    out = ['<?xml version="1.0" encoding="UTF-8"?>',
           '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
           'width="%gmm" height="%gmm" viewBox="0 0 %g %g">' % (PAGE_WIDTH_MM, height, PAGE_WIDTH_MM, height),
           "<title>Tamsin Grey, invented: planks of the starboard side</title>"]
    for k, plank in enumerate(PLANKS):
        out += _write_plank(plank, LEFT_MM, TOP_MM + PITCH_MM * k, rng)
        (HERE / ("frames_%s.csv" % plank.name)).write_text(_write_readings(plank), encoding="utf-8")
    (HERE / "side.svg").write_text("\n".join(out + ["</svg>"]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_all()
