"""Choosing stock. Refusals first; then straight and bowed planks on boards whose answers are plain sums."""
import re
from dataclasses import replace

import numpy as np
import pytest
from overlaps import list_crossings
from shapes import draw_graph, make_bowed_plank, make_line, make_plank, make_straight_plank
from stock_pieces import invent_board, invent_piece, make_board, make_knot, make_piece

from plankcore.errors import PatternError, SettingError
from plankcore.model.drawing import list_words
from plankcore.model.stock import StockBoard
from plankcore.stock.choose import BOARD_PAGES, StockSettings, choose_stock, draw_board_pages, draw_boards

BARE = StockSettings(kerf_mm=0.0, edge_mm=0.0, end_mm=0.0, clear_mm=0.0)
# 1000 x 100, ends square, level, its bow to the right
STRIP = make_piece(make_straight_plank(fore=100.0, aft=100.0), "strip", stock_mm=28.0, finished_mm=25.0)
# 1200 x 100 with a sny of 60
BOWED = make_piece(make_bowed_plank(), "bowed", stock_mm=28.0, finished_mm=25.0)


def choose(pieces, boards, **settings):
    return choose_stock(pieces, boards, settings=replace(BARE, **settings))


def place(piece, board, **settings):
    found = choose([piece], [board], **settings).placements
    return found[0] if found else None


@pytest.mark.parametrize("field, value", [("kerf_mm", -1), ("kerf_mm", 51), ("edge_mm", -0.1), ("end_mm", 2000),
                                          ("clear_mm", float("nan")), ("most_turn_deg", 26), ("most_turn_deg", -1),
                                          ("steepest", -3), ("scarf_slope", 3), ("scarf_slope", 21), ("tries", -1),
                                          ("tries", 201), ("seed", -1), ("knots", "some"), ("lay", "anyhow")])
def test_settings_that_cannot_be_used(field, value):
    with pytest.raises(SettingError) as caught:
        choose([STRIP], [make_board("B", 1200, 200)], **{field: value})
    assert caught.value.where and caught.value.remedy


def test_a_board_that_crosses_itself_is_refused():
    with pytest.raises(PatternError, match="crosses itself"):
        StockBoard("B", np.array([(0, 0), (1000, 200), (1000, 0), (0, 200.0)]), 32.0)


@pytest.mark.parametrize("board, settings, why", [
    (make_board("B", 1200, 200, 27.9), {}, "thick enough: it needs 28.0 mm"),
    (make_board("B", 1200, 99), {}, "100 x 1000 mm"), (make_board("B", 999, 200), {}, "takes it"),
    (make_board("B", 1200, 200, species="oak"), {"species": "larch"}, "species"),
    (make_board("B", 1200, 109), {"edge_mm": 5.0}, "takes it"),
    (make_board("B", 1040, 200), {"end_mm": 25.0}, "takes it"),
    (make_board("B", 1200, 20), {"edge_mm": 15.0}, "takes it"),
])
def test_why_a_plank_has_no_board(board, settings, why):
    plan = choose([STRIP], [board], **settings)
    (label, told), = plan.unplaced
    assert label == "strip" and why in told and not plan.uses
    assert why in plan.findings["strip"][0].text and plan.findings["strip"][0].where is not None
    assert draw_boards(plan, [STRIP], [board], settings=BARE) is None


def test_just_wide_enough_just_long_enough_and_of_the_species():
    assert place(STRIP, make_board("B", 1000.2, 100.2, 28.0, species="Larch "), species="larch").board == "B"


def test_two_planks_and_one_board_leave_one_over():
    plan = choose([STRIP, replace_label(STRIP, "other")], [make_board("B", 1100, 150)])
    assert len(plan.placements) == 1 and plan.unplaced[0][1] == "the boards that take it are used for others"


def replace_label(piece, label):
    return replace(piece, label=label)


def test_without_boards_it_says_what_to_buy():
    plan = choose([STRIP], [], edge_mm=5.0, end_mm=25.0)
    need = plan.needs["strip"]
    assert (need.width_mm, need.length_mm) == pytest.approx((110, 1050)) and (
        need.along_width_mm, need.sny_mm) == pytest.approx((110, 0), abs=1e-6)
    assert not plan.placements and "no boards are given" in plan.unplaced[0][1] and plan.findings["strip"] == ()
    assert "110 mm" in plan.summary[1] and "5/4" in plan.summary[1]


