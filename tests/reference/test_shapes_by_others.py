"""Areas, lengths, crossings and offsets against shapely and svgelements."""
import numpy as np
import pytest
import shapely
import svgelements
from invented_planks import invent_plank
from shapes import draw_graph, make_plank

from plankcore.document.path_text import write_cubics
from plankcore.document.pathdata import read_path
from plankcore.geometry.curve import make_line
from plankcore.geometry.outline import find_outline_crossing, flatten_outline, measure_outline_area_mm2, offset_outline
from plankcore.geometry.polyline import contains_points, find_self_crossing, measure_area_mm2

SEEDS = [0, 1, 2, 3, 4, 8, 13]           # every family of bow and of taper


def make_invented_plank(seed):
    """An invented plank as four Curves, bow to the right."""
    length, *edges = invent_plank(seed)
    upper, lower = (draw_graph(f, lambda x, f=f: (f(x + 0.01) - f(x - 0.01)) / 0.02, length, 0.0, tolerance_mm=1e-3)
                    for f in edges)
    return make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end))


def draw_polygon(curves):
    return shapely.Polygon(flatten_outline(curves, tolerance_mm=1e-4))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("distance", [3.0, 25.0, -10.0])
def test_offset_against_shapelys_buffer(seed, distance):
    """Same distance all round, mitred: the two outlines lie within 0.02 mm of each other everywhere."""
    plank = make_invented_plank(seed)
    ours = draw_polygon(offset_outline(plank.outline(), [distance] * 4))
    theirs = draw_polygon(plank.outline()).buffer(distance, join_style="mitre", mitre_limit=20)
    assert ours.is_valid and theirs.geom_type == "Polygon"
    assert ours.exterior.hausdorff_distance(theirs.exterior) < 0.02
    assert ours.area == pytest.approx(theirs.area, rel=1e-5)


@pytest.mark.parametrize("seed", SEEDS)
def test_each_edge_at_its_own_distance_against_shapely(seed):
    """Points of each moved edge lie at that distance from the net edge run on, by shapely's measure."""
    plank = make_invented_plank(seed)
    distances = [2.0, 40.0, 6.0, 25.0]
    for net, moved, d in zip(plank.outline(), offset_outline(plank.outline(), distances), distances):
        line = shapely.LineString(net.extend(500).flatten(tolerance_mm=1e-4))
        gaps = shapely.distance(line, shapely.points(moved.evaluate(np.linspace(0, len(moved.cubics), 400))))
        assert gaps == pytest.approx(np.full(400, d), abs=0.02)


@pytest.mark.parametrize("seed", SEEDS)
def test_area_and_length_against_shapely_and_svgelements(seed):
    plank = make_invented_plank(seed)
    ring = draw_polygon(plank.outline())
    assert abs(measure_outline_area_mm2(plank.outline())) == pytest.approx(ring.area, abs=0.5)
    assert plank.measure_area_mm2() == pytest.approx(ring.area, abs=0.5)
    for curve in plank.outline():
        path = svgelements.Path(write_cubics(curve.cubics, closed=False))
        assert curve.measure_length_mm() == pytest.approx(path.length(error=1e-9), abs=1e-4)


@pytest.mark.parametrize("seed", SEEDS)
def test_written_outlines_are_drawn_the_same_by_svgelements(seed):
    cubics = np.concatenate([c.cubics for c in make_invented_plank(seed).outline()])
    text = write_cubics(cubics, closed=True)
    theirs = [s for s in svgelements.Path(text) if not isinstance(s, svgelements.Move)]
    ends = np.array([(s.end.x, s.end.y) for s in theirs if s.length(error=1e-6) > 1e-9])
    assert ends == pytest.approx(cubics[:, 3], abs=1e-6)
    run, = read_path(text, where="outline")
    assert run.closed and run.cubics[:, 3] == pytest.approx(cubics[:, 3], abs=1e-6)


@pytest.mark.parametrize("sides", [4, 5, 7, 12])
def test_self_crossing_against_shapely_on_random_polygons(sides):
    rng = np.random.default_rng(sides)
    crossed = 0
    for _ in range(300):
        points = rng.uniform(0, 100, (sides, 2)) * rng.choice([(1, 1), (10, 0.2), (0.2, 10)])
        place = find_self_crossing(points)
        assert (place is None) == bool(shapely.is_valid(shapely.Polygon(points)))
        if place is not None:
            crossed += 1
            ring = shapely.LinearRing(points)
            assert ring.distance(shapely.Point(place)) < 1e-6
    assert 0 < crossed < 300 or sides > 7


@pytest.mark.parametrize("count", [40, 400])
def test_self_crossing_against_shapely_on_long_thin_wandering_loops(count):
    """Loops like planks, some of whose edges wander across each other."""
    rng = np.random.default_rng(count)
    x = np.linspace(0, 3000, count)
    verdicts = set()
    for _ in range(120):
        gap = rng.uniform(0.5, 12)
        loop = np.vstack([np.column_stack([x, rng.normal(0, 1, count)]),
                          np.column_stack([x[::-1], gap + rng.normal(0, 1, count)])])
        valid = bool(shapely.is_valid(shapely.Polygon(loop)))
        verdicts.add(valid)
        assert (find_self_crossing(loop) is None) == valid
    assert verdicts == {True, False}


def test_area_of_random_polygons_against_shapely():
    rng = np.random.default_rng(0)
    for _ in range(100):
        a = np.sort(rng.uniform(0, 2 * np.pi, 20))
        points = 4000 + rng.uniform(50, 200, 20)[:, None] * np.column_stack([np.cos(a), np.sin(a)])
        assert abs(measure_area_mm2(points)) == pytest.approx(shapely.Polygon(points).area, rel=1e-9)


def test_inside_of_random_polygons_against_shapely():
    rng = np.random.default_rng(1)
    for _ in range(30):
        a = np.sort(rng.uniform(0, 2 * np.pi, 15))
        polygon = rng.uniform(20, 200, 15)[:, None] * np.column_stack([np.cos(a), np.sin(a)])
        points = rng.uniform(-200, 200, (200, 2))
        ring = shapely.Polygon(polygon)
        if ring.is_valid:
            assert (contains_points(polygon, points) == shapely.contains_xy(ring, points)).all()


def test_crossing_outlines_against_shapely():
    """A plank's lower edge moved up step by step: clear, then through the upper one, then clear above it."""
    plank = make_invented_plank(0)
    verdicts = []
    for lift in range(0, 300, 10):
        lower = plank.edges["lower"].curve.transform([[1, 0, 0], [0, 1, -lift]])
        upper = plank.edges["upper"].curve
        loop = [upper, make_line(upper.end, lower.end), lower.reverse(), make_line(lower.start, upper.start)]
        valid = shapely.Polygon(flatten_outline(loop, tolerance_mm=0.02)).is_valid
        assert (find_outline_crossing(loop) is None) == valid
        verdicts.append(valid)
    assert verdicts[0] and verdicts[-1] and not all(verdicts)
