"""The other face, the other hand. Refusals first; then every case against a table made by hand, and against a solid
plank carried about.

The table follows from standing on the quay and looking at a boat: whoever looks to port has her bow on the right,
whoever looks to starboard on the left. A starboard plank seen from outboard is looked at towards port, and so on.
"""
import itertools

import numpy as np
import pytest
from fact_rows import make_facts
from shapes import draw_lines, make_bowed_plank, make_plank, make_straight_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.errors import SettingError
from plankcore.geometry.curve import Curve
from plankcore.geometry.lettering import stroke_text
from plankcore.geometry.outline import measure_outline_area_mm2
from plankcore.model.drawing import Overlay, PlankLayers, SawLine, SheetLine, SheetText, Station, list_words
from plankcore.model.plank import Finding, Mark, Tick
from plankcore.paper.blocks import FORWARD, list_station_words, tell_forward
from plankcore.turn.turn import (
    check_symmetry,
    find_map,
    find_turn,
    list_facts,
    note_turn,
    place_copy,
    turn_layers,
    turn_overlay,
    turn_plank,
    turn_saw,
    turn_stations,
    warn_of_joints,
)

MIRROR = np.array([[-1.0, 0.0, 1100.0], [0.0, 1.0, 300.0]])          # about x = 550, and 300 down
OTHER = {"port": "starboard", "starboard": "port", "inboard": "outboard", "outboard": "inboard"}

# side, face up, bow: new side, new face up, new bow, mirrored. Written down one by one, not computed.
BY_HAND = [
    ("starboard", "outboard", "right", "starboard", "inboard", "left", True),
    ("starboard", "outboard", "right", "port", "outboard", "left", True),
    ("starboard", "outboard", "right", "port", "inboard", "right", False),
    ("starboard", "inboard", "left", "starboard", "outboard", "right", True),
    ("starboard", "inboard", "left", "port", "inboard", "right", True),
    ("starboard", "inboard", "left", "port", "outboard", "left", False),
    ("port", "outboard", "left", "port", "inboard", "right", True),
    ("port", "outboard", "left", "starboard", "outboard", "right", True),
    ("port", "outboard", "left", "starboard", "inboard", "left", False),
    ("port", "inboard", "right", "port", "outboard", "left", True),
    ("port", "inboard", "right", "starboard", "inboard", "left", True),
    ("port", "inboard", "right", "starboard", "outboard", "right", False),
]
WISHES = list(itertools.product(("same", "other", "inboard", "outboard"), ("same", "other", "port", "starboard")))
CASES = list(itertools.product(("port", "starboard"), ("left", "right"), ("inboard", "outboard"), WISHES))


def ask(side="starboard", forward="right", face="inboard", face_up="same", to_side="other"):
    return find_turn(side=side, forward=forward, face=face, face_up=face_up, to_side=to_side)


def find_face_up(side, forward):
    """From the table."""
    return {row[:3:2]: row[1] for row in BY_HAND}[side, forward]


def resolve(now, wish):
    return now if wish == "same" else OTHER[now] if wish == "other" else wish


# -- refusals -----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("wish, field",
                         [({"face_up": "up"}, "Face that lies up"), ({"face_up": ""}, "Face that lies up"),
                          ({"to_side": "left"}, "Side of the boat"),
                                         ({"side": "larboard"}, "Names"), ({"forward": "up"}, "Names"),
                          ({"face": "inside"}, "Names")])
def test_words_that_are_none_of_these_are_refused(wish, field):
    with pytest.raises(SettingError) as caught:
        ask(**wish)
    assert caught.value.where == field and caught.value.remedy


@pytest.mark.parametrize("wish",
                         [{"to_side": "same"}, {"to_side": "starboard"}, {"face_up": "outboard", "to_side": "same"},
                          {"face_up": "outboard", "to_side": "starboard"}])
def test_where_nothing_would_change_it_is_refused(wish):
    with pytest.raises(SettingError, match="starboard already, with its outboard face up"):
        ask(**wish)