def test_the_least_board_is_taken():
    """Of boards that fit, that of least volume, not the narrowest nor the first."""
    plan = choose([STRIP], [make_board("wide", 1100, 300), make_board("thick", 1100, 110, 60.0),
                            make_board("right", 1100, 115), make_board("long", 3000, 105)])
    assert [p.board for p in plan.placements] == ["right"]
    assert plan.waste_share == pytest.approx(1 - 1000 * 100 / (1100 * 115), abs=1e-6)
    use, = plan.uses
    assert use.waste_share == pytest.approx(plan.waste_share) and use.cubic_metres == pytest.approx(1.1 * 0.115 * 0.032)
    assert use.board_feet == pytest.approx(32 * 115 * 1100 / (144 * 25.4 ** 3))


@pytest.mark.parametrize("kerf, width, boards", [(4.0, 204.3, 1), (4.0, 203.5, 2), (0.0, 200.3, 1)])
def test_the_saw_takes_its_kerf_between_two(kerf, width, boards):
    """Two strips of 100 side by side in one board, or each in one of its own of 101."""
    yard = [make_board("wide", 1010, width, 28.0), make_board("A", 1010, 101, 32.0), make_board("B", 1010, 101, 32.0)]
    plan = choose([STRIP, replace_label(STRIP, "other")], yard, kerf_mm=kerf)
    assert len(plan.uses) == boards and len(plan.placements) == 2


@pytest.mark.parametrize("length, placed", [(2005, 2), (2003, 1)])
def test_end_to_end_in_one_board(length, placed):
    plan = choose([STRIP, replace_label(STRIP, "other")], [make_board("B", length, 101)], kerf_mm=4.0)
    assert len(plan.placements) == placed


def test_bowed_planks_nest():
    """Two of a sny of 60 come out of a board hardly wider than one and its neighbour's breadth: 100 + 100 + 60, not
    twice 160.
    """
    plan = choose([BOWED, replace_label(BOWED, "other")], [make_board("B", 1210, 265)])
    assert len(plan.placements) == 2
    assert min(p.spare_mm for p in plan.placements) >= 0


@pytest.mark.parametrize("sap, use_sap, fits",
                         [((0, 0), False, True), ((30, 0), False, True), ((30, 30), False, False),
                          ((30, 30), True, True), ((0, 51), False, False)])
def test_sapwood_is_kept_out_unless_it_may_be_used(sap, use_sap, fits):
    found = place(STRIP, make_board("B", 1100, 150, sap_mm=sap), use_sap=use_sap)
    assert (found is not None) is fits
    if found and not use_sap and sap[0]:
        assert lay(STRIP, found)[:, 1].min() >= 30


def lay(piece, found):
    """The piece's corners on the board."""
    corners = np.array([c.start for c in piece.curves])
    return corners @ found.to_board[:, :2].T + found.to_board[:, 2]


KNOT_IN_THE_MIDDLE = make_board("B", 1100, 130, defects=(make_knot(550, 65, 10),))


@pytest.mark.parametrize("kind, knots, clear, keep_clear, fits", [
    ("knot", "out", 10.0, (), False), ("knot", "clear", 10.0, (), True), ("knot", "clear", 45.0, (), False),
    ("defect", "clear", 10.0, (), False),
    ("knot", "clear", 10.0, [(x, y) for x in range(50, 1051, 15) for y in range(50, 140, 15)], False),
    ("knot", "clear", 10.0, [(60, 50), (1040, 130)], True),
])
def test_a_knot_inside_is_a_matter_of_kind_rule_and_distance(kind, knots, clear, keep_clear, fits):
    """On a board of 1100 x 130 a plank of 1000 x 100 cannot miss a knot in its middle; fastenings every 15 mm leave no
    knot of 10 mm clear of them by 10.
    """
    board = replace(KNOT_IN_THE_MIDDLE, defects=(make_knot(550, 65, 10, kind),))
    found = place(replace(STRIP, keep_clear=keep_clear), board, knots=knots, clear_mm=clear)
    assert (found is not None) is fits
    if found:
        assert found.spare_mm >= 0


