"""A bilge plank through all that is done to the wood, in the real editor, by the scripts, and by a recipe on a page of
px.

Results are read back by the second reader and compared in mm with one another, with what was read on the boat, and with
the surface of wood.py.
"""
import re

import numpy as np
import pytest
import shapely
from host.chains import WOOD, hull, lay_out
from host.pages import redraw
from host.reader import compare, measure_off_mm, measure_rms_mm, read
from host.scripts import EXTENSIONS, run_script
from host.wood import (
    AT,
    FRAMES,
    PATTERN_MM,
    THICKNESS_MM,
    WORST_MM,
    find_board_ends,
    find_frame_ends,
    lay_truth,
    measure_bend,
    measure_frame,
    take_outcome,
)

from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe

EDGES = ("upper", "lower", "fore", "aft")
FILES = ("to_buy.csv", "checked.csv", "records/record.csv")
# what the drawing and the readings carry: nodes off by 0.15 mm; hollows known to 0.5 mm, bevels to 1 degree, as the
# actions were told
RMS_MM, HOLLOW_MM, BEVEL_DEG = 0.15, 0.5, 1.0
# Traditional Small Craft Association, rules of thumb: the seam opens by 1/16 in to the inch of thickness. Half of it is
# this plank's at each edge.
SEAM_MM = THICKNESS_MM / 16


@pytest.fixture(scope="module")
def by_recipe(tmp_path_factory):
    """The chain on a page of px by a recipe, its drawing beside its tables and its results elsewhere."""
    parent = tmp_path_factory.mktemp("wood_recipe")
    drawing = lay_out(WOOD, parent / "px")
    drawing.write_text(redraw(WOOD.drawing,
                              ["%s_%s" % (what, p.name) for p in hull.PLANKS for what in ("edges", "frames")], "px"))
    text = ['folder = "results"', "[[plank]]", 'drawing = "px/%s"' % drawing.name, 'output = "out.svg"']
    for script, select, settings in WOOD.steps:
        text += ["[[plank.step]]", 'action = "%s"' % script[len("plank_"):],
                 "select = %s" % str(list(select)).replace("'", '"')]
        text += ['%s = "%s"' % pair for pair in settings.items()]
    (parent / "recipe.toml").write_text("\n".join(text))
    (parent / "results" / "records").mkdir(parents=True)
    written, failed = run_recipe(read_recipe(parent / "recipe.toml"), actions=EXTENSIONS, progress=lambda text: None)
    assert not failed, failed
    return take_outcome(parent / "results", written[0])


# -- the same, however it is run ----------------------------------------------------------------------------------

def test_the_editor_and_the_scripts_draw_the_same(wood_by_editor, wood_by_scripts):
    assert compare(wood_by_editor.reading, wood_by_scripts.reading, within_mm=1e-5) <= 1e-5


def test_they_write_the_same_files(wood_by_editor, wood_by_scripts):
    for name in FILES:
        assert (wood_by_editor.folder / name).read_text() == (wood_by_scripts.folder / name).read_text() != ""
    assert compare(*(read_without_digest(done.folder / "butt_map.svg") for done in (wood_by_editor, wood_by_scripts)),
                   within_mm=1e-5) <= 1e-5


def read_without_digest(path):
    """A written file without the sum over its text, which a place rounded the other way changes."""
    plain = path.with_name("plain_" + path.name)
    plain.write_text(re.sub(r"plankcore-mark [0-9a-f]{64}", "plankcore-mark", path.read_text()))
    return read(plain)


def test_the_user_is_told_what_was_written_and_what_is_to_be_judged_again(wood_by_editor):
    folder, said = wood_by_editor.folder, wood_by_editor.said
    assert str(folder / "butt_map.svg") in said["plank_joints"] and str(
        folder / "to_buy.csv") in said["plank_fastenings"]
    assert str(folder / "records" / "record.html") in said["plank_record"] and str(
        folder / "records" / "record.csv") in said["plank_record"]
    assert "against those to port" in said["plank_turn"]
    assert not any("lank-fault" in text for text in said.values())


