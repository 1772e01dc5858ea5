"""Control labels, control shapes, what is carried and how. Refusals first; drawings are text, made here."""
from dataclasses import replace

import numpy as np
import pytest
from drawings import open_drawing, reopen
from lxml import etree

from plankcore.actions import JOIN, TRUE_UP
from plankcore.document import carry, controls, names, pieces, transforms
from plankcore.document.control_labels import looks_like_control, read_control_label
from plankcore.document.pathdata import read_path
from plankcore.document.read import find_total_map, read_trace
from plankcore.document.write import write_fit_report
from plankcore.errors import PatternError, PlankError, SelectionError
from plankcore.geometry.bezier import evaluate_cubics
from plankcore.geometry.plane_maps import PlaneMap
from plankcore.scan import true_up as truing
from plankcore.scan.join import JoinSettings, join_pieces

PAGE = 'width="2000mm" height="400mm" viewBox="0 0 2000 400"'
PAGES = [PAGE, 'width="2000mm" height="400mm" viewBox="0 0 7559.05511811 1511.81102362"',
         'width="78.7401574803in" height="15.7480314961in" viewBox="10 -20 1000 200"']
NET = np.array([(0, 0), (2000, 0), (4000, 0), (0, 300), (2000, 300), (4000, 300)], float)
VIEW = {"scale": PlaneMap([[0.25, -0.02, 30], [0.02, 0.25, 9]]), "affine": PlaneMap([[0.25, 0.03, 4], [0, 0.24, 9]]),
        "perspective": PlaneMap([[0.3, 0.02, 5], [0.01, 0.29, 2], [4e-5, -1e-4, 1]])}
TRACE = "M 100,40 C 300,-20 600,90 900,30 L 900,90 C 700,60 300,120 100,100 Z"


NETS = np.array([(x, y) for y in (0, 140, 300) for x in (0, 1100, 2100, 3000, 4000)], float)


