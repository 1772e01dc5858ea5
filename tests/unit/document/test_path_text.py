"""Numbers spelt thousands at once are what Python's own formatting spells one by one (Python, Library Reference,
'printf-style String Formatting').
"""
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plankcore.document.path_text import spell_number, spell_numbers, write_cubics, write_polylines, write_strokes
from plankcore.geometry.bezier import draw_circle
from plankcore.geometry.strokes import draw_polyline

WORDS = (b"", b" ", b" L ")
MANY = 60                 # more numbers than are spelt one by one


def spell_by_python(values, decimals):
    for value in values:
        text = ("%.*f" % (decimals, value)).rstrip("0").rstrip(".")
        yield "0" if text == "-0" else text


def spell(values, decimals):
    values = np.resize(np.asarray(values, float), max(MANY, len(values)))
    text, ends = spell_numbers(values, decimals=decimals, heads=np.ones(len(values), int), words=WORDS)
    assert ends[-1] == len(text) and [text[:a].count(" ") for a in ends] == list(range(1, len(values) + 1))
    return text.split(" ")[1:], list(spell_by_python(values.tolist(), decimals))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=80), st.integers(1, 10))
def test_numbers_are_spelt_as_python_spells_them(values, decimals):
    ours, theirs = spell(values, decimals)
    assert ours == theirs


@pytest.mark.parametrize("decimals", [3, 4, 7])
def test_so_are_places_in_the_middle_between_two_spellings_and_the_next_numbers_to_them(decimals):
    middles = (np.arange(-2000, 2000) + 0.5) / 10.0 ** decimals
    far = middles + np.where(middles < 0, -4321.0, 4321.0)
    for values in (middles, far, np.nextafter(far, np.inf), np.nextafter(middles, -np.inf)):
        ours, theirs = spell(values, decimals)
        assert ours == theirs


@pytest.mark.parametrize("value", [0.0, -0.0, -1e-12, 1e-12, 100.0, 1000000.0, 0.1, 1e15, 1e300, -5.05])
def test_so_are_nothing_whole_numbers_and_what_is_beyond_any_page(value):
    ours, theirs = spell([value], 7)
    assert ours == theirs and spell_number(value) == theirs[0]


def test_more_numbers_than_are_spelt_at_a_time_keep_their_order():
    values = np.arange(20_000) / 8
    ours, theirs = spell(values, 3)
    assert ours == theirs


def test_many_lines_at_once_are_written_as_each_would_be_alone():
    rng = np.random.default_rng(7)
    lines = []
    for k in range(40):
        runs = [draw_polyline(rng.uniform(-300, 300, (4, 2))), draw_circle(rng.uniform(0, 99, 2), 5.0)]
        lines.append((np.concatenate(runs[:1 + k % 2]), bool(k % 3)))
    alone = []
    for k, (cubics, closed) in enumerate(lines):
        parts = [cubics] if k % 2 == 0 else [cubics[:3], cubics[3:]]
        alone.append(" ".join(write_cubics(part, closed=closed) for part in parts))
    assert write_strokes(lines) == alone
    assert write_strokes([]) == []


def test_several_runs_in_one_path_begin_each_with_a_moveto():
    points = [(0, 0.5), (1, 2), (3, 4), (5, 6), (7, -0.00000001)]
    assert write_polylines(points, [0, 2]) == "M 0,0.5 L 1,2 M 3,4 L 5,6 L 7,0"
    assert write_polylines(points, [0, 2], closed=True, decimals=3) == "M 0,0.5 L 1,2 Z M 3,4 L 5,6 L 7,0 Z"
