"""The real editor on a raked plank that has lost ticks: every frame keeps its number. The plank is invented, its frames
stand where a sum puts them.
"""
import numpy as np
import pytest
from host import editor
from host.reader import read
from host.simple import draw_outline, draw_page

TOP, LOW = 60.0, 180.0
# frame 7 meets the raked end, frame 15 stands 70 mm from the butt
PLACES = {str(7 + k): 1770.0 - 200.0 * k for k in range(9)}
LOST = {("10", "lower"), ("12", "upper"), ("12", "lower"), ("7", "lower")}


def draw_ticked():
    """Both edges level, the fore end from (1850, 60) to (1700, 180); a spike 1 mm wide and 12 mm long, into the plank,
    for each tick.
    """
    def spikes(edge, y, way):
        for name, x in sorted(PLACES.items(), key=lambda row: row[1]):
            if (name, edge) not in LOST:
                yield from ((x - 0.5, y), (x, y + way * 12), (x + 0.5, y))
    return np.array([(100, TOP), *spikes("upper", TOP, 1), (1850, TOP), (1700, LOW),
                     *list(spikes("lower", LOW, -1))[::-1], (100, LOW)], float)


@pytest.fixture(scope="module")
def struck(display, tmp_path_factory):
    folder = tmp_path_factory.mktemp("numbers")
    drawing, output = folder / "in.svg", folder / "out.svg"
    drawing.write_text(draw_page(draw_outline(points=draw_ticked())))
    settings = {"plank_stations": {"source": "ticks", "square_to": "run", "first_label": "7", "meant_for": "in.svg"},
                "plank_fair": {"side": "starboard", "face": "inboard", "forward": "right", "meant_for": "in.svg"}}
    profile = editor.make_profile(folder / "profile", settings=settings)
    editor.run_actions(drawing,
                       ["select-by-id:trace", "plank_fair", "select-clear", "select-by-id:plank-1", "plank_stations"],
                       profile=profile, display=display, output=output).check("plank_fair", "plank_stations")
    return read(output)


def test_every_frame_that_left_a_trace_has_its_own_number_at_its_own_place(struck):
    found = {s.values["station"]: s.trace() for s in struck.find("station")}
    assert found.keys() == PLACES.keys() - {"12"}
    for name, line in found.items():
        assert line[:, 0] == pytest.approx(PLACES[name], abs=0.3), name
        # the raked end passes x = 1850 - 1.25 (y - 60): at frame 7, y = 124
        assert sorted((line[:, 1].min(), line[:, 1].max())) == pytest.approx((TOP, 124.0 if name == "7" else LOW),
                                                                             abs=0.4), name


def test_what_was_lost_is_told_by_number(struck):
    told = "; ".join(n.values.get("text", "") for n in struck.find("note"))
    assert "frame 12 has no tick on either edge: number left free" in told
    assert "frame 10: tick on the upper edge alone" in told and "frame 7: tick on the upper edge alone" in told
