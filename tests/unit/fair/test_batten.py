"""Nails, and the report that a person reads; every figure they print is measured again. All planks are invented."""
import numpy as np
import pytest
from drawings import open_drawing, reopen
from lxml import etree
from scipy.interpolate import CubicSpline
from shapes import measure_gap

from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.places import measure_box, measure_boxes
from plankcore.errors import PatternError, SettingError
from plankcore.fair.fair import FairSettings, draw_report, fair_plank
from plankcore.geometry.spline_process import fit_process
from plankcore.model.plank import EdgeSource, Mark, Pattern
from plankcore.scan.pattern import read_pattern

LENGTH, ERROR = 2400.0, 0.3
FRAMES = np.linspace(LENGTH - 5, 5, 11)


def upper(x):
    return 100 - 50 * np.sin(np.pi * x / 2600)


def lower(x):
    return upper(x) + 125 - x / 60


def make_pattern(nails=(), *, wrong=(), knuckle=None, seed=1):
    rng = np.random.default_rng(seed)
    edges = {}
    for name, function in (("upper", upper), ("lower", lower)):
        y = function(FRAMES) + rng.normal(0, ERROR, len(FRAMES))
        for edge, k, off in wrong:
            y[k - 1] += off * (edge == name)
        edges[name] = EdgeSource(marks=tuple(
            Mark((float(a), float(b)), name, "%d" % k,
                 told="nail" if (name, k) in nails else "knuckle" if (name, k) == knuckle else "")
            for k, (a, b) in enumerate(zip(FRAMES, y), 1)))
    for name, x in (("fore", LENGTH), ("aft", 0.0)):
        edges[name] = EdgeSource((np.column_stack([np.full(200, x), np.linspace(0, 260, 200)]),))
    return Pattern(edges, (), "right", "marks")


NAILS = tuple(("lower", k) for k in (1, 4, 7, 11))


def fair(pattern, **settings):
    return fair_plank(pattern, settings=FairSettings(**{"honest_error_mm": ERROR, **settings}), strake="5")


# -- nails ---------------------------------------------------------------------------------------------------------

def test_labels_and_the_field_nail_the_same_batten():
    labelled, typed = fair(make_pattern(NAILS)), fair(make_pattern(), nails="lower: 1, 4, 7, 11")
    (one,), (other,) = labelled.battens, typed.battens
    assert [n.station for n in one.nails] == ["1", "4", "7", "11"] and one.nails == other.nails
    assert [f.key for f in labelled.findings] == ["batten"]


def test_beside_the_edge_stands_and_as_the_edge_it_runs_through_the_nails():
    plain, beside, held = (fair(make_pattern(nails), batten=how)
                           for nails, how in (((), "beside"), (NAILS, "beside"), (NAILS, "edge")))
    assert np.array_equal(plain.edges["lower"].curve.cubics, beside.edges["lower"].curve.cubics)
    assert np.array_equal(plain.edges["upper"].curve.cubics, held.edges["upper"].curve.cubics)
    nails = [n.point for n in held.battens[0].nails]
    assert measure_gap(nails, held.edges["lower"].curve.flatten(tolerance_mm=1e-4)) < 0.001
    assert measure_gap(nails, beside.edges["lower"].curve.flatten(tolerance_mm=1e-4)) > 0.05
    held_marks = [m for m in held.marks if m.edge == "lower" and m.station in ("1", "4", "7", "11")]
    assert max(abs(m.residual_mm) for m in held_marks) < 0.001


def test_the_difference_at_each_frame_is_that_of_the_drawn_lines():
    plank = fair(make_pattern(NAILS))
    batten = plank.battens[0]
    assert [a.station for a in batten.apart] == ["%d" % k for k in range(1, 12)]
    edge = plank.edges["lower"].curve.extend(30).flatten(tolerance_mm=1e-4)
    line = batten.curve.flatten(tolerance_mm=1e-4)
    for one in batten.apart:
        x = one.point[0]
        drawn = np.interp(x, line[::-1, 0], line[::-1, 1]) - np.interp(x, edge[::-1, 0], edge[::-1, 1])
        assert one.apart_mm == pytest.approx(drawn, abs=0.02), "outward is down for the lower edge"
    most = max(batten.apart, key=lambda a: abs(a.apart_mm))
    finding, = (f for f in plank.findings if f.key == "batten")
    assert finding.number == most.apart_mm and "%.1f mm" % abs(most.apart_mm) in finding.text


