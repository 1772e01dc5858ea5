"""Planks on a roll: nothing overlaps, nothing hangs over, and one lies in the hollow of another."""
import numpy as np
import pytest
from plots import list_words, make_line_overlay, make_matter, make_text
from shapely.affinity import affine_transform
from shapely.geometry import MultiLineString, Point, Polygon, box

from plankcore.errors import PatternError, SettingError
from plankcore.geometry.strokes import flatten_strokes, measure_extent
from plankcore.model.page import MediumCorrection
from plankcore.plot.roll import nest_on_roll
from plankcore.plot.sheet import MediumSettings, SheetSettings, lay_out_roll

pytestmark = pytest.mark.long          # whole pages laid out

FLEET = (("5", 2400.0, 140.0), ("6", 1800.0, 120.0), ("7", 900.0, 160.0))


def lay(matters, roll="36 in (914 mm)", settings=SheetSettings(), **medium):
    pages, said = lay_out_roll(matters, medium=MediumSettings(roll=roll, **medium), settings=settings)
    page, = pages
    return page, said


def make_fleet():
    return [make_matter(strake=s, length=length, width=width) for s, length, width in FLEET]


def find_cut_shapes(page):
    return [Polygon(flatten_strokes(one.cubics, tolerance_mm=0.01)[0]) for one in page.lines if one.pen == "cut"]


@pytest.mark.parametrize("roll", ["15 in (381 mm)", "24 in (610 mm)", "36 in (914 mm)"])
@pytest.mark.parametrize("gap", [5.0, 15.0, 40.0])
def test_planks_keep_clear_of_each_other_and_within_the_roll(roll, gap):
    """Second opinion: shapely's distance between the cut shapes."""
    page, _ = lay(make_fleet(), roll, gap_mm=gap, edge_mm=12.0)
    shapes = find_cut_shapes(page)
    assert len(shapes) == 3
    assert all(a.distance(b) >= gap for k, a in enumerate(shapes) for b in shapes[:k])
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
    assert low.min() >= 12.0 - 1e-6 and (high <= np.array([page.width_mm, page.height_mm]) - 12.0 + 1e-6).all()
    assert page.height_mm == pytest.approx({"15": 381.0, "24": 609.6, "36": 914.4}[roll[:2]])


def test_words_lie_on_no_other_plank():
    page, _ = lay(make_fleet(), "24 in (610 mm)")
    shapes = [s.buffer(5.0) for s in find_cut_shapes(page)]
    notes = [MultiLineString(flatten_strokes(one.cubics, tolerance_mm=0.05)) for one in page.lines
             if one.role in ("note", "scale-bar", "scale-bar-tick") and "text" in dict(one.values) | {"text": one.role}]
    assert notes and not any(note.intersects(shape) for note in notes for shape in shapes)


def test_planks_lie_in_each_others_hollow():
    """Three bowed planks one in the other take less of the roll's width than three rectangles round them would, and all
    begin near its beginning.
    """
    page, _ = lay([make_matter(strake=str(k), length=2400.0, width=100.0) for k in range(3)], "24 in (610 mm)",
                  gap_mm=10.0)
    shapes = find_cut_shapes(page)
    together = max(s.bounds[3] for s in shapes) - min(s.bounds[1] for s in shapes)
    assert together < sum(s.bounds[3] - s.bounds[1] for s in shapes) - 60.0
    assert max(s.bounds[0] for s in shapes) < 200.0


def test_a_plank_is_turned_to_its_least_width_and_not_mirrored():
    page, _ = lay([make_matter(bowed=False, length=1500.0, width=150.0)])
    shape, = find_cut_shapes(page)
    low, high = shape.bounds[1], shape.bounds[3]
    least = min(np.ptp([p @ [np.sin(a), np.cos(a)] for p in np.array(shape.exterior.coords)])
                for a in np.radians(np.linspace(-5, 5, 2001)))
    assert high - low == pytest.approx(least, abs=0.05)
    assert "NOT MIRRORED" in " ".join(list_words(page).split())


def test_each_plank_has_its_words_and_the_roll_has_one_set_of_bars_and_cautions():
    page, said = lay(make_fleet())
    words = list_words(page)
    assert all("TERN OF NOWHERE  STRAKE %s  STARBOARD" % s in words.split("\n") for s, _, _ in FLEET)
    assert sum("NOT AN APPROVAL" in t for t in words.split("\n")) == 1
    assert len([one for one in page.lines if one.role == "scale-bar"]) == 4 and len(
        [one for one in page.lines if one.role == "corner-cross"]) == 4
    assert "3 planks" in said


def test_of_several_planks_one_that_is_too_wide_is_named():
    wide = make_matter(strake="9", width=500.0, bowed=False)
    with pytest.raises(PatternError, match="STRAKE 9.* takes 5.. mm across"):
        lay([make_matter(), wide], "15 in (381 mm)")


def test_a_roll_that_is_too_short_is_refused():
    with pytest.raises(SettingError, match="are left"):
        lay(make_fleet(), longest_mm=2000.0)
    assert lay(make_fleet(), longest_mm=9000.0)


@pytest.mark.parametrize("roll, own, field", [("own size", 20.0, "Own width"), ("33 in", 0.0, "Roll")])
def test_a_roll_that_is_none_is_refused(roll, own, field):
    with pytest.raises(SettingError) as refusal:
        lay(make_fleet(), roll, own_mm=(own, 0.0))
    assert refusal.value.where == field