def test_defects_are_kept_clear_of():
    """Two straight knots above and below leave 140 between their edges; 100 and twice 20 are 140."""
    for gap, fits in ((141.0, True), (139.0, False)):
        board = make_board("B", 1040, 300,
                           defects=(make_knot(520, 150 - gap / 2 - 15, 15), make_knot(520, 150 + gap / 2 + 15, 15),
                                    make_knot(300, 20, 15), make_knot(700, 20, 15),
                                                    make_knot(300, 280, 15), make_knot(700, 280, 15)))
        assert (place(STRIP, board, clear_mm=20.0, most_turn_deg=0.0) is not None) is fits


@pytest.mark.parametrize("grain", [-4.0, 0.0, 3.0])
def test_a_plank_follows_the_grain_where_the_board_is_wide_enough(grain):
    """Turned by 4 degrees a strip of 1000 x 100 is 169 wide."""
    found = place(STRIP, make_board("B", 1200, 220, grain=((0.0, grain),)))
    assert found.runout_deg == pytest.approx(0, abs=0.03) and found.turn_deg == pytest.approx(grain, abs=0.03)
    tight = place(STRIP, make_board("B", 1200, 100.2, grain=((0.0, grain),)))
    assert tight.runout_deg == pytest.approx(abs(grain), abs=0.05)


def test_run_out_of_a_bowed_plank_is_greatest_at_an_end():
    """The parabola's slope there is 4 x 60 / 1200."""
    found = place(BOWED, make_board("B", 1300, 200), lay="middle")
    assert found.runout_deg == pytest.approx(np.degrees(np.arctan(0.2)), abs=0.2)
    assert min(found.runout_mm, 1208 - found.runout_mm) < 20
    assert np.hypot(*(np.array(found.runout_at) - BOWED.run[0])) < 20 or np.hypot(
        *(np.array(found.runout_at) - BOWED.run[-1])) < 20


def test_in_a_board_with_the_same_sweep_the_grain_does_not_run_out():
    """A bowed plank on a crook: outline and grain bow as it does."""
    x = np.linspace(0, 1300, 66)
    bow = -4 * 60 * (x - 50) * (1250 - x) / 1200 ** 2
    board = StockBoard("crook", np.vstack([np.column_stack([x, bow - 80]), np.column_stack([x, bow + 80])[::-1]])
                       + (0, 140), 32.0,
                       grain=np.column_stack([x, np.degrees(np.arctan(-4 * 60 * (1300 - 2 * x) / 1200 ** 2))]),
                       drawn=True)
    found = place(BOWED, board)
    assert found.runout_deg < 1.0 and found.spare_mm >= 0
    straight = place(BOWED, make_board("B", 1300, 200))
    assert straight.runout_deg > 10


def test_a_plank_turned_over_has_its_own_run_turned_too():
    """A plank that bends one way and then the other, on a board whose grain bends the other way and then the one: it
    runs with the grain only hidden side up, for half a turn leaves such a line as it was. Run-out is measured again on
    the board, by the plank's middle line and the grain."""
    def draw(y):
        return draw_graph(lambda x: y + 20 * np.sin(2 * np.pi * x / 1200),
                          lambda x: 40 * np.pi / 1200 * np.cos(2 * np.pi * x / 1200), 1200.0, 0.0)
    upper, lower = draw(0.0), draw(80.0)
    piece = make_piece(make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end)),
                       "winding", stock_mm=28.0)
    x = np.linspace(0, 1240, 125)
    slope = -40 * np.pi / 1200 * np.cos(2 * np.pi * (x - 20) / 1200)
    board = make_board("B", 1240, 170, grain=np.column_stack([x, np.degrees(np.arctan(slope))]))
    for over, most in ((True, 1.5), (False, 15.0)):
        found = place(piece, board, turn_over=over)
        run = piece.run @ found.to_board[:, :2].T + found.to_board[:, 2]
        way, middle = np.diff(run, axis=0), (run[1:] + run[:-1]) / 2
        turn = np.degrees(np.arctan2(way[:, 1], way[:, 0])) - np.degrees(np.arctan(np.interp(middle[:, 0], x, slope)))
        worst = np.abs((turn + 90) % 180 - 90).max()
        assert found.turned_over is over and found.runout_deg == pytest.approx(worst, abs=0.3)
        assert most - 5 < worst < most