@pytest.mark.parametrize("words", ["", "   ", "yes", "diagonals", "- -", "ok .", "?\n!"])
def test_the_other_hand_wants_to_know_who_found_the_hull_symmetrical(words):
    with pytest.raises(SettingError, match="port plank can be made from a starboard one only if") as caught:
        check_symmetry(words, ask())
    assert "diagonals, M. Orme, 3 May" in caught.value.remedy


def test_words_that_no_sheet_can_hold_are_refused():
    assert len(check_symmetry("ab " * 53, ask())) == 158
    with pytest.raises(SettingError, match="161 letters"):
        check_symmetry("ab " * 54, ask())


def test_the_words_are_kept_as_they_are_but_for_blanks():
    assert check_symmetry("  diagonals,  M. Orme,\n3 May ", ask()) == "diagonals, M. Orme, 3 May"


def test_a_plank_turned_over_needs_no_such_words_and_keeps_those_it_has():
    over = ask(face_up="other", to_side="same")
    assert check_symmetry("", over) == "" and check_symmetry("diagonals, M. Orme", over) == ""
    assert check_symmetry("", over, before="half breadths, the yard") == "half breadths, the yard"


# -- the table ------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("side, forward, face, wish", CASES)
def test_every_case_is_as_the_table_made_by_hand(side, forward, face, wish):
    up = find_face_up(side, forward)
    new = resolve(side, wish[1]), resolve(up, wish[0])
    if new == (side, up):
        with pytest.raises(SettingError):
            ask(side, forward, face, *wish)
        return
    row, = [r for r in BY_HAND if r[:2] == (side, up) and r[3:5] == new]
    found = ask(side, forward, face, *wish)
    assert (found.side, found.face_up, found.forward, found.mirrored) == row[3:]
    assert (found.side_changes, found.face_changes) == (row[0] != row[3], row[1] != row[4])
    assert found.drawn_face_up == (face == row[4])


# -- a solid plank carried about ------------------------------------------------------------------------------------
# Boat axes: x forward, y to port, z up; right-handed. The plank stands at its place on the starboard side; its outboard
# face is the smaller.

def draw_solid():
    """{(face, edge): control points (k, 4, 3)} of a starboard plank that is its own mirror image no way round."""
    solid = {}
    for face, y, inset in (("inboard", -990.0, 0.0), ("outboard", -1010.0, 4.0)):
        fu, au, fl, al = (900 - inset, 140 - inset), (-300, 95 - inset), (860 - inset, 20 + inset), (-310, 0 + inset)
        bent = {"upper": [fu, (500, 190), (100, 130), au], "lower": [fl, (400, 70), (0, 30), al],
                "fore": [fu, (905, 100), (870, 60), fl], "aft": [au, (-302, 60), (-309, 30), al]}
        for edge, places in bent.items():
            solid[face, edge] = np.array([[(x, y, z) for x, z in places]])
    return solid


def stand_on_other_side(solid):
    """The plank that the yard makes for the other side of a true hull."""
    return {key: places * (1, -1, 1) for key, places in solid.items()}


def lay_on_bench(solid, side, face_up, drawn):
    """Carry the solid, without bending or mirroring it, to a bench with this face up and the upper edge away; look down
    and draw a face: Curves by edge.
    """
    outboard = np.array([0.0, -1.0 if side == "starboard" else 1.0, 0.0])
    towards_eye = outboard if face_up == "outboard" else -outboard
    away = np.array([0.0, 0.0, 1.0])
    carry = np.stack([np.cross(away, towards_eye), away, towards_eye])          # rows: the bench's right, away, up
    assert np.linalg.det(carry) == pytest.approx(1.0) and carry @ carry.T == pytest.approx(np.eye(3))
    return {edge: Curve((places @ carry.T)[..., :2] * (1, -1)) for (face, edge), places in solid.items()
            if face == drawn}