def squeeze(points, bulge):
    """Points as a lens draws them that moves a point 550 mm from its middle by a share: r (1 - b (r / 550)^2), its
    middle that of the points' extent.
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    off = points - middle
    return middle + off * (1 - bulge * np.sum(off ** 2, axis=1) / 550 ** 2)[:, None]


def dot(key, at, label=None, size=4.0):
    said = "" if label is None else 'inkscape:label="%s"' % label
    return '<circle id="%s" %s cx="%.9f" cy="%.9f" r="%g"/>' % (key, said, *at, size)


def word(key, at, text):
    return '<text id="%s" x="%g" y="%g"><tspan>%s</tspan></text>' % (key, *at, text)


def net(view, form="%g, %g mm", points=NET):
    return "".join(dot("c%d" % k, at, form % tuple(true))
                   for k, (at, true) in enumerate(zip(view.apply(points), points)))


def scan(body, *, more="", inside=""):
    return ('<g id="scan" inkscape:groupmode="layer" inkscape:label="Bow" style="opacity:0.5" %s><path id="trace" '
            'class="k" style="fill:#123" d="%s"/>%s</g>%s' % (more, TRACE, inside, body))


def true_up(drawing, *, unit="mm", **settings):
    """What the action does, without its command line."""
    found = controls.read_scan(drawing, unit=unit)
    fit = truing.true_up(found.points, found.lengths, found.rectangles, reach=found.reach,
                         settings=truing.TrueUpSettings(**settings))
    key, left = carry.carry_scan(drawing, found, fit)
    write_fit_report(drawing, action=TRUE_UP, facts=fit.facts, misfits=fit.misfits,
                                findings=[*fit.findings, *left], box=fit.plane_map.apply(found.reach), of=key)
    return found, fit, [f.text for f in left]


def find(drawing, key):
    return drawing.root.xpath("//*[@id='%s']" % key)[0]


def write(drawing):
    """The drawing as text, its attributes in order."""
    root = reopen(drawing).root
    names.register()
    names.tidy(root)
    return etree.tostring(etree.fromstring(etree.tostring(root)), method="c14n")


def place(drawing, key):
    return np.concatenate([evaluate_cubics(c, np.linspace(0, 1, 33)).reshape(-1, 2)
                           for c, _ in read_trace(find(drawing, key), drawing.page).runs])


# -- labels -----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("text",
                         ["12oo, 300", "0, 0, 0", "12,5, 30,0", "1200,", ", 300", "1200 furlongs", "1000 x 600 x 3",
                          "1000 x", "0 mm", "-5", "0 x 600", "1200, nan", "1e3, 4", "5 - 3, 2",
                                  "1200, 300 \u00b1 lots", "1200, 300 \u00b1 0", "1000 mmm", "4-13-5, 0", "1/0, 3"])
def test_a_label_that_is_no_length_is_refused_with_the_label(text):
    with pytest.raises(SelectionError) as caught:
        read_control_label(text, unit="mm", who="'c' (circle5)")
    assert "'%s'" % text in caught.value.problem and caught.value.where == "'c' (circle5)" and caught.value.remedy


@pytest.mark.parametrize("text, unit, kind, values, error", [
    ("0, 0", "mm", "point", (0, 0), 0), ("1200 mm, 300 mm", "in", "point", (1200, 300), 0),
    ("-20, +3.5", "mm", "point", (-20, 3.5), 0), ("4-3-5, 0", "mm", "point", (25.4 * 51.625, 0), 0),
    ("1 1/4, 3/32", "in", "point", (31.75, 25.4 * 3 / 32), 0), ("1200, 300 mm", "in", "point", (1200, 300), 0),
    ("1.2 m; 30 cm", "mm", "point", (1200, 300), 0), ("A1: 5, 6", "mm", "point", (5, 6), 0),
    ("bow = 5, 6", "cm", "point", (50, 60), 0), ("1200, 300 mm \u00b1 0.5 mm", "in", "point", (1200, 300), 0.5),
    ("1200, 300 +/- 1/2", "in", "point", (30480, 7620), 12.7),
    ("1000 mm", "in", "length", (1000,), 0), ("39 3/8 in", "mm", "length", (1000.125,), 0),
    ("4' 3 1/2\"", "mm", "length", (1308.1,), 0), ("1000\u00b10.2", "mm", "length", (1000,), 0.2),
    ("1000 x 600 mm", "in", "rectangle", (1000, 600), 0), ("1 m x 600 mm", "mm", "rectangle", (1000, 600), 0),
    ("297\u00d7210", "mm", "rectangle", (297, 210), 0), ("1000X600", "mm", "rectangle", (1000, 600), 0)])
def test_labels_that_can_be_read(text, unit, kind, values, error):
    label = read_control_label(text, unit=unit, who="c")
    assert (label.kind, label.values_mm, label.error_mm) == (kind, pytest.approx(values),
                                                             pytest.approx(error)) and looks_like_control(text)


@pytest.mark.parametrize("text", ["", None, "upper 12", "plank edge", "A", "F12", "tag"])
def test_other_labels_are_no_controls(text):
    assert not looks_like_control(text)


# -- the selection ------------------------------------------------------------------------------------------------

FULL = scan(net(VIEW["scale"]))
IDS = ["scan"] + ["c%d" % k for k in range(6)]


@pytest.mark.parametrize("body, selected, error, said", [
    (FULL, [], SelectionError, "Nothing is selected"),
    (scan(dot("c0", (50, 50), "0, 0") + dot("c1", (500, 60), "12oo, 300")), ["scan", "c0", "c1"], SelectionError,
     "'12oo, 300'"),
    (scan("", inside=dot("c0", (50, 50), "12oo, 300")), ["scan"], SelectionError, "'12oo, 300'"),
    (scan(dot("c0", (50, 50), "0, 0") + dot("c1", (500, 60))), ["scan", "c0", "c1"], SelectionError, "c1 has no label"),
    (scan(dot("c0", (50, 50), "0, 0") + dot("c1", (500, 60), "bow")), ["scan", "c0", "c1"], SelectionError,
     "'bow' is no pair of lengths"),
    (scan(dot("c0", (50, 50), "1200")), ["scan", "c0"], SelectionError, "one length, but it is no straight line"),
    (scan('<path id="c0" inkscape:label="1200" d="M 0,0 L 500,5 L 1000,0"/>'), ["scan", "c0"], SelectionError,
     "no straight line"),
    (scan(dot("c0", (50, 50), "100 x 60")), ["scan", "c0"], SelectionError, "no shape of four straight sides"),
    (scan('<path id="c0" inkscape:label="100 x 60" d="M 0,0 L 500,0 L 500,99 Z"/>'), ["scan", "c0"], SelectionError,
     "four straight sides"),
    (scan('<rect id="c0" inkscape:label="100 x 60" x="0" y="0" width="99" height="99" rx="9"/>'), ["scan", "c0"],
     SelectionError, "four straight sides"),
    (net(VIEW["scale"]), ["c0", "c1"], SelectionError, "lie in no layer"),
    ('<g id="p" plank:role="plank" xmlns:plank="urn:plankcore:1">%s</g>' % scan(""), ["scan"], PatternError,
     "part of a fair plank"),
    ('<g id="empty"/>', ["empty"], SelectionError, "how large"),
])
def test_a_selection_that_cannot_be_used_is_refused(body, selected, error, said):
    drawing = open_drawing(body, page=PAGE, selected=selected)
    with pytest.raises(error, match=said) as caught:
        true_up(drawing)
    assert caught.value.remedy


@pytest.mark.parametrize("page", PAGES)
def test_points_are_the_middles_of_their_shapes_in_mm_on_any_page(page):
    drawing = open_drawing(scan('<path id="x" inkscape:label="10, 20" d="M 50,40 L 56,40 M 53,37 L 53,43"/>'
                                + dot("c0", (500, 60), "900 mm, 0")), page=page, selected=["scan", "x", "c0"])
    found = controls.read_scan(drawing, unit="cm")
    want = transforms.apply(drawing.page.user_to_mm, np.array([(53, 40), (500, 60)], float))
    assert sorted((p.true, p.at) for p in found.points) == [((100.0, 200.0), pytest.approx(tuple(want[0]))),
                                                            ((900.0, 0.0), pytest.approx(tuple(want[1])))]
    assert [e.get("id") for e in found.carried] == ["scan"] and {p.label for p in found.points} == {"10, 20",
                                                                                                    "900 mm, 0"}


def test_a_line_gives_its_length_and_a_rectangle_its_corners_from_the_top_left_the_long_way():
    wide = '<path id="r" inkscape:label="600 x 1000 mm" d="M 510,300 L 20,310 L 10,20 L 500,10 Z"/>'
    tall = ('<rect id="s" inkscape:label="A: 1000 x 600" x="600" y="10" width="60" height="100" '
            'transform="translate(5,0)"/>')
    drawing = open_drawing(scan('<line id="l" inkscape:label="1 m" x1="3" y1="4" x2="253" y2="4"/>' + wide + tall),
                           page=PAGE, selected=["scan", "l", "r", "s"])
    found = controls.read_scan(drawing, unit="mm")
    length, = found.lengths
    assert length.length_mm == 1000 and length.ends == ((3, 4), (253, 4)) and "l" in length.label
    first, second = found.rectangles
    assert first.corners == ((10, 20), (500, 10), (510, 300), (20, 310)) and first.sides_mm == (1000, 600)
    assert second.corners == ((605, 10), (665, 10), (665, 110), (605, 110)) and second.sides_mm == (600, 1000)


def test_the_nearest_text_speaks_for_a_shape_without_a_label():
    body = scan(dot("a", (50, 50)) + dot("b", (900, 60)) + word("t1", (55, 48), "0, 0")
                + word("t2", (905, 58), "3400 mm, 0") + word("t3", (700, 58), "99, 99") + word("t4", (52, 50), "bow"))
    found = controls.read_scan(open_drawing(body, page=PAGE, selected=["scan", "a", "b"]), unit="mm")
    assert sorted((p.true, p.at) for p in found.points) == [((0, 0), (50, 50)), ((3400, 0), (900, 60))]
    assert sorted(w.get("id") for w in found.words) == ["t1", "t2"]
    with pytest.raises(SelectionError, match="no text beside it"):
        controls.read_scan(open_drawing(body.replace('x="905"', 'x="1500"').replace('x="700"', 'x="1600"'), page=PAGE,
                                        selected=["scan", "a", "b"]), unit="mm")


def test_what_is_carried():
    inside = scan("", inside=net(VIEW["scale"]))
    assert [e.get("id") for e in controls.read_scan(open_drawing(inside, page=PAGE, selected=["scan"]),
                                                    unit="mm").carried] == ["scan"]
    assert [e.get("id") for e in controls.read_scan(open_drawing(inside, page=PAGE, selected=["c0", "c1"]),
                                                    unit="mm").carried] == ["scan"]
    both = '<image id="im" x="1" y="2" width="900" height="90"/>' + FULL
    assert [e.get("id")
            for e in controls.read_scan(open_drawing(both, page=PAGE, selected=["im", "trace", "scan", "c0", "c1"]),
                                        unit="mm").carried] == ["im", "scan"]


# -- carrying -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("view", VIEW)
@pytest.mark.parametrize("more", ["", 'transform="translate(3,4) rotate(7) scale(1.3)"'])
def test_the_trace_comes_to_true_size_in_its_group_with_ids_and_styles(page, view, more):
    calm = open_drawing(scan("", more=more), page=page)
    back = transforms.invert(calm.page.user_to_mm)
    spots = transforms.apply(back, VIEW[view].apply(NET))
    drawing = open_drawing(scan("".join(dot("c%d" % k, at, "%g, %g mm" % tuple(t), size=4 / calm.page.mm_per_unit)
                                        for k, (at, t) in enumerate(zip(spots, NET))), more=more), page=page,
                           selected=IDS)
    before = place(drawing, "trace")
    _, fit, _ = true_up(drawing, most_far_mm=1000)
    assert fit.map == view
    after = reopen(drawing)
    want = VIEW[view].invert().apply(before)
    got = place(after, "trace")
    if view != "perspective":
        assert got == pytest.approx(want, abs=1e-6)
        assert find(after, "trace").get("d") == TRACE and (find(after, "scan").attrib.get("transform")
                                                           or "") != (find(calm, "scan").attrib.get("transform") or "")
    else:
        # every wanted place lies on the new path, and the new path is no longer than needed
        for p in want[::5]:
            assert np.hypot(*(got - p).T).min() < 0.02 + 0.6 * np.hypot(*np.diff(got, axis=0).T).max()
        assert find(after, "scan").attrib.get("transform") == find(calm, "scan").attrib.get("transform")
    assert place(after, "c4").mean(axis=0) == pytest.approx([2000, 300], abs=2)
    assert find(after, "trace").get("style") == "fill:#123" and find(after, "trace").get("class") == "k" and find(
        after, "scan").get("style") == "opacity:0.5"
    group = find(after, "scan")
    assert names.get(group, "role") == "trued" and names.get(group, "map") == view and float(
        names.get(group, "freedom")) == fit.freedom and names.get(group, "proved") == "yes"
    assert float(names.get(group, "sigma0-mm")) < 1e-3 and float(names.get(group, "worst-mm")) < 1e-3


def test_a_perspective_is_true_to_a_fiftieth_of_a_mm_and_makes_paths_of_shapes():
    shapes = ('<circle id="o" cx="500" cy="60" r="30"/><rect id="q" x="600" y="30" width="80" height="40"/><line '
              'id="l" x1="300" y1="50" x2="700" y2="55"/><path id="none" d=""/><path id="still" d="M 5,5"/>')
    drawing = open_drawing(scan(net(VIEW["perspective"]), inside=shapes), page=PAGE, selected=IDS)
    before = {k: place(drawing, k) for k in ("o", "q", "l", "trace")}
    true_up(drawing)
    for key, old in before.items():
        want = VIEW["perspective"].invert().apply(old)
        got = np.concatenate([evaluate_cubics(s.cubics, np.linspace(0, 1, 300)).reshape(-1, 2)
                              for s in read_path(find(drawing, key).get("d"), where=key)])
        for p in want:
            near = np.argsort(np.hypot(*(got - p).T))[:3]
            a, b = got[near[0]], got[near[1]]
            t = np.clip((p - a) @ (b - a) / max((b - a) @ (b - a), 1e-12), -1, 1)
            assert np.hypot(*(a + t * (b - a) - p)) < 0.02
        assert etree.QName(find(drawing, key)).localname == "path" and not set(find(drawing, key).attrib) & {
            "cx", "r", "width", "x1"}
    assert len(read_path(find(drawing, "l").get("d"), where="l")[0].cubics) == 1
    assert find(drawing, "none").get("d") == "" and find(drawing, "still").get("d") == "M 5,5"


def test_what_cannot_follow_a_perspective_is_named():
    inside = ('<image id="photo" x="0" y="0" width="900" height="90"/>' + word("t", (500, 60), "tag")
              + '<use id="twin" href="#trace"/>' +
              '<path id="masked" clip-path="url(#c)" d="M 200,50 L 300,50"/><path id="star" sodipodi:type="star" '
              'sodipodi:sides="5" inkscape:path-effect="#e" inkscape:original-d="M 0,0 L 1,1" d="M 200,60 L 300,60"/>')
    drawing = open_drawing(scan(net(VIEW["perspective"]), inside=inside), page=PAGE, selected=IDS)
    before = dict(find(drawing, "photo").attrib)
    _, _, left = true_up(drawing)
    said = " ".join(left)
    for expected in ("picture cannot follow a perspective and stayed behind: photo", "Words cannot be bent",
                     "stayed behind: twin", "clip or mask", "path effect"):
        assert expected in said
    assert dict(find(drawing, "photo").attrib) == before
    assert not [a for a in find(drawing, "star").attrib if "type" in a or "original-d" in a or "path-effect" in a]
    spot = transforms.apply(find_total_map(find(drawing, "t"), drawing.page), np.array([500.0, 60.0]))
    assert spot == pytest.approx(VIEW["perspective"].invert().apply([500, 60]), abs=1e-6)


def test_a_picture_follows_every_other_map():
    drawing = open_drawing('<image id="im" x="10" y="20" width="900" height="90"/>' + scan(net(VIEW["affine"])),
                           page=PAGE, selected=["im", *IDS[1:]])
    _, fit, _left = true_up(drawing, most_far_mm=1000)
    corner = transforms.apply(find_total_map(find(drawing, "im"), drawing.page), np.array([910.0, 110.0]))
    assert fit.map == "affine" and corner == pytest.approx(VIEW["affine"].invert().apply([910, 110]), abs=1e-6)
    assert find(drawing, "im").get("width") == "900"


def test_work_that_leaves_the_page_is_told():
    drawing = open_drawing(FULL, page=PAGE, selected=IDS)
    assert "does not lie on the page" in " ".join(true_up(drawing)[2])


def test_a_second_run_starts_from_the_untouched_state_and_replaces_its_layer():
    drawing = open_drawing(scan(net(VIEW["scale"]), more='transform="translate(3,4)"', inside=word("w", (5, 5), "x")),
                           page=PAGE, selected=IDS)
    true_up(drawing)
    first = write(drawing)
    again = reopen(drawing, IDS)
    true_up(again)
    assert write(again) == first
    assert [names.get(e, "layer") for e in names.find_roles(again.root, "layer")] == ["raw", "true-up"]
    # another label, another answer, as if the first had not been
    changed = reopen(drawing, IDS)
    for k, true in enumerate(NET * 2):
        find(changed, "c%d" % k).set("{%s}label" % names.INKSCAPE, "%g, %g" % tuple(true))
    true_up(changed, most_far_mm=50)
    assert place(changed, "c5").mean(axis=0) == pytest.approx([8000, 600], abs=5)


@pytest.mark.parametrize("more", ["", 'transform="translate(3,4) rotate(7) scale(1.3)"'])
@pytest.mark.parametrize("bulge", [0.0, 0.02])
def test_a_second_run_after_a_redrawing_map_starts_from_the_raw_trace(more, bulge):
    """Both ways the drawing is the same to the last byte: no map is laid upon another."""
    points = VIEW["perspective"].apply(NETS)
    drawing = open_drawing(scan("", more=more, inside='<circle id="o" cx="500" cy="60" r="30"/>'
                                + "".join(dot("c%d" % k, at, "%g, %g mm" % tuple(t)) for k, (at, t) in enumerate(
                                    zip(squeeze(points, bulge), NETS)))), page=PAGE, selected=["scan"])
    if more:
        inverse = transforms.invert(transforms.read_transform(more[11:-1]))
        for k, at in enumerate(transforms.apply(inverse, squeeze(points, bulge))):
            find(drawing, "c%d" % k).attrib.update({"cx": "%.12g" % at[0], "cy": "%.12g" % at[1]})
    raw = find(drawing, "trace").get("d")
    _, fit, _ = true_up(drawing)
    assert fit.map == ("lens" if bulge else "perspective")
    layer = names.find_layer(drawing.root, "raw")
    assert "display:none" in layer.get("style") and layer.get("{%s}insensitive" % names.SODIPODI) == "true"
    assert [e.get("d") for e in layer.iter()
            if names.get(e, "raw-of") == "trace"] == [raw] and find(drawing, "trace").get("d") != raw
    first = write(drawing)
    again = reopen(drawing, ["scan"])
    true_up(again)
    assert write(again) == first
    third = reopen(again, ["scan", "c2"])
    true_up(third)
    assert write(third) == first


def test_what_was_done_to_the_trued_scan_is_kept_or_told_when_it_is_run_again():
    """A label put right, a dot deleted, a line drawn, a path redrawn, a path deleted: none is lost without a word."""
    inside = '<path id="p" d="M 200,50 L 300,60"/><path id="q" d="M 200,70 L 300,80"/>' + "".join(dot(
        "c%d" % k, at, "%g, %g mm" % tuple(t)) for k, (at, t) in enumerate(zip(VIEW["perspective"].apply(NETS), NETS)))
    drawing = open_drawing(scan("", inside=inside), page=PAGE, selected=["scan"])
    true_up(drawing)
    edited = reopen(drawing, ["scan"])
    find(edited, "c3").set("{%s}label" % names.INKSCAPE, "%g, %g mm" % tuple(NETS[3] + [0.1, 0]))
    find(edited, "scan").remove(find(edited, "c4"))
    find(edited, "scan").remove(find(edited, "q"))
    find(edited, "p").set("d", "M 1000,100 L 1500,120")
    new = etree.SubElement(find(edited, "scan"), "{%s}path" % names.SVG, {"id": "new", "d": "M 100,100 L 3000,150"})
    assert new.get("id") == "new"
    before = {k: place(edited, k) for k in ("new", "p")}
    found, fit, _ = true_up(edited)
    said = " ".join(f.text for f in found.findings)
    assert "away again: '%g, %g mm'" % tuple(NETS[4]) in said and "back from the raw trace: q" in said
    assert "kept as it lay" in said and "new" in said and "p" in said
    assert {m.label for m in fit.misfits} == {"%g, %g mm" % tuple(t) for k, t in enumerate(
        NETS + [[0.1, 0] if k == 3 else [0, 0] for k in range(len(NETS))]) if k != 4}
    assert place(edited, "new") == pytest.approx(before["new"], abs=1e-6) and place(
        edited, find(edited, "plank-kept-1")[1].get("id")) == pytest.approx(before["p"], abs=1e-6)
    assert place(edited, "q")[[0, -1]] == pytest.approx(
        VIEW["perspective"].invert().apply(np.array([(200, 70), (300, 80)], float)), abs=0.1)
    ids = [e.get("id") for e in edited.root.iter() if isinstance(e.tag, str) and e.get("id")]
    assert len(ids) == len(set(ids))


def test_a_redrawn_scan_without_its_raw_trace_is_refused():
    drawing = open_drawing(scan(net(VIEW["perspective"])), page=PAGE, selected=IDS)
    true_up(drawing)
    drawing.root.remove(names.find_layer(drawing.root, "raw"))
    with pytest.raises(PatternError, match="raw trace is not in the drawing") as caught:
        true_up(reopen(drawing, IDS))
    assert "Undo" in caught.value.remedy


def test_a_picture_kept_in_the_drawing_is_not_doubled_and_comes_back():
    inside = '<image id="im" x="1" y="2" width="900" height="90" href="data:image/png;base64,AAAA"/>' + net(
        VIEW["perspective"])
    drawing = open_drawing(scan("", inside=inside), page=PAGE, selected=["scan"])
    true_up(drawing)
    assert etree.tostring(drawing.root).count(b"AAAA") == 1
    first = write(drawing)
    again = reopen(drawing, ["scan"])
    true_up(again)
    assert write(again) == first


@pytest.mark.parametrize("hidden", [False, True])
def test_the_middle_of_the_picture_is_the_lens_s(hidden):
    """The trace fills one half of its picture; the smallest picture that lies round it is taken, shown or hidden."""
    view = VIEW["perspective"]
    pictures = ('<image id="far" x="3000" y="0" width="1400" height="400"/><image id="im" x="-900" y="-100" '
                'width="2000" height="400"/><image id="big" x="-2000" y="-900" width="9000" height="4000"/>')
    body = ('<g style="display:none">%s</g>' % pictures if hidden else pictures) + scan("", inside=net(view))
    found = controls.read_scan(open_drawing(body, page=PAGE, selected=["scan"]), unit="mm")
    assert found.picture == pytest.approx(np.array([(-900, -100), (1100, -100), (1100, 300), (-900, 300)]))
    assert controls.read_scan(open_drawing(scan("", inside=net(view)), page=PAGE, selected=["scan"]),
                              unit="mm").picture is None


@pytest.mark.parametrize("view", ["scale", "perspective"])
@pytest.mark.parametrize("inner", [True, False])
def test_dots_stay_on_the_floor_and_the_pattern_is_drawn_in(view, inner):
    """By similar triangles, H / (H - h) with h = 6 and H = 3000: 0.2 percent, whatever the map; the dots stand at their
    tape's places.
    """
    body = scan("", inside=net(VIEW[view])) if inner else scan(net(VIEW[view]))
    drawing, plain = (open_drawing(body, page=PAGE, selected=["scan"] if inner else IDS) for _ in range(2))
    _, fit, _ = true_up(drawing, pattern_mm=6, camera_mm=3000)
    true_up(plain)
    high, low = place(drawing, "trace"), place(plain, "trace")
    assert np.ptp(high, axis=0) == pytest.approx(np.ptp(low, axis=0) * (1 - 0.002), rel=2e-5)
    for k, true in enumerate(NET):
        spot = place(drawing, "c%d" % k)
        assert (spot.min(axis=0) + spot.max(axis=0)) / 2 == pytest.approx(true, abs=0.05)
    group = find(drawing, "scan")
    assert (float(names.get(group, "pattern-mm")),
            float(names.get(group, "camera-mm"))) == (6, 3000) and "drawn in by 0.200 percent" in fit.facts[0].words
    first = write(drawing)
    again = reopen(drawing, ["scan"] if inner else IDS)
    true_up(again, pattern_mm=6, camera_mm=3000)
    assert write(again) == first


def test_the_report_says_what_the_fit_says():
    points = NET + np.random.default_rng(1).normal(0, 0.2, NET.shape)
    body = scan("".join(dot("c%d" % k, at, "%.3f, %.3f" % tuple(t))
                        for k, (at, t) in enumerate(zip(VIEW["scale"].apply(NET), points))))
    drawing = open_drawing(body, page=PAGES[1].replace("7559.05511811 1511.81102362", "4000 800"), selected=IDS)
    _, fit, _ = true_up(drawing, most_far_mm=1000)
    layer = names.find_layer(drawing.root, "true-up")
    rings = [e for e in names.find_roles(layer, "ring") if names.get(e, "point")]
    assert [float(names.get(e, "residual-mm"))
            for e in rings] == pytest.approx([np.hypot(*m.off) for m in fit.misfits], abs=1e-6)
    assert [names.get(e, "point") for e in rings] == [m.label for m in fit.misfits]
    for ring, m in zip(rings, fit.misfits):
        points = np.concatenate([r.cubics.reshape(-1, 2) for r in read_path(ring.get("d"), where="ring")])
        box = transforms.apply(find_total_map(ring, drawing.page), points)
        assert (box.min(axis=0) + box.max(axis=0)) / 2 == pytest.approx(m.at, abs=1e-5)
    assert fit.facts[0].words in [names.get(e, "text") for e in names.find_roles(layer, "note")]
    times = int(names.get(layer, "times"))
    assert len(names.find_roles(layer, "residual")) == 6 and times > 1


def test_faired_later_from_what_was_trued():
    """A trued group is still the user's own artwork; its controls are no marks."""
    drawing = open_drawing(scan("", inside=net(VIEW["scale"])), page=PAGE, selected=["scan"])
    true_up(drawing)
    traces, group, _ = reopen(drawing, ["scan"]).find_source()
    assert [t.label for t in traces] == ["trace"] and group is None
    assert "trace" in reopen(drawing).find_source()[2]