def test_hidden_side_up_only_where_it_is_allowed_and_needed():
    """A parallelogram fits in one of the same lean, and in one of the other lean only turned over."""
    a, b, c, d = np.array([(1300, 0), (100, 0), (1200, 200), (0, 200.0)])
    piece = make_piece(make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d)), "lean",
                       stock_mm=28.0)
    boards = {lean: StockBoard("B", np.array([(50 + lean, -3), (1265 + lean, -3), (1260 - lean, 203),
                                              (45 - lean, 203.0)]) + (100, 3), 32.0, drawn=True) for lean in (50, -50)}
    for lean, over, fits, turned in ((50, False, True, False), (50, True, True, False), (-50, False, False, None),
                                     (-50, True, True, True)):
        found = place(piece, boards[lean], turn_over=over, most_turn_deg=2.0)
        assert (found is not None) is fits, (lean, over)
        if found:
            assert found.turned_over is turned
            assert np.linalg.det(found.to_board[:, :2]) == pytest.approx(-1 if turned else 1)
    plan = choose([piece], [boards[-50]], turn_over=True, most_turn_deg=2.0)
    assert any("HIDDEN SIDE UP" in row for row in list_words(plan.facts["lean"]))
    assert any("hidden side up" in f.text for f in plan.findings["lean"])


def test_a_plank_lies_as_it_is_drawn_unless_it_must_not():
    assert np.degrees(np.arctan2(*place(STRIP, make_board("B", 1100, 150)).to_board[[1, 0], 0])) == pytest.approx(
        0, abs=0.1)


def test_in_the_middle_there_is_as_much_room_on_all_sides():
    found = place(STRIP, make_board("B", 1030, 130), lay="middle", edge_mm=5.0, end_mm=5.0)
    assert found.spare_mm == pytest.approx(10, abs=0.1)
    assert lay(STRIP, found).mean(axis=0) == pytest.approx((515, 65), abs=0.1)


def test_what_a_scarf_saves():
    """Half of a bowed plank has about a quarter of its sny: (1200 + 300) / 2 of 1200 long, 60 (750 / 1200)^2 = 23."""
    scarf = choose([BOWED], [], scarf_slope=12.0).scarfs["bowed"]
    assert scarf.length_mm == pytest.approx(12 * 25) and scarf.at_mm == pytest.approx(600, abs=30)
    assert scarf.whole_width_mm == pytest.approx(160, abs=0.1) and scarf.width_mm == pytest.approx(100 + 23, abs=5)
    assert scarf.saved_mm2 == pytest.approx(160 * 1200
                                            - sum(w * n for w, n in zip(scarf.widths_mm, scarf.lengths_mm)), rel=0.05)
    plan = choose([STRIP, BOWED], [], scarf_slope=8.0)
    assert "WOULD NOT LET" in plan.facts["strip"][-1].words
    assert "SERVE IN PLACE OF 160 MM" in plan.facts["bowed"][-1].words
    assert choose([replace(BOWED, finished_mm=80.0)], []).scarfs["bowed"] is None
    assert choose([replace(BOWED, finished_mm=0.0, stock_mm=0.0)], []).scarfs["bowed"] is None


def test_doubts_of_moisture_grain_and_thickness():
    wet, dry, fit, unknown = (make_board("B", 1300, 170, moisture_percent=m) for m in (21, 8, 15, None))
    told = {m: " ".join(f.text for f in choose([BOWED], [b]).findings["bowed"])
            for m, b in (("wet", wet), ("dry", dry), ("fit", fit), ("unknown", unknown))}
    assert ("too wet" in told["wet"] and "too dry" in told["dry"] and "too" not in told["fit"]
            and "too" not in told["unknown"])
    assert "steeper than 1 in 10" in told["fit"]
    assert not choose([BOWED], [fit],
                      steepest=0.0).findings["bowed"] and not choose([BOWED], [fit], steepest=3.0).findings["bowed"]
    unknown = choose([replace(BOWED, stock_mm=0.0)], [fit], steepest=0.0).findings["bowed"]
    assert "not judged" in unknown[0].text