def compare_shapes(one, other):
    """Largest distance between two drawings of four edges, laid corner to corner."""
    a, b = (np.concatenate([edges[n].cubics for n in ("upper", "lower", "fore", "aft")]).reshape(-1, 2)
            for edges in (one, other))
    return float(np.abs((a - a[0]) - (b - b[0])).max())


@pytest.mark.parametrize("side, forward, face, wish", CASES)
def test_the_drawing_turned_is_the_drawing_of_the_solid_carried(side, forward, face, wish):
    up = find_face_up(side, forward)
    new_side, new_up = resolve(side, wish[1]), resolve(up, wish[0])
    if (new_side, new_up) == (side, up):
        return
    solid = draw_solid() if side == "starboard" else stand_on_other_side(draw_solid())
    before = lay_on_bench(solid, side, up, face)
    after = lay_on_bench(solid if new_side == side else stand_on_other_side(solid), new_side, new_up, face)
    # the table's word for the bow is what one sees on the bench
    assert ("right" if before["upper"].start[0] > before["upper"].end[0] else "left") == forward
    plank = make_plank(*(before[n] for n in ("upper", "lower", "fore", "aft")), side=side, forward=forward, face=face)
    turn = ask(side, forward, face, *wish)
    turned = turn_plank(plank, turn, find_map(turn, middle_mm=123.0, down_mm=456.0))
    assert compare_shapes({n: e.curve for n, e in turned.edges.items()}, after) < 1e-9
    assert ("right" if after["upper"].start[0] > after["upper"].end[0] else "left") == turned.forward
    assert (turned.side, turned.face, turned.seen_from) == (new_side, face, new_up)
    # and it could not have been the other: mirrored or not makes a difference to this plank
    wrong = {n: e.curve.transform([[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]) for n, e in turned.edges.items()}
    assert compare_shapes(wrong, after) > 10


def test_planted_fault_a_bench_that_mirrors_would_be_caught():
    right, left = (lay_on_bench(draw_solid(), "starboard", f, "inboard") for f in ("outboard", "inboard"))
    assert compare_shapes(right, left) > 10
    assert compare_shapes(right, lay_on_bench(stand_on_other_side(draw_solid()), "port", "inboard", "inboard")) < 1e-12


# -- what is carried ------------------------------------------------------------------------------------------------

MARKED = make_bowed_plank(strake="5", marks=(Mark((500, 90), "upper", "9", 0.3, residual_mm=-0.4, verdict="doubtful"),),
                          ticks=(Tick((600, 60), (600, 52), "upper"),),
                          findings=(Finding("look", (500, 90)), Finding("on")))


def test_marks_ticks_and_doubts_go_along_with_all_that_they_say():
    turned = turn_plank(MARKED, ask(), MIRROR, strake="5P")
    assert turned.marks == (Mark((600.0, 390.0), "upper", "9", 0.3, residual_mm=-0.4, verdict="doubtful"),)
    assert turned.ticks == (Tick((500.0, 360.0), (500.0, 352.0), "upper"),)
    assert turned.findings == (Finding("look", (600.0, 390.0)), Finding("on"))
    assert (turned.strake, turned.side, turned.forward, turned.face) == ("5P", "port", "left", "inboard")
    assert turn_plank(MARKED, ask(), MIRROR).strake == "5"


def test_edges_keep_their_names_their_order_and_the_way_they_run():
    turned = turn_plank(MARKED, ask(), MIRROR)
    for name, edge in MARKED.edges.items():
        assert turned.edges[name].curve.start == pytest.approx(edge.curve.start * (-1, 1) + (
            1100, 300)) and turned.edges[name].curve.end == pytest.approx(edge.curve.end * (-1, 1) + (1100, 300))
    assert turned.find_corners()["upper fore"][0] < turned.find_corners()["upper aft"][0]
    assert turned.find_corners()["upper fore"][1] < turned.find_corners()["lower fore"][1]
    assert measure_outline_area_mm2(turned.outline()) == pytest.approx(-measure_outline_area_mm2(MARKED.outline()))
    assert turned.measure_area_mm2() == pytest.approx(MARKED.measure_area_mm2())


def test_wood_is_left_outside_a_turned_plank_as_it_is_outside_the_first():
    """The saw line turned is the saw line of the plank turned: nothing in between hangs on which way round a loop runs.
    """
    added = {"upper": 3.0, "lower": 5.0, "fore": 25.0, "aft": 12.0}
    saw = add_allowances(MARKED, added_mm=added)
    once, other = turn_saw(saw, MIRROR), add_allowances(turn_plank(MARKED, ask(), MIRROR), added_mm=added)
    assert once.added_mm == added and len(once.curves) == 4
    for a, b in zip(once.curves, other.curves):
        assert a.start == pytest.approx(b.start, abs=1e-6) and a.end == pytest.approx(b.end, abs=1e-6)
        assert a.measure_length_mm() == pytest.approx(b.measure_length_mm(), abs=1e-3)


def test_what_a_saw_line_says_of_itself_goes_along():
    line = Curve(draw_lines([(0, 0), (10, 0)]))
    turned = turn_saw(SawLine((line,), {"upper": 1.0}, make_facts(["COUNTED: WOOD"]), ("bevel",),
                              findings=(Finding("thin", (10.0, 0.0)),)), MIRROR)
    assert (turned.rows, turned.includes, turned.findings) == (("COUNTED: WOOD",), ("bevel",),
                                                               (Finding("thin", (1090.0, 300.0)),))


def test_stations_stay_in_order_and_upper_end_first():
    told = turn_stations([Station("7", [(1000, 40), (1000, 140)], 100.0, 50.0),
                          Station("8", [(700, 40), (710, 140)], 100.5, 350.0)], ask(), MIRROR)
    assert [s.label for s in told] == ["7", "8"] and [s.width_mm for s in told] == [
        100.0, 100.5] and [s.distance_mm for s in told] == [50.0, 350.0]
    assert told[1].line.tolist() == [[400.0, 340.0], [390.0, 440.0]]


def test_what_is_lettered_at_a_station_changes_sides_with_what_is_drawn_there():
    station = Station("17", [(1000, 40), (1000, 140)], 100.0, 50.0)
    turned, = turn_stations([station], ask(), MIRROR)
    for one, other in zip(list_station_words(station), list_station_words(turned)):
        before, after = (draw_ink(SheetText(text, tuple(at), height, angle))
                         for text, at, height, angle in (one, other))
        assert other[0] == one[0] and 1000 + 2.5 - 1e-9 <= before[:, 0].min() and after[:, 0].max() <= 100 - 2.5 + 1e-9
        assert after[:, 0].max() == pytest.approx(1100 - before[:, 0].min(),
                                                  abs=1e-6) and other[1][1] == pytest.approx(one[1][1] + 300)
    again, = turn_stations([turned], ask("port", "left"), MIRROR)
    moved, = turn_stations([station], ask(face_up="other"), MIRROR)
    assert (again.words, turned.words, moved.words) == ("right", "left", "right")


# -- lettering ------------------------------------------------------------------------------------------------------

def draw_ink(text):
    return np.vstack(stroke_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                                 anchor=text.anchor))


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("angle", [0.0, 12.0, -35.0, 44.0, -60.0, 90.0, -90.0, 180.0])
def test_words_take_the_place_of_their_mirror_image_and_can_be_read(anchor, angle):
    """HOXI is letters that are their own mirror images, up and down and left and right, so mirrored it is the ink of
    IXOH, however that is read.
    """
    text = SheetText("HOXI", (300.0, 200.0), 8.0, angle, anchor=anchor, style="warning", role="label")
    turned, = turn_overlay(Overlay(texts=(text,)), ask(), MIRROR, plank=MARKED).texts
    assert (turned.text, turned.height_mm, turned.anchor, turned.style,
            turned.role) == ("HOXI", 8.0, anchor, "warning", "label")
    image = draw_ink(text) * (-1, 1) + (1100, 300)
    ink = draw_ink(turned)
    # the same block: corners of both in the axes of the words as they were, mirrored
    a = np.radians(angle)
    axes = np.array([[-np.cos(a), np.sin(a)], [np.sin(a), np.cos(a)]])
    assert (ink @ axes.T).min(axis=0) == pytest.approx((image @ axes.T).min(axis=0), abs=1e-6) and (ink @ axes.T).max(
        axis=0) == pytest.approx((image @ axes.T).max(axis=0), abs=1e-6)
    # and no mirror image: of the lettering's own turns the one that is nearer to how it was read before
    way, was = (np.array([np.cos(np.radians(v)), np.sin(np.radians(v))]) for v in (turned.angle_deg, angle))
    assert way @ was > 0 or abs(abs(angle) - 45) < 1e-6
    assert abs(way @ (was * (-1, 1))) == pytest.approx(1)


