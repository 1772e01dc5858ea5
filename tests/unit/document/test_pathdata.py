"""Path text to cubics. Refusals first; then every command by hand; then svgelements as the second reader."""
import random

import numpy as np
import pytest
import svgelements

from plankcore.document import pathdata, plain_paths
from plankcore.document.path_text import write_cubics, write_polyline
from plankcore.document.pathdata import read_path
from plankcore.errors import PatternError
from plankcore.geometry.bezier import evaluate_cubics
from plankcore.geometry.polyline import measure_distance_mm


def read(text):
    return read_path(text, where="path1")


def read_nodes(text):
    """Start of the first piece and end of each, of a single run."""
    run, = read(text)
    return np.vstack([run.cubics[:1, 0], run.cubics[:, 3]])


@pytest.mark.parametrize("text", [
    None, "", "  \n ", "L 1,2", "10,10", "Z", "M", "M 1", "M 1,2 L", "M 1,2 L 3", "M 1,2 L 3,4 5", "M 0,0 H",
    "M 0,0 C 1,2 3,4 5", "M 0,0 C 1,2 3,4", "M 0,0 Q 1,2 3",
    "M 0,0 S 1,2", "M 0,0 T 1", "M 0,0 A 1,1 0 0 1 2", "M 0,0 L 1,2 Z 3", "M NaN,NaN L 1,2", "M 0,0 L nan,1",
    "M 0,0 L inf,1", "M 0,0 L 1e999,1", "M 0,0 L 1,2 garbage",
    "M 0,0 L 1,2 L 3,x", "M 0,0 L --1,2", "M 0,0 L 1e,2", "M 0,0 L .,2", "M 0,0 L 1.2.3.,4 -", "M 0,0 L 1;2",
    "M 0,0 B 1,2", "M 0,0 L \u0661,2", "M 0,0 L 1,2\u2026",
    "M 0,0 L 0x10,2", "M 0,0 L 1e5e5,2", "M 0,0 C 1,1 2,2 3,3 S 4,nan 5,5", "m 0,0 q 1,1", "M 0,0 L +-1,2",
    "M 0,0 L 1 -",
])
def test_what_cannot_be_read_whole_is_refused_and_the_object_named(text):
    with pytest.raises(PatternError) as caught:
        read(text)
    assert caught.value.where == "path1" and caught.value.remedy


@pytest.mark.parametrize("junk", ["NaN", "1e999", "1..2", "--3", "1e", "-"])
@pytest.mark.parametrize("at", [0, 700, 1399])
def test_one_bad_number_among_many_is_refused(junk, at):
    """Long paths take the fast road; it must refuse as well."""
    numbers = ["%.4f" % v for v in np.linspace(-50, 50, 1400)]
    numbers[at] = junk
    with pytest.raises(PatternError):
        read("M " + " ".join(numbers))


@pytest.mark.parametrize("cut", range(1, 40))
def test_a_long_path_cut_off_inside_a_curve_is_refused(cut):
    whole = "m 0,0 c " + " ".join("1.25,2.5 3.5,4.25 5.125,6" for _ in range(200))
    text = whole[:-cut]
    numbers = text.replace("m", " ").replace("c", " ").replace(",", " ").split()
    if len(numbers) % 6 == 2:                      # cut between or within whole numbers: nobody can tell
        assert len(read(text)[0].cubics) == (len(numbers) - 2) // 6
    else:
        with pytest.raises(PatternError):
            read(text)


@pytest.mark.parametrize("text, nodes", [
    ("M 1,2 L 4,6", [(1, 2), (4, 6)]),
    ("M1 2L4 6", [(1, 2), (4, 6)]),
    ("M 1,2 4,6 7,8", [(1, 2), (4, 6), (7, 8)]),
    ("m 1,2 4,6 7,8", [(1, 2), (5, 8), (12, 16)]),
    ("M 1,2 l 1,1 2,2 L 0,0", [(1, 2), (2, 3), (4, 5), (0, 0)]),
    ("M 1,2 H 5 7 V 9 h -1 -2 v 1", [(1, 2), (5, 2), (7, 2), (7, 9), (6, 9), (4, 9), (4, 10)]),
    ("M 0,0 h 1 L 5,5 v 2 H 0", [(0, 0), (1, 0), (5, 5), (5, 7), (0, 7)]),
    ("M 0,0 C 1,0 2,0 3,3 4,4 5,5 6,6", [(0, 0), (3, 3), (6, 6)]),
    ("M 1,1 c 1,0 2,0 3,3 1,0 2,0 3,3", [(1, 1), (4, 4), (7, 7)]),
    ("M 0,0 L 10,0 L 10,5 Z", [(0, 0), (10, 0), (10, 5), (0, 0)]),
    ("M 0,0 L 10,0 L 10,5 L 0,0 z", [(0, 0), (10, 0), (10, 5), (0, 0)]),
    ("  M 1-2 3-4-5-6", [(1, -2), (3, -4), (-5, -6)]),
    ("M.5.5.25.75", [(0.5, 0.5), (0.25, 0.75)]),
    ("M1.5.5-.5.5", [(1.5, 0.5), (-0.5, 0.5)]),
    ("M+1e1,-2E-1 L 1.5e+1 5.", [(10, -0.2), (15, 5)]),
    ("M1e1-2e0L3-4", [(10, -2), (3, -4)]),
    ("M 0,0\n\tL 1,1\r\n 2,2", [(0, 0), (1, 1), (2, 2)]),
])
def test_commands_by_hand(text, nodes):
    assert read_nodes(text) == pytest.approx(np.array(nodes, float), abs=1e-12)


