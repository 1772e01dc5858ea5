"""Drawings made of text for the tests: an invented plank on pages of every kind."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapes import draw_outline

from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.fair.fair import FairSettings, fair_plank, measure_comb
from plankcore.scan.pattern import read_pattern

HEAD = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'xmlns:xlink="http://www.w3.org/1999/xlink" '
        'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" %s>%s</svg>')
MM_PAGE = 'width="2000mm" height="400mm" viewBox="0 0 2000 400"'


def open_drawing(body, *, page=MM_PAGE, selected=(), path=""):
    """A Drawing of an svg with this body and these page attributes."""
    return Drawing(load_document((HEAD % (page, body)).encode(), where="test").getroot(), selected, path)


def write_path_data(points, *, closed=True, digits=9):
    return "M " + " L ".join("%.*f,%.*f" % (digits, x, digits, y) for x, y in points) + (" Z" if closed else "")


def draw_plank_points(*, step=2.0):
    """The outline of an invented plank, 1700 long, sny 50, width 90 to 120 mm, fore end raked by 20 mm."""
    def upper(x):
        return 180 - 50 * np.sin(np.pi * x / 1900)

    def lower(x):
        return upper(x) + 120 - 30 * (x - 100) / 1700
    return draw_outline(upper, lower, left=100.0, right=1800.0, rake_fore=20.0, step=step)


def draw_plank(points=None, *, key="trace", more=""):
    return '<path id="%s" style="fill:#000" %s d="%s"/>' % (
        key, more, write_path_data(draw_plank_points() if points is None else points))


def fair(drawing, *, settings=FairSettings(), forward="right", comb=False, **names):
    """What the action Fair Plank does, without its command line: (plank, group)."""
    traces, group, said = drawing.find_source()
    plank = _fair_once(traces, forward=forward, settings=settings, said=said, **names)
    group, _ = drawing.write_fair(plank, group=group, sources=[t.source for t in traces], settings=settings,
                                  comb=measure_comb(plank) if comb else None)
    return plank, group


_faired = {}


def _fair_once(traces, *, forward, **asked):
    """fair_plank of what the traces show; the same plank, which nobody can change, where the same was asked before."""
    key = (forward, tuple(sorted(asked.items())), *(
        (t.label, t.edge, t.station, t.error_mm, t.told, tuple((c.tobytes(), closed) for c, closed in t.runs))
        for t in traces))
    if key not in _faired:
        # what a trace was read from stays out of what is kept
        bare = [replace(t, source=None) for t in traces]
        _faired[key] = fair_plank(read_pattern(bare, forward=forward), **asked)
    return _faired[key]


def reopen(drawing, selected=()):
    """The drawing as it is after being saved and opened again."""
    from lxml import etree
    return Drawing(load_document(etree.tostring(drawing.root), where="test").getroot(), selected, drawing.path)

