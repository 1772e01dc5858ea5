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


def redraw(drawing, keys, page):
    """Text of a drawing that holds some objects of another, on one of PAGES, their coordinates written anew in that
    page's units.

    keys : ids of paths, and of groups, which stay groups.
    """
    reading, text = read(drawing), []
    per_mm, head = PAGES[page]
    for key in keys:
        items = [i for i in reading.items if i.runs
                 and any(e.get("id") == key for e in (i.element, *i.element.iterancestors()))]
        assert items, "no line in %s" % key
        alone = items[0].element.get("id") == key
        paths = "".join(_spell_path(item, per_mm) for item in items)
        text.append(paths if alone else '<g id="%s">%s</g>' % (key, paths))
    return ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
            '%s>%s</svg>'
            % (head(reading.width_mm, reading.height_mm), "".join(text)))


def _spell_path(item, per_mm):
    text = []
    for run in item.runs:
        text.append("M %r,%r" % tuple(float(v) for v in run.pieces[0][0] * per_mm))
        for piece in run.pieces:
            text.append({2: "L", 3: "Q", 4: "C"}[len(piece)]
                        + " ".join("%r,%r" % tuple(map(float, p)) for p in piece[1:] * per_mm))
        text.append("Z" if run.closed else "")
    label = item.element.get("{http://www.inkscape.org/namespaces/inkscape}label")
    return '<path id="%s"%s style="%s" d="%s"/>' % (item.element.get("id"), ' inkscape:label="%s"' % label if label
                                                    else "", item.element.get("style", ""), " ".join(text))