def test_the_band_of_a_held_edge_is_wider_by_how_far_it_runs_off():
    beside, held = fair(make_pattern(NAILS)), fair(make_pattern(NAILS), batten="edge")
    off = max(abs(a.apart_mm) for a in held.battens[0].apart)
    assert held.edges["lower"].band_mm >= max(off, beside.edges["lower"].band_mm) * 0.999


@pytest.mark.long
def test_the_band_of_a_held_edge_covers_its_error():
    """Of 200 invented edges the rms error, over the printed band, which is the largest along the edge."""
    square = []
    for seed in range(200):
        plank = fair(make_pattern(NAILS, seed=seed), batten="edge")
        curve = plank.edges["lower"].curve.flatten(tolerance_mm=1e-3)
        off = np.sqrt(np.mean((curve[:, 1] - lower(curve[:, 0])) ** 2))
        square.append(off / plank.edges["lower"].band_mm)
    assert 0.3 < np.mean(square) < 1.0 and np.mean(np.array(square) < 1) > 0.9


@pytest.mark.parametrize("nails, settings, words", [
    (NAILS[:2], {}, "2 nails; a batten needs three"), ((), {"nails": "lower: 1, 4"}, "2 nails; a batten needs three")])
def test_too_few_nails_are_refused(nails, settings, words):
    with pytest.raises(PatternError, match=words):
        fair(make_pattern(nails), **settings)


@pytest.mark.parametrize("settings", [{"nails": "fore: 1, 2, 3"}, {"nails": "lower 1, 2"}, {"nails": "lower:"},
                                      {"batten": "instead"}, {"batten_thick_mm": 12.0}, {"batten_wood": "teak"},
                                      {"batten_thick_mm": -1.0}])
def test_settings_of_a_batten_that_cannot_be_are_refused(settings):
    with pytest.raises(SettingError) as caught:
        FairSettings(**settings)
    assert caught.value.remedy and caught.value.where


def test_a_nail_on_no_mark_and_a_batten_across_a_knuckle_are_refused_by_name():
    with pytest.raises(SettingError, match="lower edge has no mark at frame 40"):
        fair(make_pattern(), nails="lower: 1, 4, 40")
    with pytest.raises(PatternError, match="a knuckle or a shape that is told"):
        fair(make_pattern(NAILS, knuckle=("lower", 6)))
    with pytest.raises(PatternError, match="a knuckle or a shape that is told"):
        fair(make_pattern(NAILS), known="lower: straight")


def test_a_traced_edge_is_nailed_by_marks_on_it():
    x = np.linspace(LENGTH, 0, 2401)
    runs = {n: EdgeSource((np.column_stack([x, f(x)]),)) for n, f in (("upper", upper), ("lower", lower))}
    ends = {n: s for n, s in make_pattern().edges.items() if n in ("fore", "aft")}
    told = tuple(Mark((float(a), float(lower(a))), "lower", told="nail") for a in (2300.0, 1500.0, 700.0, 100.0))
    plank = fair(Pattern({**runs, **ends}, (), "right", "lines", told=told))
    batten, = plank.battens
    other = CubicSpline([n.point[0] for n in batten.nails][::-1], [n.point[1] for n in batten.nails][::-1],
                        bc_type="natural")
    drawn = batten.curve.flatten(tolerance_mm=1e-3)
    inside = (drawn[:, 0] > 100) & (drawn[:, 0] < 2300)
    assert np.abs(drawn[inside, 1] - other(drawn[inside, 0])).max() < 0.03


# -- the report ----------------------------------------------------------------------------------------------------

def find_bars(piece, edge):
    return [(dict(line.values), line) for line in piece.lines if dict(line.values).get("bar") == edge]