def test_handles_of_curves():
    run, = read("M 1,1 C 2,3 4,5 6,7 c 1,2 3,4 5,6")
    assert run.cubics[0] == pytest.approx(np.array([(1, 1), (2, 3), (4, 5), (6, 7)]))
    assert run.cubics[1] == pytest.approx(np.array([(6, 7), (7, 9), (9, 11), (11, 13)]))


@pytest.mark.parametrize("text, firsts, closed", [
    ("M 0,0 L 1,0 M 5,5 L 6,5", [(0, 0), (5, 5)], [False, False]),
    ("M 0,0 l 1,0 m 5,5 l 1,0", [(0, 0), (6, 5)], [False, False]),
    # after z the pen is at the subpath's start
    ("M 2,2 l 1,0 0,1 z m 5,5 l 1,0", [(2, 2), (7, 7)], [True, False]),
    ("M 2,2 l 1,0 0,1 z l 4,4", [(2, 2), (2, 2)], [True, False]),
    ("M 2,2 l 1,0 0,1 z h 4 z", [(2, 2), (2, 2)], [True, True]),
    ("M 9,9 M 0,0 L 1,1", [(0, 0)], [False]),                                   # a lone moveto draws nothing
    ("M 9,9 m 1,1 l 1,1", [(10, 10)], [False]),
    ("M 0,0 L 0,0 Z M 3,3 L 4,4", [(3, 3)], [False]),
    ("M 0,0 L 5,0 5,5 0,0", [(0, 0)], [False]),                                  # back at its start, but not closed
])
def test_subpaths(text, firsts, closed):
    runs = read(text)
    assert [tuple(r.cubics[0, 0]) for r in runs] == firsts
    assert [r.closed for r in runs] == closed


def test_a_moveto_alone_gives_nothing():
    assert read("M 5,5") == []


def sample_svgelements(text, count):
    """Points of each segment that has length, shape (segments, count, 2)."""
    drawn = [s for s in svgelements.Path(text) if not isinstance(s, svgelements.Move) and s.start is not None
             and s.length(error=1e-4) > 1e-9]
    return np.array([s.npoint(np.linspace(0, 1, count)) for s in drawn])


def sample_ours(text, count):
    return evaluate_cubics(np.concatenate([r.cubics for r in read(text)]), np.linspace(0, 1, count))


def compare_pieces(text, *, within):
    """Each of our pieces against the segment of the same number, both ways."""
    ours, theirs = sample_ours(text, 101), sample_svgelements(text, 101)
    assert len(ours) == len(theirs)
    for a, b in zip(ours, theirs):
        assert a[[0, -1]] == pytest.approx(b[[0, -1]], abs=within)
        assert max(measure_distance_mm(a, b).max(), measure_distance_mm(b, a).max()) < 0.02 + within


@pytest.mark.parametrize("text", [
    "M 10,20 C 30,0 50,60 70,20 80,10 90,0 100,50 z",
    "m 10,20 c 30,0 50,60 70,20 s 20,30 40,-10 -20,5 10,20",
    "M 0,0 Q 50,100 100,0 T 200,0 300,50", "m 5,5 q 50,100 100,0 t 100,0 l 3,4 t 10,10",
    "M 0,0 S 10,20 30,0 S 50,-20 60,0", "M 0,0 T 50,50 100,0",
    "M 0,0 L 10,0 Q 20,0 20,10 V 30 Z M 40,40 L 50,50 T 60,60",
    "M 2,2 q 1,0 0,1 z m 5,5 q 1,0 2,2",
])
def test_curves_of_all_kinds_against_svgelements(text):
    compare_pieces(text, within=1e-9)