@pytest.mark.long
@pytest.mark.parametrize("seed", range(3))
def test_whatever_is_placed_fits_and_the_same_seed_gives_the_same_plan(seed):
    chance = np.random.default_rng(seed)
    pieces = [invent_piece(chance, "P%d" % k, longest=2600.0) for k in range(5)]
    boards = [invent_board(chance, "B%d" % k, longest=3600.0) for k in range(4)]
    settings = StockSettings(tries=1, seed=3, turn_over=True)
    first, again = (choose_stock(pieces, boards, settings=settings) for _ in range(2))
    assert first.placements and min(p.spare_mm for p in first.placements) > -0.01
    assert [(p.piece, p.board, p.to_board.tolist())
            for p in first.placements] == [(p.piece, p.board, p.to_board.tolist()) for p in again.placements]


@pytest.mark.long
def test_many_pieces_go_by_tries_and_progress_is_told():
    chance = np.random.default_rng(8)
    pieces = [invent_piece(chance, "P%d" % k, longest=2200.0) for k in range(9)]
    boards = [invent_board(chance, "B%d" % k, longest=3600.0, most_defects=1) for k in range(7)]
    said = []
    plan = choose_stock(pieces, boards, settings=StockSettings(tries=1), progress=said.append)
    assert len(said) == 3 and said[0].startswith("Stock: ")
    assert len(plan.placements) + len(plan.unplaced) == 9 and min(p.spare_mm for p in plan.placements) > -0.01
    per_board = {u.board: set(u.pieces) for u in plan.uses}
    assert sum(len(s) for s in per_board.values()) == len(set().union(*per_board.values())) == len(plan.placements)


def test_the_boards_page_has_the_numbers_to_chalk_by():
    """The rings' numbers are those of the corners, from the board's left end and its nearer edge."""
    board = make_board("B", 1200, 220, defects=(make_knot(100, 200, 8),), sap_mm=(0.0, 10.0))
    plan = choose([STRIP], [board], edge_mm=5.0, end_mm=25.0)
    page = draw_boards(plan, [STRIP], [board], settings=BARE, file_name="boards.svg", day="1 May")
    assert {"board", "outline", "knot", "sapwood", "grain", "ring", "distance",
            "scale-bar"} <= {line.role for line in page.lines}
    words = [dict(line.values)["text"] for line in page.lines if "text" in dict(line.values)]
    told = sorted(tuple(map(float, w.split(" / "))) for w in words if re.match(r"^[\d.]+ / [\d.]+$", w))
    corners = lay(STRIP, plan.placements[0])
    edge = min(corners[:, 1].min(), 220 - corners[:, 1].max())
    assert len(told) == 3
    assert [t[0] for t in told] == pytest.approx([corners[:, 0].min(), corners[:, 0].mean(), corners[:, 0].max()],
                                                 abs=0.06)
    assert [t[1] for t in told] == pytest.approx([edge] * 3, abs=0.06)
    assert any("NOT AN APPROVAL" in w for w in words) and any(w.startswith("BOARD B:")
                                                              for w in words) and any("boards.svg" in w for w in words)
    outline = next(line for line in page.lines if line.role == "outline")
    assert outline.pen == "cut" and np.ptp(outline.cubics.reshape(-1, 2), axis=0) == pytest.approx((1000, 100), abs=0.5)
    wood = next(line for line in page.lines if line.role == "board")
    assert np.ptp(wood.cubics.reshape(-1, 2), axis=0) == pytest.approx((1200, 220))
    everything = np.concatenate([line.cubics.reshape(-1, 2) for line in page.lines])
    assert everything.min() > 0 and np.all(everything.max(axis=0) < (page.width_mm, page.height_mm))




def read_page(page):
    """(role, values, points) of what is drawn, and the words by their role."""
    drawn = [(one.role, dict(one.values), one.cubics.reshape(-1, 2)) for one in page.lines]
    return [d for d in drawn if "text" not in d[1]], [(r, v["text"]) for r, v, _ in drawn if "text" in v]