def test_words_read_up_a_line_are_read_up_the_line_after_it_was_turned():
    """As a scarf's words along its feather edge: before, left of the line x = 400, tops towards the left."""
    text = SheetText("BUTT 1", (398.0, 200.0), 5.0, -90.0, anchor="middle")
    turned, = turn_overlay(Overlay(texts=(text,)), ask(), MIRROR, plank=MARKED).texts
    ink = draw_ink(turned)
    assert turned.angle_deg == pytest.approx(-90.0) and ink[:, 0].min() == pytest.approx(
        702.0, abs=1e-6) and ink[:, 0].max() == pytest.approx(707.0, abs=1e-6)
    assert (ink[:, 1].min() + ink[:, 1].max()) / 2 == pytest.approx(500.0, abs=1e-6)


def test_words_that_only_move_keep_their_turn():
    text = SheetText("FWD", (300.0, 200.0), 8.0, 12.0)
    moved, = turn_overlay(Overlay(texts=(text,)), ask(face_up="other"),
                          np.array([[1.0, 0.0, 5.0], [0.0, 1.0, 300.0]]), plank=MARKED).texts
    assert moved.at_mm == pytest.approx((305.0, 500.0)) and moved.angle_deg == pytest.approx(12.0)


def test_lines_turn_and_of_their_values_only_a_way_on_the_page():
    line = SheetLine(draw_lines([(100, 50), (140, 80)]), "draw", "part", "edge", closed=True,
                     values=(("part", "1"), ("shift_mm", "30.0 250.0"), ("from_mm", "12.5")))
    overlay = Overlay((line,), (), make_facts(["ROW"]), (Finding("check", (100.0, 50.0)), Finding("loose")))
    turned = turn_overlay(overlay, ask(), MIRROR, plank=MARKED)
    assert turned.lines[0].cubics[0, [0, 3]].tolist() == [[1000.0, 350.0], [960.0, 380.0]]
    assert dict(turned.lines[0].values) == {"part": "1", "shift_mm": "-30.0000000 250.0000000", "from_mm": "12.5"}
    assert (turned.lines[0].pen, turned.lines[0].role, turned.lines[0].style,
            turned.lines[0].closed) == ("draw", "part", "edge", True)
    assert turned.rows == ("ROW",) and turned.findings == (Finding("check", (1000.0, 350.0)), Finding("loose"))


