"""Corners and spikes of traced loops: rounded, on pixel stairs, with ticks, with a pointed end."""
import numpy as np
import pytest
from shapes import draw_outline, draw_rectangle, turn

from plankcore.geometry.traced_lines import find_turns, measure_turns, remove_spikes, resample_closed

SPIKES = {"foot_mm": 8.0, "least_mm": 3.0, "most_mm": 30.0}


def draw_stairs(points, pixel):
    """A fine polygon as a pixel tracer would leave it: only level and upright steps from pixel to pixel."""
    cells = np.round(resample_closed(points, step_mm=pixel / 4)[0] / pixel)
    cells = cells[np.concatenate([[True], np.any(np.diff(cells, axis=0) != 0, axis=1)])]
    between = np.column_stack([np.roll(cells[:, 0], -1), cells[:, 1]])
    return np.stack([cells, between], axis=1).reshape(-1, 2) * pixel


def draw_rounded(width, height, radius):
    """A rectangle with quarter circles at its corners."""
    parts = []
    for k, (x, y) in enumerate([(radius, radius), (width - radius, radius), (width - radius, height - radius),
                                (radius, height - radius)]):
        a = np.pi + k * np.pi / 2 + np.linspace(0, np.pi / 2, 12)
        parts.append(np.column_stack([x + radius * np.cos(a), y + radius * np.sin(a)]))
    return np.vstack(parts)


def find_corners(points, window=12.0):
    even, step = resample_closed(points, step_mm=1.0)
    return even, find_turns(even, step_mm=step, window_mm=window, least_deg=25)


def add_tick(points, index, height, foot, *, width=1.0):
    """A stroke that stands upright out of the line at one point, up (negative height) or down."""
    x, y = points[index]
    spike = np.array([(x - foot / 2, y), (x - width / 2, y + height), (x + width / 2, y + height), (x + foot / 2, y)])
    clear = np.abs(points[:, 0] - x) > foot / 2
    near = np.abs(points[:, 1] - y) < 5
    before, after = points[:index], points[index + 1:]
    return np.vstack([before[(clear | ~near)[:index]], spike, after[(clear | ~near)[index + 1:]]])


def match(even, found, corners, within):
    """Each true corner has one found place within so many mm, and there are no others."""
    assert len(found) == len(corners)
    places = even[[k for k, _ in found]]
    for corner in corners:
        assert np.hypot(*(places - corner).T).min() <= within


def test_a_smooth_loop_has_no_corners():
    a = np.linspace(0, 2 * np.pi, 400)[:-1]
    assert find_corners(100 * np.column_stack([np.cos(a), np.sin(a)]))[1] == []


@pytest.mark.parametrize("degrees", [0, 17, -60])
def test_sharp_corners_turn_by_ninety_degrees_clockwise(degrees):
    corners = turn(draw_rectangle(400, 60), degrees)
    even, found = find_corners(corners)
    match(even, found, corners, 1.0)
    assert [a for _, a in found] == pytest.approx([90] * 4, abs=8)


@pytest.mark.parametrize("radius", [2.0, 5.0, 8.0])
def test_rounded_corners_are_found_in_the_middle_of_the_rounding(radius):
    even, found = find_corners(draw_rounded(400, 60, radius))
    inset = radius * (1 - np.sqrt(0.5))
    match(even, found, [(inset, inset), (400 - inset, inset), (400 - inset, 60 - inset), (inset, 60 - inset)], 1.5)


@pytest.mark.parametrize("pixel", [0.17, 0.5])
@pytest.mark.parametrize("degrees", [0.4, 3.0, 30.0])
def test_pixel_stairs_do_not_hide_corners_or_make_new_ones(pixel, degrees):
    corners = turn(draw_rectangle(400, 60), degrees)
    even, found = find_corners(draw_stairs(corners, pixel))
    match(even, found, corners, 2.0)


@pytest.mark.parametrize("rake", [15, 40])
def test_raked_ends_keep_four_corners(rake):
    shape = draw_outline(lambda x: 0 * x, lambda x: 0 * x + 60, left=0, right=400, rake_fore=rake)
    even, found = find_corners(shape)
    match(even, found, [(0, 0), (400, 0), (400 + rake, 60), (0, 60)], 2.0)


def test_turns_of_an_open_line_are_not_judged_at_its_ends():
    line = np.column_stack([np.arange(100.0), np.where(np.arange(100) < 50, 0, np.arange(100) - 50.0)])
    turns = measure_turns(line, step_mm=1, window_mm=10, closed=False)
    assert turns[50] == pytest.approx(45, abs=1) and not turns[:10].any() and not turns[-10:].any()


@pytest.mark.parametrize("height", [-8.0, 8.0, -20.0])
@pytest.mark.parametrize("foot", [1.0, 3.0])
def test_a_tick_is_taken_out_and_offered(height, foot):
    plain, _ = resample_closed(draw_rectangle(400, 60), step_mm=1)
    even, step = resample_closed(add_tick(plain, 150, height, foot), step_mm=1)
    left, (spike,) = remove_spikes(even, step_mm=step, **SPIKES)
    assert spike.foot == pytest.approx((150, 0), abs=2)
    assert spike.tip == pytest.approx((150, height), abs=1.5)
    assert spike.height_mm == pytest.approx(abs(height), abs=1.5)
    assert np.abs(left[(left[:, 0] > 20) & (left[:, 0] < 380) & (left[:, 1] < 25), 1]).max() < 1.5


def test_ticks_side_by_side_are_each_found():
    shape, _ = resample_closed(draw_rectangle(400, 60), step_mm=1)
    for x in (60, 160, 180, 300):
        index = int(np.argmin(np.hypot(*(shape - (x, 0)).T)))
        shape = add_tick(shape, index, -8, 2)
    even, step = resample_closed(shape, step_mm=1)
    assert sorted(round(s.foot[0], -1) for s in remove_spikes(even, step_mm=step, **SPIKES)[1]) == [60, 160, 180, 300]


@pytest.mark.parametrize("bump", [(2.0, 2.0), (30.0, 12.0)])
def test_a_wobble_and_a_broad_bulge_are_no_spikes(bump):
    wide, high = bump
    shape, _ = resample_closed(draw_rectangle(400, 60), step_mm=1)
    top = np.abs(shape[:, 1]) < 0.5
    shape[top, 1] -= np.where(np.abs(shape[top, 0] - 200) < wide / 2, high, 0)
    even, step = resample_closed(shape, step_mm=1)
    left, spikes = remove_spikes(even, step_mm=step, **SPIKES)
    assert spikes == [] and len(left) == len(even)


@pytest.mark.parametrize("half_angle", [4, 8, 14])
def test_a_pointed_end_is_not_taken_for_a_spike(half_angle):
    """A wedge whose tip is narrower than a tick's foot for many mm."""
    length = 300.0
    half = length * np.tan(np.radians(half_angle))
    even, step = resample_closed(np.array([(0, 0), (length, half), (0, 2 * half)]), step_mm=1)
    left, spikes = remove_spikes(even, step_mm=step, **SPIKES)
    assert spikes == []
    assert left[:, 0].max() == pytest.approx(length, abs=1)