@pytest.mark.parametrize("text", ["M 50,50 A 30,20 0 0 1 90,80", "M 50,50 A 30,20 30 1 0 90,80 A 10,10 0 1 1 95,90",
                                  "M 50,50 a 30,20 -45 0 1 40,30 z",
                                  "M 50,50 a 1,1 0 0 1 40,30", "M 0,0 a 25,25 0 1 0 0.001,50"])
def test_arcs_against_svgelements(text):
    """Cubics of a quarter turn or less leave a circle by 3e-4 of its radius at most (common knowledge, computed): here
    0.01.
    """
    ours, theirs = sample_ours(text, 201).reshape(-1, 2), sample_svgelements(text, 2001).reshape(-1, 2)
    assert measure_distance_mm(ours, theirs).max() < 0.02 and measure_distance_mm(theirs, ours).max() < 0.02
    assert ours[-1] == pytest.approx(theirs[-1], abs=1e-9)


def test_a_shorthand_after_another_kind_of_command_has_its_first_handle_at_the_pen():
    """SVG 1.1, 8.3.6 and 8.3.7. (The second reader reflects whatever came before, so this is by hand: 9 - 2/3 of 4 and
    of 3.)
    """
    run, = read("M 0,0 C 1,2 3,4 5,6 T 9,9")
    assert run.cubics[1] == pytest.approx(np.array([(5, 6), (5, 6), (9 - 8 / 3, 7), (9, 9)]))
    run, = read("M 0,0 Q 1,2 3,4 S 5,6 9,9")
    assert run.cubics[1] == pytest.approx(np.array([(3, 4), (3, 4), (5, 6), (9, 9)]))


@pytest.mark.parametrize("ours, theirs",
                         [("M 0,0 Q 5,9 10,0", "M 0,0 Q 5,9.1 10,0"),
                          ("M 0,0 C 1,2 3,4 5,6 L 7,8", "M 0,0 C 1,2 3,4 5,6 L 7,8.001"),
                          ("M 0,0 L 5,5", "M 0,0 L 5,5 L 6,6")])
def test_the_comparison_can_fail(ours, theirs, monkeypatch):
    whole = sample_svgelements
    monkeypatch.setitem(globals(), "sample_svgelements", lambda text, count: whole(theirs, count))
    with pytest.raises(AssertionError):
        compare_pieces(ours, within=1e-4)


def test_an_arc_without_a_radius_is_a_line():
    """SVG 1.1, appendix F.6.2."""
    points = sample_ours("M 0,0 A 0,5 0 0 1 9,9", 11).reshape(-1, 2)
    assert points[-1] == pytest.approx((9, 9)) and points[:, 0] == pytest.approx(points[:, 1], abs=1e-9)


@pytest.mark.parametrize("text, closed", [("M 0,0 Q 5,9 10,0 z", [True]), ("M 0,0 Q 5,9 10,0", [False]),
                                          ("M 0,0 Q 5,9 10,0 T 0,0", [False]),
                                          ("M 0,0 Q 5,9 10,0 z M 3,3 L 4,4", [True, False])])
def test_whether_a_quadratic_run_is_closed_is_said_by_its_z(text, closed):
    assert [r.closed for r in read(text)] == closed


@pytest.mark.parametrize("glued, spaced",
                         [("M0,0a5,5 0 01 6,8", "M0,0a5,5 0 0 1 6,8"), ("M0,0a5 5 0 016 8", "M0,0a5,5 0 0 1 6,8"),
                          ("M0,0A5 5 0 1 06 8", "M0,0A5,5 0 1 0 6,8")])
def test_arc_flags_written_without_spaces_are_read_or_refused_never_misread(glued, spaced):
    """SVG 1.1, 8.3.9: a flag is one digit, so 01 is two flags. Refusing is honest; another shape is not."""
    try:
        found = read(glued)
    except PatternError:
        return
    assert found[0].cubics == pytest.approx(read(spaced)[0].cubics)


def test_seven_arcs_with_glued_flags_are_not_taken_for_six():
    """Seven arcs of six numbers each are forty-two, which six arcs of seven would be too."""
    text = "M0,0" + "a5,5 0 01 6,8" * 7
    glued = "M0,0a" + " ".join(["5,5 0 01 6,8"] * 7)
    for one in (text, glued):
        try:
            found = read(one)
        except PatternError:
            continue
        assert found[0].cubics[-1, 3] == pytest.approx((42, 56))