def lay_table(low, high):
    """A ruled table from x = low, and a mark of the plank's that also stands beyond its end."""
    lines = tuple(SheetLine(draw_lines([(low, y), (high, y)]), "draw", "rule", "note") for y in (100.0, 200.0))
    texts = tuple(SheetText(word, (low + at, 150.0), 4.0, 0.0, anchor=anchor, role="label") for word, at, anchor in (
        ("STATION", 0.0, "start"), ("7.5", 60.0, "end"), ("A LONG TITLE OF THE TABLE", 0.0, "start")))
    return Overlay(lines + (SheetLine(draw_lines([(1400, 80), (1400, 90)]), "draw", "neighbour", "note"),),
                   texts + (SheetText("6: BUTT", (1404.0, 86.0), 4.0),))


@pytest.mark.parametrize("low, high", [(1300.0, 1370.0), (-120.0, -50.0)])
def test_a_ruled_table_beside_the_plank_is_moved_as_it_is_and_keeps_its_distance(low, high):
    """The plank spans x 50 to 1250; turned about x = 550 it spans -150 to 1050, so that all beside it goes 200 to the
    left.
    """
    overlay = lay_table(low, high)
    turned = turn_overlay(overlay, ask(), MIRROR, plank=MARKED)
    for one, other in zip(overlay.lines[:2], turned.lines):
        assert other.cubics == pytest.approx(one.cubics + (-200, 300))
    for one, other in zip(overlay.texts[:3], turned.texts):
        assert other.at_mm == pytest.approx((one.at_mm[0] - 200, one.at_mm[1] + 300)) and other.angle_deg == 0.0
    assert turned.lines[2].cubics[0, 0].tolist() == [-300.0,
                                                     380.0], "what belongs to the plank is turned, wherever it stands"
    assert turned.texts[3].at_mm[0] < -304


