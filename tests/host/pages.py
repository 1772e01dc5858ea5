"""One drawing on pages of several kinds: the same places in mm, other numbers in the file."""
from __future__ import annotations

from host.reader import read

__all__ = ["PAGES", "redraw"]

_PX = 96 / 25.4
# name: user units to the mm, and the page's attributes for a page of w x h mm
PAGES = {
    "mm": (1.0, lambda w, h: 'width="%rmm" height="%rmm" viewBox="0 0 %r %r"' % (w, h, w, h)),
    "px": (_PX, lambda w, h: 'width="%r" height="%rpx"' % (w * _PX, h * _PX)),
    "two units to the mm": (2.0, lambda w, h: 'width="%rmm" height="%rmm" viewBox="0 0 %r %r"' % (w, h, 2 * w, 2 * h)),
    "inch": (1 / 25.4, lambda w, h: 'width="%rin" height="%rin" viewBox="0 0 %r %r"' % ((w / 25.4, h / 25.4) * 2)),
}


def redraw(drawing, key, page):
    """Text of a drawing that holds one object of another, on one of PAGES, its coordinates written anew in that page's units."""
    reading = read(drawing)
    per_mm, head = PAGES[page]
    text = []
    for run in reading.by_id(key).runs:
        text.append("M %r,%r" % tuple(float(v) for v in run.pieces[0][0] * per_mm))
        for piece in run.pieces:
            text.append({2: "L", 3: "Q", 4: "C"}[len(piece)] + " ".join("%r,%r" % tuple(map(float, p)) for p in piece[1:] * per_mm))
        text.append("Z" if run.closed else "")
    return ('<svg xmlns="http://www.w3.org/2000/svg" %s><path id="%s" style="fill:#000000;stroke:none" d="%s"/></svg>'
            % (head(reading.width_mm, reading.height_mm), key, " ".join(text)))