@pytest.mark.parametrize("seed", range(12))
def test_random_paths_of_lines_and_curves_against_svgelements(seed):
    pick = random.Random(seed)
    needs = {"L": 2, "l": 2, "H": 1, "h": 1, "V": 1, "v": 1, "C": 6, "c": 6, "M": 2, "m": 2, "z": 0}

    def number():
        return pick.choice(["%d", "%.1f", "%.3f", "%.6g"]) % pick.uniform(-90, 90)
    words = ["M", number(), number()]
    for _ in range(40):
        name = pick.choice(list(needs))
        words.append(name)
        words += [number() for _ in range(needs[name] * (1 if name in "Mmz" else pick.randint(1, 3)))]
    words += ["l", "1", "1"]
    assert sample_ours(" ".join(words), 5) == pytest.approx(sample_svgelements(" ".join(words), 5), abs=1e-9)


def test_fast_decimals_are_the_same_to_the_last_bit(monkeypatch):
    """20,000 numbers of every plain form against float()."""
    pick = random.Random(1)
    texts = []
    while len(texts) < 20000:
        digits = pick.randint(1, 15)
        whole = "".join(pick.choice("0123456789") for _ in range(digits))
        dot = pick.randint(0, digits)
        text = whole if pick.random() < 0.2 else whole[:dot] + "." + whole[dot:]
        texts.append(pick.choice(["", "-", "+"]) + text)
    data = ("M" + " ".join(texts)).encode()
    raw = np.frombuffer(data, np.uint8)
    part = pathdata._KIND[raw] == pathdata._PART
    found = plain_paths.decode_decimals(raw, part)
    assert found is not None
    expected = np.array([float(t) for t in texts])
    assert (found == expected).all() and (np.signbit(found) == np.signbit(expected))[expected != 0].all()


@pytest.mark.parametrize("odd", ["1e5", "1234567890123456", "1.2.3", "-", ".", "1-2", "++1"])
def test_the_fast_decoder_leaves_what_is_not_plain_to_the_slow_one(odd):
    data = ("M" + " ".join(["1.5"] * 10 + [odd])).encode()
    raw = np.frombuffer(data, np.uint8)
    part = pathdata._KIND[raw] == pathdata._PART
    assert plain_paths.decode_decimals(raw, part) is None


@pytest.mark.parametrize("stretch", [7, 64, 1000])
def test_where_the_text_is_cut_for_decoding_changes_nothing(monkeypatch, stretch):
    texts = ["%.*f" % (k % 7, (-1) ** k * 1.37 * k) for k in range(900)]
    raw = np.frombuffer(("M" + " ".join(texts)).encode(), np.uint8)
    monkeypatch.setattr(plain_paths, "_STRETCH", stretch)
    found = plain_paths.decode_decimals(raw, pathdata._KIND[raw] == pathdata._PART)
    assert found.tolist() == [float(t) for t in texts]


def test_both_roads_read_the_same():
    """The same shape once with plain decimals and once with one exponent, which sends it down the other road."""
    plain = "M 0,0 " + " ".join("%.3f,%.3f" % (k * 0.37, -k * 1.11) for k in range(600)) + " 0,0"
    assert (read(plain)[0].cubics == read(plain[:-3] + "0e0,0")[0].cubics).all()


def test_relative_places_do_not_drift_over_twenty_thousand_steps():
    text = "m 0,0 " + " ".join("0.1,0.3" for _ in range(20000))
    assert read_nodes(text)[-1] == pytest.approx((2000, 6000), abs=1e-8)


def test_written_curves_come_back_to_a_ten_millionth():
    rng = np.random.default_rng(5)
    nodes = rng.uniform(-5000, 5000, (40, 2))
    cubics = np.stack([nodes[:-1], nodes[:-1] + rng.normal(0, 90, (39, 2)), nodes[1:] + rng.normal(0, 90, (39, 2)),
                       nodes[1:]], axis=1)
    run, = read(write_cubics(cubics, closed=False))
    assert run.cubics == pytest.approx(cubics, abs=1e-7) and not run.closed


def test_straight_pieces_are_written_as_lines_and_closing_is_kept():
    text = write_cubics(np.array([[(0, 0), (1, 0), (2, 0), (3, 0)], [(3, 0), (3, 1), (3, 2), (3, 3)],
                                  [(3, 3), (2, 2), (1, 1), (0, 0)]], float), closed=True)
    assert "C" not in text and text.endswith("Z")
    assert read(text)[0].closed


def test_polyline_text():
    assert write_polyline([(0, 0.5), (-0.00000001, 2)]) == "M 0,0.5 L 0,2"