@pytest.mark.parametrize("wish, forward", [({}, "LEFT"), ({"face_up": "other", "to_side": "same"}, "LEFT"),
                                           ({"face_up": "other"}, "RIGHT")])
def test_which_way_the_bow_lies_is_lettered_anew_and_no_other_word_is_touched(wish, forward):
    """Even words that only sound as if they told of the page stay: no sentence is read."""
    said = ("PART 1 OF 2. FWD TO THE RIGHT", "OUTBOARD FACE UP, SEEN FROM OUTBOARD", "LEFT OFF FOR SWELLING")
    texts = (SheetText(tell_forward("right"), (0.0, 0.0), 5.0, role=FORWARD), SheetText(said[0], (0.0, 20.0), 5.0))
    overlay = Overlay((), texts, make_facts(said), (Finding("Bow to the left"),))
    turned = turn_overlay(overlay, ask(**wish), MIRROR, plank=MARKED)
    assert [t.text for t in turned.texts] == ["FWD TO THE " + forward, said[0]]
    assert turned.facts == overlay.facts and turned.findings == overlay.findings


def test_a_slope_that_was_hidden_is_seen_when_the_board_is_turned_over():
    slopes = tuple(SheetLine(draw_lines([(100, 50), (100, 80)]), "draw", "slope", look)
                   for look in ("joint", "joint-hidden"))
    looks = {wish: [line.style for line in turn_overlay(Overlay(slopes), ask(face_up=wish[0], to_side=wish[1]),
                                                        MIRROR, plank=MARKED).lines]
             for wish in (("same", "other"), ("other", "same"))}
    assert looks == {("same", "other"): ["joint", "joint-hidden"], ("other", "same"): ["joint-hidden", "joint"]}


# -- where it is laid -----------------------------------------------------------------------------------------------

def place(boxes, *, clear=150.0, facts=(), layers=PlankLayers(make_straight_plank()), turn=None):
    """The straight plank spans x 50 to 1050, y 40 to 140."""
    turn = turn or ask()
    matrix = place_copy(layers, turn, boxes=boxes, clear_mm=clear, facts=facts)
    points = np.vstack([c.flatten() for c in turn_layers(layers, turn, matrix).plank.outline()])
    return points.min(axis=0), points.max(axis=0)


@pytest.mark.parametrize("wish", [{}, {"face_up": "other"}])
def test_it_lies_straight_below_clear_of_all_that_the_plank_owns(wish):
    low, high = place([((-20, 0), (1200, 400))], turn=ask(**wish))
    assert low == pytest.approx((50, 550)) and high == pytest.approx((1050, 650))


