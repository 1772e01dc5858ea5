"""Every action in the real editor, its result read back by the second reader and compared in mm."""
import re
import sys

import numpy as np
import pytest
import shapely
from host import editor
from host.chains import ADDED_MM, CHAINS, truth
from host.pages import PAGES, redraw
from host.reader import compare, join_runs, measure_off_mm, measure_rms_mm, read
from host.scripts import SAMPLES, run_chain
from hpgl_reader import MM_PER_UNIT, plot_hpgl

EDGES = ("upper", "lower", "fore", "aft")
ALONG = np.linspace(-0.01, 1.01, 2001)            # chords 1.3 mm long, 0.00003 mm from the curve
TRUE_EDGES = {"upper": truth.upper_edge_mm(ALONG), "lower": truth.lower_edge_mm(ALONG),
              "fore": truth.fore_end_mm(np.linspace(-0.2, 1.2, 2001)), "aft": truth.aft_end_mm(np.array([-0.2, 1.2]))}
# mm: rms of the long edges, corners, places of the stations, widths at them. The trace carries a wobble of 0.15 mm, the
# marks one error of 0.3 mm each (a width takes two, a corner lies past the last mark), the drawn edges one of 0.2 mm at
# each node.
WITHIN = {"traced": (0.10, 0.5, 0.5, 0.1), "marks": (0.30, 0.9, 0.5, 0.9), "edges": (0.25, 0.5, 0.5, 0.5)}


def find_edges(reading):
    """{edge: points (n, 2)}"""
    return {name: reading.one("edge", edge=name).trace() for name in EDGES}


# -- the same by editor and script ----------------------------------------------------------------------------

@pytest.mark.parametrize("name", CHAINS)
def test_the_editor_and_the_scripts_draw_the_same(outcomes, name):
    done = outcomes(name)
    assert compare(done.reading, read(done.scripts)) <= 1e-6


@pytest.mark.parametrize("name", CHAINS)
def test_they_write_the_same_sheet(outcomes, name):
    done = outcomes(name)
    assert compare(done.sheet_reading, read(done.scripts_sheet)) <= 1e-6


def read_numbers(path):
    """The words and numbers of a plotter's file, each alone, numbers as floats."""
    words = re.findall(r"-?[0-9]+(?:\.[0-9]+)?|[^-0-9\s]+|-", path.read_text(encoding="ascii", errors="replace"))
    return [w for w in words if not w[-1].isdigit()], np.array([float(w) for w in words if w[-1].isdigit()])


def measure_same_ink(data, other):
    """Two HP-GL files draw and cut the same to two units, each within the other. Their ways may differ: where two
    strokes are as near to the pen, the last digit of a place chooses.
    """
    (strokes, _), (others, _) = plot_hpgl(data), plot_hpgl(other)
    assert set(strokes) == set(others)
    for pen, some in strokes.items():
        assert sum(len(stroke) for stroke in some) > 50
        for these, those in ((some, others[pen]), (others[pen], some)):
            tree = shapely.STRtree([shapely.linestrings(stroke[k:k + 2]) for stroke in those
                                    for k in range(len(stroke) - 1)])
            every = np.vstack([np.vstack([stroke, (stroke[1:] + stroke[:-1]) / 2]) for stroke in these])
            away = tree.query_nearest(shapely.points(every), all_matches=False, return_distance=True)[1]
            assert away.max() <= 2 * MM_PER_UNIT, pen


@pytest.mark.parametrize("name, count", [("marks", 3), ("edges", 2)])
def test_they_write_the_same_files_for_plotters(outcomes, name, count):
    """DXF in mm and HP-GL in fortieths of a mm: of the marks a roll, cut and drawn apart, of the edges one sheet."""
    done = outcomes(name)
    made = sorted(p for p in done.editor_sheet.parent.iterdir() if p.suffix in (".dxf", ".plt"))
    assert len(made) == count and [p.name for p in made] == sorted(p.name for p in done.scripts_sheet.parent.iterdir()
                                                                   if p.suffix in (".dxf", ".plt"))
    for path in made:
        if path.suffix == ".plt":
            measure_same_ink(path.read_bytes(), (done.scripts_sheet.parent / path.name).read_bytes())
            continue
        (words, numbers), (other_words,
                           other_numbers) = read_numbers(path), read_numbers(done.scripts_sheet.parent / path.name)
        assert words == other_words and len(words) > 50
        # a number may be rounded the other way in its last place
        assert np.abs(numbers - other_numbers).max() <= 1e-5, path.name


def test_only_the_plot_speaks_and_it_tells_where_the_sheet_is(outcomes):
    done = outcomes("marks")
    said = done.run.actions[-1].said
    assert str(done.editor_sheet) in said and "lank-fault" not in said


# -- against the truth ------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", CHAINS)
def test_edges_and_corners_lie_near_the_truth(outcomes, name):
    edges = find_edges(outcomes(name).reading)
    rms, corner = WITHIN[name][:2]
    for long in ("upper", "lower"):
        assert measure_rms_mm(edges[long], TRUE_EDGES[long]) <= rms, long
        for end, k in (("fore", 0), ("aft", -1)):
            assert np.hypot(*(edges[long][k] - truth.corners_mm()["%s_%s" % (end, long)])) <= corner, (long, end)
            assert np.hypot(*(edges[long][k] - edges[end][0 if long == "upper" else -1])) <= 1e-6, "the edges meet"