# -- joining --------------------------------------------------------------------------------------------------------

def piece(key, spots, labels, *, more=""):
    return '<g id="%s" inkscape:label="%s" %s><path d="M %g,20 h 500 v 90 h -500 z"/>%s</g>' % (
        key, key.title(), more, spots[0][0], "".join(dot("%s%s" % (key, n), at, n) for n, at in zip(labels, spots)))


LEFT = piece("left", [(400, 30), (480, 100), (400, 100)], "ABC")
RIGHT = piece("right", [(400, 30), (480, 100), (400, 100)], "ABC", more='transform="translate(30,50) rotate(4)"')


def join(drawing):
    found = pieces.read_pieces(drawing)
    done = join_pieces(found.pieces)
    carry.carry_pieces(drawing, found, done)
    write_fit_report(drawing, action=JOIN, facts=done.facts,
                                misfits=done.misfits, findings=done.findings, box=done.find_reach(found.pieces),
                                joins=" ".join(e.get("id") for e in found.elements))
    return done


@pytest.mark.parametrize("body, selected, said", [
    (LEFT + RIGHT, [], "Nothing is selected"), (LEFT + RIGHT, ["left"], "only one piece"),
    (LEFT + dot("o", (5, 5)), ["left", "o"], "no piece of a scan"),
    ('<g id="all">%s</g>' % (LEFT + RIGHT), ["all", "left"], "inside another"),
    (LEFT + '<g id="e"/>', ["left", "e"], "is empty"),
    (LEFT + piece("right", [(400, 30), (480, 100)], "XY"), ["left", "right"],
     "'Left' shares no labelled point|'Right' shares no"),
    (LEFT + piece("right", [(400, 30), (480, 100)], "AY"), ["left", "right"], "only one point"),
])
def test_pieces_that_cannot_be_joined_are_refused(body, selected, said):
    with pytest.raises(PlankError, match=said) as caught:
        join(open_drawing(body, page=PAGE, selected=selected))
    assert caught.value.remedy