def test_each_frame_has_a_bar_as_tall_as_its_mark_lies_off_the_drawn_edge():
    plank = fair(make_pattern(NAILS, wrong=(("upper", 8, -4.0),)), doubtful="leave out")
    piece = draw_report(plank)
    for name in ("upper", "lower"):
        bars = find_bars(piece, name)
        assert [v["station"] for v, _ in bars] == ["%d" % k for k in range(1, 12)]
        edge = plank.edges[name].curve.extend(60).flatten(tolerance_mm=1e-4)
        marks = {m.station: m for m in plank.marks if m.edge == name}
        scale = []
        for values, line in bars:
            x, y = marks[values["station"]].point
            outward = (np.interp(x, edge[::-1, 0], edge[::-1, 1]) - y) * (1 if name == "upper" else -1)
            assert values["residual_mm"] == pytest.approx(outward, abs=0.003)
            height = -(line.cubics[:, :, 1].min() + line.cubics[:, :, 1].max() - 2 * line.cubics[0, 0, 1])
            if abs(outward) > 0.05:
                scale.append(height / values["residual_mm"])
        assert np.ptp(scale) < 1e-6 * abs(np.mean(scale)) and np.mean(scale) > 0, "one scale, outside the wood upward"
    odd = [(v["bar"], v["station"]) for v, line in find_bars(piece, "upper") + find_bars(piece, "lower")
           if line.style == "bar-doubt"]
    assert odd == [("upper", "8")]


def test_the_band_and_the_wave_of_the_report_are_those_of_a_fit_made_again():
    plank = fair(make_pattern())
    points = {n: np.array([m.point for m in plank.marks if m.edge == n]) for n in ("upper", "lower")}
    # axes along the plank, as the marks of both edges lie
    first, last = (np.mean([p[k] for p in points.values()], axis=0) for k in (0, -1))
    along = (last - first) / np.hypot(*(last - first))
    across = np.array([-along[1], along[0]])
    xy = [((p - first) @ along, (p - first) @ across) for p in points.values()]
    x, y = (np.concatenate([one[k] for one in xy]) for k in (0, 1))
    sign = np.repeat([1.0, -1.0], len(FRAMES))
    fit = fit_process(x, y, np.full(len(x), ERROR), sign, shortest_wave=600.0)
    for report, s in zip(plank.reports, (1, -1)):
        assert [r.band_mm for r in report.rows] == pytest.approx(fit.measure_error(x[sign == s], sign=s), rel=0.02)
        assert report.wave_mm == pytest.approx(fit.wave, rel=0.02)
        assert any("%.0f mm and longer" % report.wave_mm in row for row in report.believed)
        assert any("%.2f mm at its worst" % plank.edges[report.edge].band_mm in row for row in report.believed)


def test_words_say_what_was_believed_what_was_not_and_what_to_measure_again():
    sound, wrong = fair(make_pattern()), fair(make_pattern(wrong=(("upper", 8, -4.0),)), doubtful="leave out")
    for report in sound.reports:
        assert report.believed[0].startswith("11 of 11 marks, each to 0.3 mm") and report.again == ("Nothing.",)
        assert report.unbelieved == ("Nothing: no mark disagrees with the others.",)
    upper_report = wrong.reports[0]
    finding, = (f for f in wrong.findings if f.key == "mark-off")
    assert upper_report.believed[0].startswith("10 of 11 marks")
    assert upper_report.unbelieved == ("Frame 8: %.1f mm off what the others say; left out." % finding.number,)
    assert upper_report.again == ("Frame 8, on the boat.",) and 3.0 < finding.number < 5.0


def test_nothing_of_the_report_lies_on_anything_else_of_it():
    """Words against words; and all within the two frames."""
    svg = open_report(nails="lower: 1, 4, 7, 11")[0]
    group = names.find_roles(svg.root, "report")[0]
    words = [e for e in group if names.get(e, "text")]
    boxes = measure_boxes(words, svg.page)
    for k in range(len(words)):
        for j in range(k):
            apart = np.maximum(boxes[k, 0] - boxes[j, 1], boxes[j, 0] - boxes[k, 1])
            assert apart.max() > 0.3, (names.get(words[k], "text"), names.get(words[j], "text"))
    frames = measure_boxes([e for e in group if names.get(e, "panel")], svg.page)
    for box, word in zip(boxes, words):
        assert any((box[0] > f[0]).all() and (box[1] < f[1]).all() for f in frames), names.get(word, "text")


