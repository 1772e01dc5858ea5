"""An invented plank simple enough to make and spoil by hand, for the refusals: outlines, edges and pages as text."""
from __future__ import annotations

import numpy as np

__all__ = ["HEAD", "PAGE", "draw_edges", "draw_outline", "draw_page", "outline_points", "spell_path"]

HEAD = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        '%s>%s</svg>')
PAGE = 'width="2000mm" height="900mm" viewBox="0 0 2000 900"'


def draw_page(body, page=PAGE):
    """A drawing as text."""
    return HEAD % (page, body)


def spell_path(points, *, closed=True):
    """Path data through points."""
    return "M " + " L ".join("%.6f,%.6f" % tuple(p) for p in points) + (" Z" if closed else "")


def _upper(x, top):
    return top + 60 - 60 * np.sin(np.pi * (x - 100) / 1700)


def outline_points(*, top=60.0):
    """Round the plank: 1700 mm long, 120 to 90 mm wide, bowed by 60 mm, fore end raked; first the upper edge, aft to
    fore.
    """
    x = np.linspace(100, 1800, 426)
    low = np.linspace(1780, 100, 421)
    return np.vstack([np.column_stack([x, _upper(x, top)]),
                      np.column_stack([low, _upper(low, top) + 120 - 30 * (low - 100) / 1700])])


def draw_outline(key="trace", *, top=60.0, points=None, more=""):
    """The outline as one path."""
    return '<path id="%s" %s d="%s"/>' % (key, more, spell_path(outline_points(top=top) if points is None else points))


def draw_edges(key, *, top=60.0):
    """The four edges as open paths in a group, run on past the corners."""
    points = outline_points(top=top)
    upper, lower = points[:426], points[426:]

    def run_on(a, b):
        way = (b - a) / np.hypot(*(b - a))
        return [a - 8 * way, b + 8 * way]
    lines = [upper, lower, run_on(upper[-1], lower[0]), run_on(lower[-1], upper[0])]
    return '<g id="%s">%s</g>' % (key, "".join('<path id="%s_%d" d="%s"/>' % (key, k, spell_path(line, closed=False))
                                               for k, line in enumerate(lines)))