@pytest.mark.parametrize("page", PAGES)
def test_pieces_are_brought_together_by_their_transforms(page):
    drawing = open_drawing(LEFT + RIGHT, page=page, selected=["left", "right"])
    before = place(drawing, "leftA")
    done = join(drawing)
    assert place(drawing, "leftA") == pytest.approx(before, abs=1e-9)
    for n in "ABC":
        assert place(drawing, "right" + n).mean(axis=0) == pytest.approx(place(drawing, "left" + n).mean(axis=0),
                                                                         abs=1e-6)
    right = find(drawing, "right")
    assert names.get(right, "role") == "trued" and float(names.get(right, "join-scale")) == pytest.approx(1) and int(
        names.get(right, "join-freedom")) == done.freedom == 3
    again = reopen(drawing, ["left", "right"])
    join(again)
    assert write(again) == write(drawing)


def test_true_up_after_a_join_takes_both_back():
    both = [scan("", inside=net(VIEW["scale"])), scan("", inside=net(VIEW["scale"])).replace('id="', 'id="z')]
    drawing = open_drawing("".join(both), page=PAGE, selected=["scan"])
    true_up(drawing)
    other = reopen(drawing, ["zscan"])
    true_up(other)
    joined = reopen(other, [])
    done = join(joined)
    assert len(done.pieces) == 2 and done.worst is not None and np.hypot(*done.worst.off) < 1e-6
    last = reopen(joined, ["zscan"])
    true_up(last)
    assert names.attribute("join-was") not in find(last, "zscan").attrib and place(last, "zc5").mean(
        axis=0) == pytest.approx([4000, 300], abs=1)
    assert sorted(names.get(e, "of") for e in last.root if names.get(e, "layer") == "true-up") == ["scan", "zscan"]