def test_a_recipe_on_a_page_of_px_gives_the_same_in_mm(by_recipe, wood_by_scripts):
    assert by_recipe.reading.scale == pytest.approx(25.4 / 96, rel=1e-9)
    assert len(by_recipe.plank.items) > 300
    # strokes of words are written to a thousandth
    assert compare(by_recipe.reading, wood_by_scripts.reading, within_mm=1e-5, lettering_mm=1.5e-3, pages=False) <= 1e-5
    for name in FILES:
        assert (by_recipe.folder / name).read_text() == (wood_by_scripts.folder / name).read_text() != ""


def test_a_table_lies_beside_the_drawing_for_a_script_that_is_told_of_no_other_place(wood_by_scripts, tmp_path,
                                                                                     monkeypatch):
    """A terminal, elsewhere: neither the folder one is in nor that of the output is meant."""
    monkeypatch.chdir(tmp_path)
    script, select, settings = WOOD.steps[2]
    result = run_script(script, wood_by_scripts.folder / "2_plank_stations.svg", tmp_path / "out.svg", select=select,
                        settings=settings)
    assert (result.code, result.said) == (0, "")
    assert compare(read(tmp_path / "out.svg"), read(wood_by_scripts.folder / "3_plank_section.svg")) == 0


# -- against the surface --------------------------------------------------------------------------------------------

@pytest.mark.parametrize("edge", EDGES)
def test_the_edges_lie_within_the_error_they_were_drawn_with(wood_plank, edge):
    drawn = wood_plank.one("edge", edge=edge).trace()
    assert measure_rms_mm(drawn, lay_truth()[edge]) <= RMS_MM
    assert measure_off_mm(drawn, lay_truth()[edge]).max() <= WORST_MM


def test_stations_stand_at_the_frames(wood_plank):
    assert [s.values["station"] for s in wood_plank.find("station")] == [str(n) for n in FRAMES]
    for station, frame in zip(wood_plank.find("station"), FRAMES):
        assert np.hypot(*(station.trace() - find_frame_ends(frame)).T).max() <= WORST_MM, frame


@pytest.mark.parametrize("frame", FRAMES)
def test_width_hollow_and_bevels_at_a_frame_are_those_of_the_hull(wood_plank, frame):
    """At the frames that were read, to half a degree and 5 mm of radius, and at those between."""
    section = wood_plank.one("section", station=str(frame))
    width, hollow, bevels = measure_frame(frame)
    assert section.number("inside-mm") == pytest.approx(width, abs=WORST_MM)
    assert section.number("hollow-mm") == pytest.approx(hollow, abs=HOLLOW_MM)
    for edge, tight in bevels.items():
        # outside, half the seam is off the edge
        open_deg = np.degrees(np.arctan(np.tan(np.radians(tight)) - SEAM_MM / 2 / THICKNESS_MM))
        assert section.number(edge + "-bevel-deg") == pytest.approx(open_deg, abs=BEVEL_DEG), edge


def test_what_was_read_and_what_lies_between_is_told(wood_plank):
    read_at = {str(n) for n in (*range(2, 15, 2),)}
    for section in wood_plank.find("section"):
        known = dict(word.split("=") for word in section.values["known"].split())
        want = "given" if section.values["station"] in read_at else "between"
        assert {known[k] for k in ("radius", "upper", "lower", "bend")} == {want}, section.name


@pytest.mark.parametrize("frame", FRAMES)
def test_a_section_is_drawn_as_its_numbers_say(wood_plank, frame):
    """Its corners inside and outside, the hollow between them, and its bevels, measured on the drawing."""
    section = wood_plank.one("section", station=str(frame))
    pieces = int(section.values["inside-pieces"])
    inside = np.vstack([p[0] for p in section.runs[0].pieces[:pieces]] + [section.runs[0].pieces[pieces - 1][-1]])
    first, last = inside[0], inside[-1]
    way = (last - first) / np.hypot(*(last - first))
    assert np.hypot(*(last - first)) == pytest.approx(section.number("inside-mm"), abs=1e-5)
    ring = section.trace(200)
    off = (ring - first) @ np.array([-way[1], way[0]])
    deep = off if abs(off.max()) > abs(off.min()) else -off
    # the plank is as thick at its middle, and hollowed there by as much as is said
    middle = np.abs((ring - first) @ way - section.number("inside-mm") / 2) < 1.0
    assert deep[middle].min() == pytest.approx(section.number("hollow-mm"), abs=0.02)
    assert deep[middle].max() - deep[middle].min() == pytest.approx(section.number("thickness-mm"), abs=0.02)
    for edge, sign in (("upper", -1.0), ("lower", 1.0)):
        bevel = wood_plank.one("bevel", station=str(frame), edge=edge)
        run = bevel.trace()[-1] - bevel.trace()[0]
        run = run if run @ np.array([-way[1], way[0]]) * (1 if deep is off else -1) > 0 else -run
        lean = np.degrees(np.arctan2(sign * run @ way, abs(run @ np.array([-way[1], way[0]]))))
        assert lean == pytest.approx(bevel.number("bevel-deg"),
                                     abs=0.01) == pytest.approx(section.number(edge + "-bevel-deg"), abs=1e-6), edge