@pytest.mark.parametrize("paper", sorted(BOARD_PAGES))
def test_a_page_to_each_board_sets_the_plank_out_by_large_figures(paper):
    """Each figure is measured again on the small drawing: its ring from the board's left end and nearer edge, times the
    scale that is lettered; to a tenth of a mm and the inch behind it."""
    board = make_board("B", 1200, 220, defects=(make_knot(100, 200, 8),), sap_mm=(0.0, 10.0))
    plan = choose([STRIP], [board], edge_mm=5.0, end_mm=25.0)
    first, second = draw_board_pages(plan, [STRIP], [board], settings=BARE, page=paper, file_name="boards", day="1 May")
    for page in (first, second):
        assert (page.width_mm, page.height_mm) == BOARD_PAGES[paper]
        points = np.concatenate([line.cubics.reshape(-1, 2) for line in page.lines])
        assert points.min() > 5.0 and np.all(points.max(axis=0) < np.array(BOARD_PAGES[paper]) - 4.0)
    drawn, words = read_page(second)
    ratio = float(next(re.search(r"DRAWN 1:(\d+)", t) for _, t in words if "DRAWN 1:" in t).group(1))
    wood = next(points for role, _, points in drawn if role == "board")
    low, high = wood.min(axis=0), wood.max(axis=0)
    assert (high - low) * ratio == pytest.approx((1200, 220), abs=1e-6)
    rings = [points.mean(axis=0) for role, _, points in drawn if role == "ring"]
    figures = [t for role, t in words if role == "figure"]
    inches = [t for role, t in words if role == "figure-in"]
    assert len(rings) == 3 and figures[::3] == ["1", "2", "3"] and len(figures) == 9 and len(inches) == 6
    assert [t for role, t in words if role == "figure-of"] == ["STRIP"] * 3
    for ring, along, inside, told in zip(rings, figures[1::3], figures[2::3], inches[1::2]):
        edge = ring[1] - low[1] if told.endswith("UPPER") else high[1] - ring[1]
        assert float(along) == pytest.approx((ring[0] - low[0]) * ratio, abs=0.06)
        assert float(inside) == pytest.approx(edge * ratio, abs=0.06)
    for text, mm in zip(inches, [float(f) for k in range(3) for f in figures[3 * k + 1:3 * k + 3]]):
        whole, part = re.match(r"\((?:(\d+) ?)?(?:(\d+/\d+) )?\s*IN\)", text).groups()
        value = float(whole or 0) + (int(part.split("/")[0]) / int(part.split("/")[1]) if part else 0.0)
        assert value * 25.4 == pytest.approx(mm, abs=25.4 / 32 + 0.06)
    heights = [np.ptp(one.cubics.reshape(-1, 2)[:, 1]) for one in second.lines if one.role == "figure"]
    assert min(heights) >= 8.0
    assert {"1", "2", "3"} == {t for role, t in words if role == "ring-number"}
    assert list_crossings(first) + list_crossings(second) == []


def test_two_planks_end_to_end_have_numbers_and_names_apart():
    """Rings 4 mm from each other on the wood stand 0.3 mm apart on the page; narrow strips, names as long as they."""
    strips = [make_piece(make_straight_plank(length=900.0, fore=60.0, aft=60.0), "strake 12 starboard part %d" % k,
                         stock_mm=28.0, finished_mm=25.0) for k in (1, 2)]
    board = make_board("B", 1900, 70)
    plan = choose(strips, [board], kerf_mm=4.0)
    assert len(plan.placements) == 2
    _, page = draw_board_pages(plan, strips, [board], settings=BARE)
    assert len([1 for role, t in read_page(page)[1] if role == "ring-number"]) == 6
    assert list_crossings(page) == []


def test_the_buying_list_comes_first_and_tells_what_has_no_board():
    wide, second = make_board("W", 1200, 220), replace(STRIP, label="second")
    plan = choose([STRIP, second], [make_board("W", 1200, 160)], edge_mm=5.0, end_mm=25.0, tries=1)
    assert len(plan.unplaced) == 1
    pages = draw_board_pages(plan, [STRIP, second], [make_board("W", 1200, 160)], settings=BARE)
    text = " ".join(t for _, t in read_page(pages[0])[1])
    assert text.startswith("BUYING LIST") and "32 X 160 X 1200" in text
    assert "NOT AN APPROVAL" in text and "NO PATTERN" in text and "PAGE 1 OF 2" in text
    assert all(word in text for row in plan.unplaced for word in row[0].upper().split())
    with pytest.raises(SettingError, match="page"):
        draw_board_pages(plan, [STRIP], [wide], settings=BARE, page="A7")