def test_the_ends_of_the_trace_lie_no_further_off_than_they_were_drawn(outcomes, monkeypatch):
    monkeypatch.syspath_prepend(str(SAMPLES))
    import draw_scan
    edges = find_edges(outcomes("traced").reading)
    for end in ("fore", "aft"):
        drawn = measure_rms_mm(draw_scan.drawn_side_mm(end), TRUE_EDGES[end])
        assert measure_rms_mm(edges[end], TRUE_EDGES[end]) <= drawn < 0.3, end
    for module in ("draw_scan", "truth"):
        sys.modules.pop(module)


def test_drawn_edges_come_out_no_further_off_than_they_were_drawn(outcomes):
    drawing = read(CHAINS["edges"].drawing)
    edges = find_edges(outcomes("edges").reading)
    for name in EDGES:
        runs = [i for i in drawing.items if (i.element.get("id") or "").startswith("edge_" + name)]
        assert runs
        off = np.concatenate([measure_off_mm(join_runs(i), TRUE_EDGES[name]) for i in runs])
        assert measure_rms_mm(edges[name], TRUE_EDGES[name]) <= 1.05 * np.sqrt(np.mean(off ** 2)), name


def test_the_wrong_mark_is_the_one_left_out(outcomes):
    marks = outcomes("marks").reading.find("mark")
    assert len(marks) == 26
    bad, = [m for m in marks if m.values["verdict"] != "used"]
    assert (bad.values["verdict"], bad.values["edge"], bad.values["station"]) == ("left-out", "upper", "12")
    # drawn 4.0 mm off; where the edge would be without it is known to the other marks' error
    assert abs(bad.number("residual-mm")) == pytest.approx(4.0, abs=0.6)


@pytest.mark.parametrize("name, first", [("traced", "7"), ("marks", "7"), ("edges", "F07")])
def test_stations_stand_at_the_frames_with_their_widths(outcomes, name, first):
    stations = outcomes(name).reading.find("station")
    head = first.rstrip("07")
    wide = len(first) - len(head)
    assert [s.values["station"] for s in stations] == [head + str(f).zfill(wide) for f in range(7, 18)]
    away, width_off = WITHIN[name][2:]
    for station, frame in zip(stations, range(7, 18)):
        line, true = station.trace(), truth.frame_line_mm(frame)
        assert np.hypot(*(line - true).T).max() <= away, frame
        width = float(np.hypot(*(line[1] - line[0])))
        assert abs(station.number("width-mm") - width) <= 1e-6
        assert abs(width - np.hypot(*(true[1] - true[0]))) <= width_off, frame


@pytest.mark.parametrize("name", CHAINS)
def test_no_station_is_missed_where_every_frame_has_one(outcomes, name):
    """The last marks, at the corners, are no frames, and that is all there is to say."""
    reading = outcomes(name).reading
    assert [i.values["text"] for i in reading.within(reading.one("layer", layer="stations")) if i.role == "note"] == [
        ("marks at the corners (upper fore, upper aft, lower fore, lower aft) have no frame label: no frame is struck "
        "there")] * (name == "marks")


@pytest.mark.parametrize("name", CHAINS)
def test_the_saw_line_lies_outside_by_the_allowance(outcomes, name):
    reading = outcomes(name).reading
    saw = reading.one("saw")
    ring = saw.trace(200)
    assert saw.runs[0].closed
    shape = shapely.Polygon(ring)
    assert shape.is_valid and shape.contains(shapely.Polygon(reading.one("outline").trace(200)))
    for edge in EDGES:
        assert saw.number(edge + "-mm") == pytest.approx(ADDED_MM[edge], abs=1e-6)
        line = shapely.LineString(reading.one("edge", edge=edge).trace(200))
        # further from the corners than any allowance reaches
        at = shapely.line_interpolate_point(line, np.arange(30.0, line.length - 30.0, 2.0))
        off = shapely.distance(at, shape.exterior)
        assert len(off) > 10 and np.abs(off - ADDED_MM[edge]).max() <= 0.02, edge


def test_the_saw_line_has_its_corners_mitred(outcomes):
    reading = outcomes("traced").reading
    ring = reading.one("saw").trace(200)
    for long in ("upper", "lower"):
        for end, k in (("fore", 0), ("aft", -1)):
            corner = find_edges(reading)[long][k]
            # where two lines parallel to the edges at the corner cross, found from the edges' own directions
            sides = []
            for name in (long, end):
                line = reading.one("edge", edge=name).trace(2000)
                line = line if np.hypot(*(line[0] - corner)) < np.hypot(*(line[-1] - corner)) else line[::-1]
                way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
                normal = np.array([-way[1], way[0]])
                inside = shapely.Polygon(reading.one("outline").trace(50)).centroid
                normal = normal if normal @ (corner - [inside.x, inside.y]) > 0 else -normal
                sides.append((normal, normal @ corner + ADDED_MM[name]))
            mitre = np.linalg.solve([n for n, _ in sides], [c for _, c in sides])
            # the edges bend on past the corner, by less than a tenth over a couple of allowances
            assert np.hypot(*(ring - mitre).T).min() <= 0.5, (long, end)