def test_on_the_flat_board_the_frames_lie_further_apart_by_the_bend(wood_plank):
    """They are struck there, each moved from the plank's middle by what the bend between adds."""
    for frame in FRAMES:
        ends = [wood_plank.one("section-line", station=str(frame), edge=e).trace()[0] for e in ("upper", "lower")]
        assert np.hypot(*(np.mean(ends, axis=0) - find_board_ends(frame).mean(axis=0))) <= WORST_MM, frame


def test_both_faces_are_as_wide_at_the_frames_as_their_sections(wood_plank):
    for role, number in (("drawn-face", "inside-mm"), ("other-face", "outside-mm")):
        face = shapely.Polygon(wood_plank.one(role).trace(100))
        assert face.is_valid
        for section in wood_plank.find("section"):
            ends = [wood_plank.one("section-line", station=section.values["station"], edge=e).trace()[0]
                    for e in ("upper", "lower")]
            way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
            assert face.intersection(
                shapely.LineString([ends[0] - 40 * way, ends[1] + 40 * way])).length == pytest.approx(
                section.number(number), abs=0.1), section.name


def test_the_plank_is_bent_as_the_hull_is_and_longer_by_it(wood_plank):
    """The bend by the radii along the surface, from end to end; pattern and plank keep their length half-way through
    their thickness.
    """
    turn = measure_bend()[1][-1]
    layer = wood_plank.one("layer", layer="section")
    assert np.radians(layer.number("turn-deg")) == pytest.approx(turn, rel=0.02)
    assert layer.number("length-added-mm") == pytest.approx(turn * (THICKNESS_MM - PATTERN_MM) / 2, rel=0.02)
    grown = [wood_plank.one(role).trace(50)[:, 0] for role in ("drawn-face", "outline")]
    assert np.ptp(grown[0]) - np.ptp(grown[1]) == pytest.approx(layer.number("length-added-mm"), abs=0.02)


def test_the_saw_line_holds_both_faces_with_the_wood_asked_for(wood_plank):
    saw = wood_plank.one("saw")
    cut, faces = shapely.Polygon(saw.trace(100)), [shapely.Polygon(wood_plank.one(role).trace(100))
                                                   for role in ("drawn-face", "other-face")]
    assert saw.runs[0].closed and cut.is_valid and all(cut.contains(f) for f in faces)
    net = faces[0].union(faces[1]).exterior
    places = shapely.get_coordinates(shapely.line_interpolate_point(net, np.arange(0.0, net.length, 5.0)))
    away = measure_off_mm(places, saw.trace(100))
    left, _, right, _ = net.bounds
    amidships, above = (places[:, 0] > left + 200) & (places[:, 0] < right - 200), places[:, 1] < AT[1]
    wanted = {"upper": 3.0, "lower": 25.4 / 8, "fore": 25.0, "aft": 25.4}
    for edge, where in (("upper", amidships & above), ("lower", amidships & ~above)):
        assert saw.number(edge + "-mm") == pytest.approx(wanted[edge], abs=1e-6)
        assert np.abs(away[where] - wanted[edge]).max() <= 0.02, edge
    for end, side in (("fore", right - 120), ("aft", left + 120)):
        near = np.abs(places[:, 0] - side) < 121
        # most of an end lies as far in as its wood; near the corners the long edges' is nearer
        assert saw.number(end + "-mm") == pytest.approx(wanted[end], abs=1e-6)
        assert np.sum(np.abs(away[near] - wanted[end]) < 0.02) > 10, end