def test_the_report_of_a_true_up_moves_with_its_piece():
    drawing = open_drawing(FULL.replace("1e9", "") + scan("", inside=net(VIEW["scale"])).replace(
        'id="', 'id="z').replace('transform=""', ""), page=PAGE, selected=["zscan"])
    find(drawing, "zscan").attrib["transform"] = "translate(40,0)"
    true_up(drawing)
    moved = reopen(drawing, ["scan", "zscan"])
    for k in range(6):
        find(moved, "scan").append(find(moved, "c%d" % k))
    # the first piece is at a quarter of true size, so the pieces cannot agree; they are brought together all the same
    ring = next(e for e in names.find_roles(moved.root, "ring") if names.get(e, "point") == "0, 0 mm")
    before = transforms.invert(find_total_map(find(moved, "zscan"), moved.page)), find_total_map(ring, moved.page)
    found = pieces.read_pieces(moved)
    with pytest.raises(PatternError, match="not at true size"):
        join_pieces(found.pieces)
    # as if the labels told no places
    blank = [replace(p, points=tuple(replace(q, true=None) for q in p.points)) for p in found.pieces]
    carry.carry_pieces(moved, found, join_pieces(blank, settings=JoinSettings(most_far_mm=1e6)))
    ring = next(e for e in names.find_roles(moved.root, "ring") if names.get(e, "point") == "0, 0 mm")
    assert transforms.compose(transforms.invert(find_total_map(find(moved, "zscan"), moved.page)),
                              find_total_map(ring, moved.page)) == pytest.approx(transforms.compose(*before), abs=1e-6)
