"""From the page's units to mm. Refusals first.

The arithmetic is that of SVG 1.1, 7.7 and 7.8: viewport over viewBox, the smaller scale, the slack shared out by
alignment;
1 in = 25.4 mm = 96 px = 72 pt = 6 pc (CSS 2.1, 4.3.2).
"""
import numpy as np
import pytest
from lxml import etree

from plankcore.document.transforms import apply, compose, format_matrix, invert, read_page_scale
from plankcore.errors import DocumentError


def page(**attributes):
    return read_page_scale(etree.Element("svg", {"width": "200mm", "height": "100mm", **attributes}))


@pytest.mark.parametrize("missing", ["width", "height"])
def test_a_page_without_its_size_is_refused(missing):
    element = etree.Element("svg", width="200mm", height="100mm", viewBox="0 0 200 100")
    del element.attrib[missing]
    with pytest.raises(DocumentError, match="no true size") as caught:
        read_page_scale(element)
    assert missing in caught.value.where


@pytest.mark.parametrize("value", ["100%", "auto", "", "-5mm", "0", "0mm", "nan", "nanmm", "inf", "12,5mm", "5em",
                                   "5 furlongs", "1e9mm", "mm", "5mm5"])
@pytest.mark.parametrize("which", ["width", "height"])
def test_a_size_that_says_nothing_is_refused(which, value):
    with pytest.raises(DocumentError):
        page(**{which: value})


@pytest.mark.parametrize("box", ["", "0 0 200", "0 0 0 100", "0 0 -200 -100", "0 0 nan 100", "0 0 inf inf", "a b c d",
                                 "0 0 200 100 5"])
def test_a_viewbox_that_says_nothing_is_refused(box):
    with pytest.raises(DocumentError, match="viewBox"):
        page(viewBox=box)


@pytest.mark.parametrize("box", ["0 0 200 200", "0 0 400 100", "0 0 200 100.01"])
@pytest.mark.parametrize("aspect", [None, "none", "xMinYMin meet", "xMaxYMax slice"])
def test_unequal_scales_are_refused_whatever_the_alignment(box, aspect):
    with pytest.raises(DocumentError, match="would not be round"):
        page(viewBox=box, **({"preserveAspectRatio": aspect} if aspect else {}))


@pytest.mark.parametrize("width, height, mm", [("200mm", "100mm", 200), ("20cm", "10cm", 200), ("10in", "5in", 254),
                                               ("72pt", "36pt", 25.4), ("12pc", "6pc", 50.8),
                                               ("96px", "48px", 25.4), ("960", "480", 254), ("800Q", "400Q", 200),
                                               (" 2e2 mm ", "1.0e+2mm", 200), ("+.5in", "+.25in", 12.7)])
def test_units_of_the_page(width, height, mm):
    found = page(width=width, height=height, viewBox="0 0 2 1")
    assert found.width_mm == pytest.approx(mm) and found.height_mm == pytest.approx(mm / 2)
    assert apply(found.user_to_mm, [(2, 1)])[0] == pytest.approx((mm, mm / 2))


def test_without_a_viewbox_a_unit_is_a_css_pixel():
    assert page().mm_per_unit == pytest.approx(25.4 / 96)
    assert apply(page().user_to_mm, [(96, 192)])[0] == pytest.approx((25.4, 50.8))


def test_the_origin_of_the_viewbox_is_the_corner_of_the_page():
    found = page(viewBox="-50 30 400 200")
    assert apply(found.user_to_mm, [(-50, 30), (350, 230)]) == pytest.approx(np.array([(0, 0), (200, 100)]))


def test_commas_part_the_viewbox_too():
    assert page(viewBox="0,0,400,200").mm_per_unit == pytest.approx(0.5)


@pytest.mark.parametrize("aspect, at", [("xMinYMin", 0.0), ("xMidYMid meet", 0.5), ("xMaxYMax", 1.0), (None, 0.5)])
def test_the_slack_of_a_rounded_page_is_shared_out_by_its_alignment(aspect, at):
    """5000 x 100 mm written with a width 0.05 mm too great: within what rounding does, so allowed; the drawing keeps
    one scale.
    """
    found = page(width="5000.05mm", height="100mm", viewBox="0 0 5000 100",
                 **({"preserveAspectRatio": aspect} if aspect else {}))
    left, right = apply(found.user_to_mm, [(0, 0), (5000, 100)])
    assert left == pytest.approx((0.05 * at, 0), abs=1e-9)
    assert right - left == pytest.approx((5000, 100))


def test_maps_composed_and_inverted():
    a, b = np.array([[0, -2, 5], [2, 0, 7.0]]), np.array([[1, 0.5, -3], [0, 1, 4.0]])
    point = np.array([(3.0, 11.0)])
    assert apply(compose(a, b), point) == pytest.approx(apply(a, apply(b, point)))
    assert apply(invert(a), apply(a, point)) == pytest.approx(point)


@pytest.mark.parametrize("scale", [1.0, 25.4 / 96, 96 / 25.4, 0.001, 1000.0])
@pytest.mark.parametrize("turn", [0.0, 1e-7, 0.7])
def test_a_transform_loses_less_than_a_millionth_of_a_mm_over_ten_metres(scale, turn):
    """The editor's own reader is the reference; scale is mm to units, the last two those of drawings
    in metres and in thousandths of a mm.
    """
    import inkex
    matrix = scale * np.array([[np.cos(turn), -np.sin(turn), 2677.165123], [np.sin(turn), np.cos(turn), -1e-3 / 7]])
    read = np.array(inkex.Transform(format_matrix(matrix)).matrix)
    points = np.array([(0.0, 0.0), (10000.0, 0.0), (10000.0, 1000.0)])
    assert np.abs(apply(read, points) - apply(matrix, points)).max() < 1e-6 * scale


def test_what_solvers_differ_by_is_not_written():
    """Two results of one fit by two releases of numpy: they differ in the last two digits of fifteen."""
    first = np.array([[0.999999999984872, -5.5004761093494e-06, 12.25], [5.5004761093494e-06, 0.999999999984872, 7.5]])
    other = np.array([[0.999999999984871, -5.50047610901194e-06, 12.25000000000031],
                      [5.50047610901194e-06, 0.999999999984872, 7.499999999999871]])
    assert format_matrix(first) == format_matrix(other)
