"""Turning a plank twice is not turning it; turning it once changes no length."""
import numpy as np
import pytest
from fact_rows import make_facts
from hypothesis import given
from hypothesis import strategies as st
from shapes import draw_lines, make_bowed_plank, make_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.model.drawing import Overlay, PlankLayers, SheetLine, SheetText
from plankcore.model.plank import EDGE_NAMES, Finding, Mark, Tick
from plankcore.stations.strike import StationSettings, strike_stations
from plankcore.turn.turn import find_map, find_turn, turn_layers

# face up, side; each asked again undoes itself
WISHES = (("other", "same"), ("same", "other"), ("other", "other"))
far = st.floats(-3000, 3000)


def lay(angle, x, y, side, bow):
    """A bowed plank with everything on it, turned on the page by an angle."""
    a = np.radians(angle)
    matrix = np.array([[np.cos(a), -np.sin(a), x], [np.sin(a), np.cos(a), y]])
    if bow == "left":
        matrix = matrix @ np.array([[-1.0, 0, 0], [0, 1, 0], [0, 0, 1]])
    drawn = make_bowed_plank()
    plank = make_plank(*(drawn.edges[n].curve.transform(matrix) for n in ("upper", "lower", "fore", "aft")),
                       side=side, forward=bow, strake="5",
                       marks=(Mark((x + 10.5, y - 3.25), "upper", "7"),),
                       ticks=(Tick((x, y), (x + 1, y + 8), "lower"),),
                       findings=(Finding("doubt", (x, y)), Finding("loose")))
    stations, told = strike_stations(plank, settings=StationSettings(first_mm=150, spacing_mm=300))
    texts = tuple(SheetText("FRAME 9 AHEAD", (x + 30 * k, y), height_mm=5.0, angle_deg=angle + 20 * k, anchor=anchor)
                  for k, anchor in enumerate(("start", "middle", "end")))
    line = SheetLine(draw_lines([(x, y), (x + 50, y + 20), (x + 60, y - 20)]), "draw", role="reap", style="note",
                     closed=False,
                     values=(("shift_mm", "%.7f %.7f" % (x / 10, y / 10)),))
    return PlankLayers(plank, (), stations=tuple(stations), square_to="run", station_findings=tuple(told),
                       saw=add_allowances(plank, added_mm={"upper": 2.0, "lower": 3.0, "fore": 20.0, "aft": 15.0}),
                       overlays={"harvest": Overlay((line,), texts, make_facts(["ROW"]), (Finding("wet", (x, y)),))})


def turn(layers, wish, middle, down):
    plank = layers.plank
    found = find_turn(side=plank.side, forward=plank.forward, face=plank.face, face_up=wish[0], to_side=wish[1])
    return found, turn_layers(layers, found, find_map(found, middle_mm=middle, down_mm=down))


def list_numbers(layers):
    """Every place that is carried."""
    plank, saw = layers.plank, layers.saw
    found = [plank.edges[n].curve.cubics.ravel()
             for n in EDGE_NAMES] + [s.line.ravel() for s in layers.stations] + [c.cubics.ravel() for c in saw.curves]
    found += [m.point for m in plank.marks] + [t.foot for t in plank.ticks] + [t.tip for t in plank.ticks] + [
        f.where for f in plank.findings if f.where]
    for overlay in layers.overlays.values():
        found += [line.cubics.ravel()
                  for line in overlay.lines] + [t.at_mm for t in overlay.texts] + [f.where for f in overlay.findings]
        found += [[float(v) for v in dict(line.values)["shift_mm"].split()] for line in overlay.lines]
        found += [[np.cos(np.radians(t.angle_deg)), np.sin(np.radians(t.angle_deg))] for t in overlay.texts]
    return np.concatenate([np.asarray(f, float) for f in found])


planks = {"angle": st.floats(-80, 80), "x": far, "y": far, "side": st.sampled_from(("port", "starboard")),
              "bow": st.sampled_from(("left", "right")), "wish": st.sampled_from(WISHES), "middle": far,
              "down": st.floats(100, 3000)}


@given(**planks)
def test_twice_turned_is_as_it_was(angle, x, y, side, bow, wish, middle, down):
    layers = lay(angle, x, y=y, side=side, bow=bow)
    first, once = turn(layers, wish, middle, down)
    second, twice = turn(once, wish, middle, -down)
    assert first.mirrored == second.mirrored == (wish != ("other", "other"))
    assert list_numbers(twice) == pytest.approx(list_numbers(layers), abs=1e-9)
    assert not np.allclose(list_numbers(once), list_numbers(layers))
    assert (twice.plank.side, twice.plank.forward,
            twice.plank.seen_from) == (layers.plank.side, layers.plank.forward, layers.plank.seen_from)


@given(**planks)
def test_one_turn_changes_no_length(angle, x, y, side, bow, wish, middle, down):
    layers = lay(angle, x, y=y, side=side, bow=bow)
    _, once = turn(layers, wish, middle, down)
    a, b = layers.plank, once.plank
    for name in EDGE_NAMES:
        assert b.edges[name].curve.measure_length_mm() == pytest.approx(a.edges[name].curve.measure_length_mm(),
                                                                        abs=1e-9)
    assert (b.measure_length_mm(),
            b.measure_width_mm()) == pytest.approx((a.measure_length_mm(), a.measure_width_mm()), abs=1e-9)
    assert b.measure_area_mm2() == pytest.approx(a.measure_area_mm2(), abs=1e-5)
    ends = [np.hypot(*(s.line[1] - s.line[0])) for s in once.stations]
    assert ends == pytest.approx([s.width_mm for s in layers.stations],
                                 abs=1e-9) and [s.label for s in once.stations] == [s.label for s in layers.stations]
    # each end is as far from the fore end of the plank as before
    fore, there = a.find_corners()["upper fore"], b.find_corners()["upper fore"]
    assert [np.hypot(*(s.line[1] - there))
            for s in once.stations] == pytest.approx([np.hypot(*(s.line[1] - fore)) for s in layers.stations], abs=1e-9)
    assert sum(c.measure_length_mm() for c in once.saw.curves) == pytest.approx(
        sum(c.measure_length_mm() for c in layers.saw.curves), abs=1e-9)


@given(**planks)
def test_stations_struck_on_the_turned_plank_are_those_of_the_plank_turned(angle, x, y, side, bow, wish, middle, down):
    layers = lay(angle, x, y=y, side=side, bow=bow)
    _, once = turn(layers, wish, middle, down)
    struck, _ = strike_stations(once.plank, settings=StationSettings(first_mm=150, spacing_mm=300))
    assert [s.label for s in struck] == [s.label for s in once.stations]
    for one, other in zip(struck, once.stations):
        assert one.line == pytest.approx(other.line, abs=1e-6)