# -- the page ---------------------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def on_pages(display, tmp_path_factory):
    """{page: reading} of the trace, faired, stationed and with its saw line, by the editor."""
    chain, found = CHAINS["traced"], {}
    folder = tmp_path_factory.mktemp("pages")
    profile = editor.make_profile(folder / "profile", settings=chain.list_settings())
    for count, page in enumerate(PAGES):
        # the names are for a drawing that is called so
        drawing, output = folder / str(count) / chain.drawing.name, folder / ("out_%d.svg" % count)
        drawing.parent.mkdir()
        drawing.write_text(redraw(chain.drawing, ["path66"], page))
        run = editor.run_actions(drawing, ["select-by-id:path66", *chain.scripts[:3]], profile=profile,
                                 display=display, output=output)
        run.check(*chain.scripts[:3])
        found[page] = read(output)
    return found


@pytest.mark.parametrize("page", [p for p in PAGES if p != "mm"])
def test_a_drawing_on_another_page_gives_the_same_mm(on_pages, page):
    assert on_pages[page].scale == pytest.approx(1 / PAGES[page][0], rel=1e-9)
    assert compare(on_pages["mm"], on_pages[page], pages=False) <= 1e-6


# -- in the user's hands ----------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def handled(display, tmp_path_factory):
    """A plank turned and shifted by the editor, worked on, faired again, and stretched: (run, reading at the end)."""
    folder = tmp_path_factory.mktemp("handled")
    chain = CHAINS["traced"]
    profile = editor.make_profile(folder / "profile",
                                  settings={**chain.list_settings(), "plank_plot": {"folder": folder, "pdf": "false"}})
    steps = ["select-by-id:path66", "plank_fair", "plank_stations", "plank_allowance",
             "select-clear", "select-by-id:plank-1", "transform-rotate:3", "transform-translate:40,7",
             "plank_stations", "plank_plot",
             "plank_fair", "plank_plot",
             "transform-scale:20", "plank_allowance"]
    run = editor.run_actions(chain.drawing, steps, profile=profile, display=display, output=folder / "out.svg")
    return run, read(folder / "out.svg")


def test_a_plank_moved_whole_goes_on_and_one_stretched_is_refused(handled):
    run, _ = handled
    assert [(a.script, a.code) for a in run.actions] == [
        ("plank_fair", 0), ("plank_stations", 0), ("plank_allowance", 0), ("plank_stations", 0), ("plank_plot", 0),
        ("plank_fair", 0), ("plank_plot", 251), ("plank_allowance", 251)]
    assert "has been faired again since" in run.actions[6].said and "Remedy: Run " in run.actions[6].said
    assert "has been scaled since it was faired" in run.actions[7].said


def test_running_an_action_again_replaces_its_own_layer_only(handled):
    _, reading = handled
    plank = reading.one("plank")
    assert [i.values["layer"] for i in reading.within(plank) if i.role == "layer"] == ["source", "fair", "stations",
                                                                                       "saw", "sheet"]
    assert plank.values["fairing"] == "2"


# -- the original -----------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", CHAINS)
def test_the_original_is_kept_as_it_was(outcomes, name):
    before, after = read(CHAINS[name].drawing), outcomes(name).reading
    layer = after.one("layer", layer="source").element
    assert "display:none" in layer.get("style") and any(k.endswith("insensitive")
                                                        and v == "true" for k, v in layer.attrib.items())
    kept = [i for i in after.within(after.one("layer", layer="source")) if i.runs]
    assert kept and all(i.role == "source" for i in kept)
    selected = CHAINS[name].steps[0][1]
    meant = [i for i in before.items if i.runs
             and any(e.get("id") in selected for e in [i.element, *i.element.iterancestors()])]
    assert sorted(i.element.get("id") for i in meant) == sorted(i.element.get("id") for i in kept)
    for item in kept:
        old = before.by_id(item.element.get("id"))
        assert {k: item.element.get(k)
                for k in ("d", "cx", "cy", "r")} == {k: old.element.get(k) for k in ("d", "cx", "cy", "r")}
        assert np.hypot(*(join_runs(item) - join_runs(old)).T).max() <= 1e-6


def test_running_the_scripts_in_steps_or_again_gives_the_same(tmp_path):
    """The same plank faired twice, once again from its Source layer."""
    chain = CHAINS["traced"]
    (tmp_path / "once").mkdir()
    (tmp_path / "twice").mkdir()
    once = run_chain(chain.drawing, chain.steps[:1], folder=tmp_path / "once")
    twice = run_chain(once, (("plank_fair", ("plank-1",), chain.steps[0][2]),), folder=tmp_path / "twice")
    for edge in EDGES:
        a, b = (read(p).one("edge", edge=edge).trace() for p in (once, twice))
        assert np.hypot(*(a - b).T).max() <= 1e-6
