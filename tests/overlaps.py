"""What is lettered across something else on a sheet: every word's hull against every line and every other word, by
shapely's own tree. It shares no code with what lays the words out; letters are read from the strokes that are drawn.
"""
from __future__ import annotations

import numpy as np
import shapely

__all__ = ["list_crossings", "list_words_off"]

_CLEAR_MM = 0.25          # half a pen's stroke at either
_STROKE = 28.0            # of large letters half their stroke is this part of their height
_FLAT = 24                # places on each curve
_recent = []              # the page that was read last, and what was read of it: most are asked two questions


def _trace(cubics):
    """Points (k, n, 2) on cubics (k, 4, 2), by Bernstein's polynomials."""
    u = np.linspace(0, 1, _FLAT + 1)[None, :, None]
    a, b, c, d = (cubics[:, j, None] for j in range(4))
    return a * (1 - u) ** 3 + 3 * b * u * (1 - u) ** 2 + 3 * c * u ** 2 * (1 - u) + d * u ** 3


def _wrap(points):
    """The hull of lettering, with the thickness of its strokes."""
    hull = shapely.convex_hull(shapely.multipoints(points))
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(hull))
    tall = np.hypot(*np.diff(box[:3], axis=0).T).min() if len(box) > 3 else 0.0
    return shapely.buffer(hull, max(_CLEAR_MM, tall / _STROKE))


def _read(page):
    """[(words, role, hull)], [(role, pieces)], [lines to cut, each (n, 2)] of a Page, or of a plotted file as
    host.reader reads it.
    """
    if not _recent or _recent[0] is not page:
        _recent[:] = page, _read_anew(page)
    return _recent[1]


def _read_anew(page):
    words, lines, cut = [], [], []
    if hasattr(page, "items"):
        saw = "saw" if page.find("saw") else "outline"
        for item in page.items:
            if item.runs and "text" in item.values:
                words.append((item.values["text"], item.role,
                              _wrap(np.vstack([piece for run in item.runs for piece in run.pieces]))))
            elif item.runs and item.role != "sheet":
                lines += [(item.role, shapely.linestrings(run.trace(_FLAT))) for run in item.runs]
                cut += [run.trace(_FLAT) for run in item.runs if item.role in (saw, "part-saw")]
        return words, lines, cut
    for line in page.lines:
        cubics = np.asarray(line.cubics)
        text = dict(line.values).get("text")
        if text is not None:
            words.append((text, line.role, _wrap(cubics[:, [0, 3]].reshape(-1, 2))))
        else:
            lines += [(line.role, piece) for piece in shapely.linestrings(_trace(cubics))]
            cut += [_trace(cubics).reshape(-1, 2)] * (line.pen == "cut")
    return words, lines, cut


def list_crossings(page):
    """In words, each pair that lies across the other."""
    words, lines, _ = _read(page)
    hulls, pieces = [w[2] for w in words], [piece for _, piece in lines]
    found = []
    if pieces and hulls:
        for k, j in shapely.STRtree(pieces).query(hulls, predicate="intersects").T:
            found.append("'%s' (%s) is crossed by a line of role %s" % (words[k][0], words[k][1], lines[j][0]))
    for k, j in shapely.STRtree(hulls).query(hulls, predicate="intersects").T:
        if k < j:
            found.append("'%s' (%s) lies across '%s' (%s)" % (words[k][0], words[k][1], words[j][0], words[j][1]))
    return list(dict.fromkeys(found))


def list_words_off(page, roles=("name",)):
    """Words of these roles that do not lie wholly within the line to cut, and any that lie off the page."""
    words, _, rings = _read(page)
    cut = [shapely.Polygon(ring) for ring in rings]
    sheet = shapely.box(0, 0, page.width_mm, page.height_mm)
    found = ["'%s' lies off the page" % text for text, _, hull in words if not sheet.covers(hull)]
    return found + ["'%s' lies outside its strip" % text for text, role, hull in words
                    if role in roles and not any(one.buffer(0).covers(hull) for one in cut)]