def test_other_planks_that_lie_there_push_it_down_and_those_beside_do_not():
    boxes = [((50, 40), (1050, 140)), ((50, 700), (1050, 800)), ((50, 320), (1050, 420)), ((3000, 0), (4000, 5000))]
    low, _ = place(boxes)
    assert low[1] == pytest.approx(950)
    low, _ = place([boxes[0], ((50, 700), (1050, 800))])
    assert low[1] == pytest.approx(290)


def test_the_note_has_room_of_its_own():
    facts = list_facts(make_straight_plank(strake="5"), ask(), symmetry="diagonals, M. Orme")
    layers = PlankLayers(make_straight_plank(strake="5"))
    matrix = place_copy(layers, ask(), boxes=[((50, 40), (1050, 140))], clear_mm=100, facts=facts)
    turned = turn_layers(layers, ask(), matrix)
    overlay, texts = note_turn(turned, facts)
    assert overlay.facts == facts and [t.text for t in texts] == list(overlay.rows) == [f.words for f in facts]
    ink = np.vstack([draw_ink(t) for t in texts])
    assert 240 - 1e-6 <= ink[:, 1].min() and ink[:, 1].max() < turned.plank.find_corners()["upper fore"][1] - 4


# -- what is said ---------------------------------------------------------------------------------------------------

def test_the_words_name_hand_face_and_origin():
    plank = make_straight_plank(strake="5", face="inboard")
    rows = list_words(list_facts(plank, ask(), symmetry="diagonals, M. Orme, 3 May"))
    assert rows[0] == "OTHER HAND OF STRAKE 5 STARBOARD; HULL CHECKED FOR SYMMETRY: DIAGONALS, M. ORME, 3 MAY."
    assert (rows[1] == "THIS IS A PORT PLANK WITH ITS OUTBOARD FACE UP, BOW TO THE LEFT. THE LINE IS THAT OF ITS "
                       "INBOARD FACE, WHICH LIES UNDER.")
    assert "ONLY IF THE HULL IS TRUE" in rows[2] and "PORT SIDE" in rows[2] and len(rows) == 3
    rows = list_words(list_facts(plank, ask(face_up="other", to_side="same"), symmetry=""))
    assert rows[0] == "OTHER FACE OF STRAKE 5 STARBOARD: THE SAME PLANK TURNED OVER." and rows[1].endswith(
        "WHICH LIES UP.") and len(rows) == 2
    rows = list_words(list_facts(plank, ask(face_up="other"), symmetry="diagonals, M. Orme"))
    assert "WITH THE OTHER FACE UP, SO THAT THE SAME LINE SERVES" in rows[0] and "BOW TO THE RIGHT" in rows[1]
    assert list_facts(make_straight_plank(), ask(face_up="other", to_side="same"),
                      symmetry="")[0].words.startswith("OTHER FACE OF THE STARBOARD PLANK:")


def test_joints_say_against_which_side_they_were_judged_until_that_is_mended():
    held = PlankLayers(make_straight_plank(), overlays={"joints": Overlay(facts=make_facts(["BUTT 1."]))})
    turn = ask()
    turned, warning = warn_of_joints(turn_layers(held, turn, MIRROR), judged_side="starboard")
    assert turned.overlays["joints"].rows == (
        "BUTT 1.", "THE JOINTS WERE JUDGED AGAINST NEIGHBOURS TO STARBOARD: JUDGE THEM AGAIN AGAINST THOSE TO PORT.")
    assert "Scarfs and Butts" in warning and "to port" in warning
    back, warning = warn_of_joints(turn_layers(turned, ask("port", "left"), MIRROR), judged_side="starboard")
    assert back.overlays["joints"].rows == ("BUTT 1.",) and warning == ""
    over, warning = warn_of_joints(turn_layers(turned, ask("port", "left", face_up="other", to_side="same"), MIRROR),
                                   judged_side="starboard")
    assert over.overlays["joints"].rows == turned.overlays["joints"].rows and warning
    assert warn_of_joints(PlankLayers(make_straight_plank()), judged_side="port")[1] == ""
