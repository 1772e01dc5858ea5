"""Other Face, Other Hand on the sample strake by script: fair, stations, allowance, turn; read back by the second
reader and compared in mm.
"""
import numpy as np
import pytest
import shapely
from host.chains import ADDED_MM, CHAINS
from host.reader import join_runs, read
from host.scripts import run_chain, run_script

EDGES = ("upper", "lower", "fore", "aft")
CHECKED = "diagonals, M. Orme, 3 May"
# what is asked: mirrored, side, bow, face that lies up. The sample is a starboard plank, drawn as seen from outboard
ASKED = {"other hand": ({"symmetry": CHECKED}, True, "port", "left", "outboard"),
         "other face": ({"side": "same", "face_up": "other"}, True, "starboard", "left", "inboard"),
         "both": ({"side": "port", "face_up": "inboard", "symmetry": CHECKED}, False, "port", "right", "inboard")}
WITHIN_MM = 3e-6          # numbers are written to seven places, and a place on the page is a sum of a few


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    """The sample strake with stations and a saw line, from its marks."""
    chain = CHAINS["marks"]
    return run_chain(chain.drawing, chain.steps[:3], folder=tmp_path_factory.mktemp("turned"))


@pytest.fixture(scope="module")
def turned(prepared):
    """{what is asked: (drawing read, the new plank's items, the old one's)}"""
    done = {}
    for name, (settings, *_) in ASKED.items():
        output = prepared.parent / (name.replace(" ", "_") + ".svg")
        result = run_script("plank_turn", prepared, output, settings=settings)
        assert result.code == 0 and not result.out and not result.said, result.said
        reading = read(output)
        groups = {g.element.get("id"): g for g in reading.find("plank")}
        done[name] = (reading, groups["plank-2"], groups["plank-1"])
    return done


def find_below(reading, group, role, **values):
    return [i for i in reading.within(group) if i.role == role and all(i.values.get(k) == v for k, v in values.items())]


def carry_back(points, corner, old_corner, mirrored):
    """Places of the new plank as they would be on the old one, from a corner that both have."""
    return (points - corner) * ((-1.0, 1.0) if mirrored else (1.0, 1.0)) + old_corner


@pytest.mark.parametrize("name", ASKED)
def test_every_place_is_the_old_one_mirrored_or_moved(turned, name):
    reading, new, old = turned[name]
    mirrored = ASKED[name][1]
    here, there = (find_below(reading, g, "edge", edge="upper")[0].trace()[0] for g in (new, old))
    for role in ("edge", "outline", "station", "saw", "mark", "comb"):
        ours, theirs = find_below(reading, new, role), find_below(reading, old, role)
        assert len(ours) == len(theirs) and ours, role
        for a, b in zip(ours, theirs):
            assert [len(r.pieces) for r in a.runs] == [len(r.pieces) for r in b.runs]
            off = np.abs(carry_back(join_runs(a), here, there, mirrored) - join_runs(b)) if role != "mark" else \
                np.abs(carry_back(join_runs(a).mean(axis=0), here, there, mirrored) - join_runs(b).mean(axis=0))
            assert off.max() < WITHIN_MM, (role, a.name)
            assert set(a.values) - {"words"} == set(b.values)
            for key in set(b.values) - {"guard-mm"}:
                if key.endswith("-mm"):
                    assert a.number(key) == pytest.approx(b.number(key), abs=WITHIN_MM), (role, key)
                else:
                    assert a.values[key] == b.values[key], (role, key)


@pytest.mark.parametrize("name", ASKED)
def test_what_is_said_of_the_new_plank(turned, name):
    reading, new, old = turned[name]
    settings, mirrored, side, forward, up = ASKED[name]
    told = [new.values.get(k) for k in ("side", "forward", "seen-from", "face", "turned", "turned-from",
                                        "turned-fairing", "strake", "name")]
    assert told == [side, forward, up, "inboard", "mirrored" if mirrored else "same", "plank-1", "1", "5",
                    "Tamsin Grey"]
    assert new.values.get("symmetry") == settings.get("symmetry")
    for number in ("length-mm", "width-mm", "thickness-mm"):
        assert new.number(number) == pytest.approx(old.number(number), abs=1e-5)
    # the bow lies where it is said to: the fore end of the upper edge against its aft end
    upper = find_below(reading, new, "edge", edge="upper")[0].trace()
    assert ("right" if upper[0, 0] > upper[-1, 0] else "left") == forward
    lower = find_below(reading, new, "edge", edge="lower")[0].trace()
    assert lower[:, 1].max() > upper[:, 1].max() and lower[0, 1] > upper[0, 1], "upper is up"


@pytest.mark.parametrize("name", ASKED)
def test_it_lies_below_the_original_clear_of_it(turned, name):
    reading, new, old = turned[name]
    ours, theirs = (np.vstack([join_runs(i) for i in reading.within(g) if i.runs]) for g in (new, old))
    # from the note's first line, whose capitals are 8 mm high
    assert ours[:, 1].min() - theirs[:, 1].max() == pytest.approx(150.0, abs=3.0)


@pytest.mark.parametrize("name", ASKED)
def test_the_wood_left_on_is_that_of_the_original(turned, name):
    """The saw line of the new plank, against its own edges: the allowances of the chain."""
    reading, new, _ = turned[name]
    saw = shapely.LinearRing(find_below(reading, new, "saw")[0].trace())
    for edge in EDGES:
        drawn = shapely.LineString(find_below(reading, new, "edge", edge=edge)[0].trace())
        middle = shapely.line_interpolate_point(drawn, np.linspace(0.4, 0.6, 9), normalized=True)
        assert shapely.distance(middle, saw) == pytest.approx(ADDED_MM[edge], abs=0.05), edge


@pytest.mark.parametrize("name", ASKED)
def test_frame_numbers_are_lettered_to_be_read_on_the_forward_side_of_their_lines_as_before(turned, name):
    """Strokes of a word run from the left: the first stroke's place against the last's. The sample's numbers stand to
    the right, forward.
    """
    reading, new, _ = turned[name]
    labels = [i for i in find_below(reading, new, "label") if i.values.get("station")]
    assert len(labels) == 2 * len(find_below(reading, new, "station"))
    for label in labels:
        line = find_below(reading, new, "station", station=label.values["station"])[0].trace()
        ink = join_runs(label)
        near = ink[:, 0].min() - line[:, 0].max() if ASKED[name][3] == "right" else line[:, 0].min() - ink[:, 0].max()
        assert 0 < near < 10
        if len(label.values["text"]) > 1:
            first, last = label.runs[0].trace().mean(axis=0), label.runs[-1].trace().mean(axis=0)
            assert first[0] < last[0]


@pytest.mark.parametrize("name", ASKED)
def test_the_original_is_untouched(prepared, turned, name):
    reading, _, old = turned[name]
    before = read(prepared)
    ours, theirs = reading.within(old), before.within(before.one("plank"))
    assert [(i.role, i.values, i.element.get("d"), i.element.get("style"))
            for i in ours] == [(i.role, i.values, i.element.get("d"), i.element.get("style")) for i in theirs]


def test_a_hull_that_nobody_checked_gives_no_other_hand(prepared, tmp_path):
    result = run_script("plank_turn", prepared, tmp_path / "out.svg")
    assert result.code != 0 and "nobody is named" in result.said and not (tmp_path / "out.svg").exists()