def open_report(**settings):
    parts = []
    for name, function in (("upper", upper), ("lower", lower)):
        parts += ['<circle id="%s%d" cx="%.6f" cy="%.6f" r="2" inkscape:label="%s %d"/>' % (
            name, k, x + 100, function(x) + 0.3 * np.sin(17 * k), name, k) for k, x in enumerate(FRAMES, 1)]
    parts += ['<path id="%s" d="M %g,20 L %g,260"/>' % (n, x + 100, x + 100)
              for n, x in (("fore", LENGTH), ("aft", 0.0))]
    drawing = open_drawing('<g id="all">%s</g>' % "".join(parts),
                           page='width="2600mm" height="400mm" viewBox="0 0 2600 400"', selected=["all"])
    return draw_again(drawing, settings)


def draw_again(drawing, settings):
    settings = FairSettings(honest_error_mm=ERROR, **settings)
    traces, group, said = drawing.find_source()
    plank = fair_plank(read_pattern(traces, forward="right"), settings=settings, said=said, name="Tern", strake="5")
    group, _ = drawing.write_fair(plank, group=group, sources=[t.source for t in traces], settings=settings,
                                  report=draw_report(plank))
    return drawing, plank, group


def test_the_report_lies_clear_left_of_all_else_is_replaced_and_is_never_read():
    drawing, _, group = open_report()
    report, = names.find_roles(drawing.root, "report")[:1]
    others = [e for e in drawing.root.iter() if isinstance(e.tag, str) and e.get("d")
              and not any(names.get(p, "role") == "report" for p in e.iterancestors())]
    box, rest = measure_box(list(report), drawing.page), measure_box(others, drawing.page)
    assert box[1, 0] < rest[0, 0] - 100
    edges = [e.get("d") for e in names.find_roles(group, "edge")]
    again, _, group = draw_again(reopen(drawing, [group.get("id")]), {})
    assert [e.get("d") for e in names.find_roles(group, "edge")] == edges
    groups = [e for e in names.find_roles(again.root, "report") if e.tag.endswith("}g")]
    assert len(groups) == 1 and np.abs(measure_box(list(groups[0]), again.page) - box).max() < 0.01
    nothing = reopen(again)                       # nothing selected: the plank, not the report, is faired again
    assert len(nothing.find_source()[0]) == 24


def test_a_second_planks_report_stands_below_the_first():
    drawing, _, _ = open_report()
    parts = ['<circle id="b%s%d" cx="%.6f" cy="%.6f" r="2"/>' % (f.__name__, k, x + 100, f(x) + 400)
             for f in (upper, lower) for k, x in enumerate(FRAMES)]
    parts += ['<path id="b%g" d="M %g,420 L %g,660"/>' % (x, x + 100, x + 100) for x in (LENGTH, 0.0)]
    text = etree.tostring(drawing.root).replace(b"</svg>", ('<g id="more">%s</g></svg>' % "".join(parts)).encode())
    root = load_document(text, where="test").getroot()
    both, _, _ = draw_again(Drawing(root, ["more"]), {})
    first, second = (measure_box(list(e), both.page) for e in names.find_roles(both.root, "report")
                     if e.tag.endswith("}g"))
    assert first[1, 1] < second[0, 1] or second[1, 1] < first[0, 1]


def test_batten_nails_and_differences_stand_in_the_drawing():
    drawing, plank, group = open_report(nails="lower: 1, 4, 7, 11", batten_thick_mm=12.0, batten_wide_mm=18.0,
                                        batten_wood="Sitka spruce")
    batten = plank.battens[0]
    assert names.get(names.find_roles(group, "batten")[0], "edge") == "lower"
    nails = names.find_roles(group, "nail")
    assert [float(names.get(e, "force-n")) for e in nails] == pytest.approx([n.force_n for n in batten.nails], rel=1e-6)
    assert [float(names.get(e, "force-per-ei-m2")) for e in nails] == pytest.approx(
        [n.force_n / batten.stiffness_nmm2 * 1e6 for n in batten.nails], rel=1e-6)
    apart = names.find_roles(group, "apart")
    assert [names.get(e, "station") for e in apart] == ["%d" % k for k in range(1, 12)]
    assert all(float(names.get(e, "text")) == pytest.approx(float(names.get(e, "apart-mm")), abs=0.051) for e in apart)
    drawing.read_plank(group)                      # and the plank is read as ever