def test_a_corrected_roll_stays_within_its_width():
    correction = MediumCorrection("film", "d", number=1, along=0.99, across=1.012, skew_mm_per_m=3.0)
    page, _ = lay(make_fleet(), "24 in (610 mm)", SheetSettings(correction=correction))
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
    assert low.min() >= 10.0 - 1e-6 and high[1] <= 609.6 - 10.0 + 1e-6 and high[0] <= page.width_mm - 10.0 + 1e-6
    bar, = [one for one in page.lines if one.role == "scale-bar" and dict(one.values)["length_mm"] == 1000.0]
    assert np.ptp(bar.cubics[0], axis=0) == pytest.approx((990.0, 0.0), abs=1e-6)


def test_parts_of_a_butted_plank_are_pieces_of_their_own():
    """A part drawn clear of the plank is nested by itself: the roll is no wider for the place it was drawn at."""
    shape = np.array([(100, 600), (700, 600), (700, 690), (100, 690)], float)
    overlay = make_line_overlay((shape, "part", "outline", "draw", True), part="1", shift_mm="0 480")
    page, _ = lay([make_matter(overlays=[overlay])], "15 in (381 mm)")
    part, = [one for one in page.lines if one.role == "part"]
    low, high = measure_extent(part.cubics)
    assert high - low == pytest.approx((600, 90), abs=1e-3)
    cut, = find_cut_shapes(page)
    assert cut.distance(Polygon(flatten_strokes(part.cubics, tolerance_mm=0.01)[0])) >= 15.0


@pytest.mark.parametrize("seed", range(6))
def test_any_shapes_keep_clear(seed):
    """Random bowls and boomerangs, by shapely."""
    rng = np.random.default_rng(seed)
    pieces = []
    for _ in range(8):
        x = np.linspace(0, rng.uniform(60, 700), 30)
        bow, deep = rng.uniform(-60, 60), rng.uniform(15, 70)
        y = 4 * bow * x * (x[-1] - x) / x[-1] ** 2
        shape = np.vstack([np.column_stack([x, y]), np.column_stack([x[::-1], y[::-1] + deep])])
        pieces.append(make_line_overlay((shape, "saw", "saw", "cut", True)))
    nest = nest_on_roll(pieces, width_mm=260.0, gap_mm=8.0)
    shapes = [affine_transform(Polygon(flatten_strokes(p.lines[0].cubics, tolerance_mm=0.01)[0]),
                               (*m[:, :2].ravel(), *m[:, 2])) for p, m in zip(pieces, nest.maps)]
    assert all(np.linalg.det(m[:, :2]) > 0.999 for m in nest.maps), "turned, and none mirrored"
    assert all(a.distance(b) >= 8.0 for k, a in enumerate(shapes) for b in shapes[:k])
    assert all(-1e-9 <= s.bounds[0] and -1e-9 <= s.bounds[1] and s.bounds[2] <= nest.length_mm + 1e-9
               and s.bounds[3] <= 260.0 + 1e-9 for s in shapes)


def test_a_piece_wider_than_the_roll_gets_no_place():
    tall = make_line_overlay((np.array([(0, 0), (50, 0), (50, 300), (0, 300)], float), "saw", "saw", "cut", True))
    assert nest_on_roll([tall], width_mm=260.0, gap_mm=8.0).maps == (None,)


def test_words_lie_by_their_plank_and_everything_carries_its_name():
    """Of each plank's words and tables, the name above them stands nearer to it than a sixth of its length."""
    table = make_line_overlay((np.array([(1400, 150), (1600, 150)], float), "rule", "note", "draw", False),
                              texts=[make_text("BEVELS", 1405, 160)])
    matters = [make_matter(strake=s, length=length, width=width, overlays=[table]) for s, length, width in FLEET]
    page, _ = lay(matters)
    for (strake, length, _), shape in zip(FLEET, find_cut_shapes(page)):
        names = [box(*np.concatenate(measure_extent(one.cubics))) for one in page.lines
                 if dict(one.values).get("text") == "TERN OF NOWHERE  STRAKE %s  STARBOARD" % strake]
        assert len(names) == 2 and all(shape.distance(name) < length / 6 for name in names), strake


def test_a_plank_laid_end_for_end_says_so():
    """FWD and UP are told as they lie on the roll: the arrow on the wood runs the way that is told."""
    page, _ = lay([make_matter(strake=str(k), length=2400.0, width=100.0, bowed=k % 2 == 0) for k in range(4)],
                  "24 in (610 mm)")
    told = list_words(page).replace("\n", " ").split("ON THIS ROLL IT LIES")[1:]
    shapes, seen = find_cut_shapes(page), []
    assert len(told) == len(shapes) == 4
    for text, shape in zip(told, shapes):
        turned = text.startswith(" END FOR END: FWD TO THE LEFT, UPPER EDGE TO THE FOOT")
        assert turned or text.startswith(" FWD TO THE RIGHT, UPPER EDGE TO THE TOP")
        ways = [one.cubics[0, 3] - one.cubics[0, 0] for one in page.lines
                if one.role == "arrow" and shape.contains(Point(one.cubics[0, 0]))]
        # the longest strokes along and across are the shafts of FWD and UP; y runs down
        ahead = max((way for way in ways if abs(way[0]) > abs(way[1])), key=lambda way: np.hypot(*way))
        up = max((way for way in ways if abs(way[1]) > abs(way[0])), key=lambda way: np.hypot(*way))
        assert (ahead[0] < 0) == turned and (up[1] > 0) == turned
        seen.append(turned)
    assert True in seen and False in seen
