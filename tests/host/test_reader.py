"""The second reader on drawings that can be worked out by hand, and planted faults that its comparer must catch."""
import numpy as np
import pytest
from host.reader import Difference, compare, measure_off_mm, measure_rms_mm, read

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:plank="urn:plankcore:1" %s>%s</svg>'
LINE = '<path plank:role="edge" plank:edge="upper" plank:rms-mm="0.25" d="M 0,0 L %r,0 v %r"/>'


def read_text(page, body):
    return read((HEAD % (page, body)).encode())


@pytest.mark.parametrize("page, body", [
    ('width="400mm" height="200mm" viewBox="0 0 400 200"', LINE % (100, 50)),
    ('width="400mm" height="200mm" viewBox="-20 -40 800 400"',
     '<g transform="translate(-20 -40)">' + LINE % (200, 100) + "</g>"),
    ('width="960" height="480px"', LINE % (100 * 96 / 25.4, 50 * 96 / 25.4)),
    ('width="10in" height="5in" viewBox="0 0 10 5"',
     '<g transform="scale(0.03937007874015748)">' + LINE % (100, 50) + "</g>"),
    ('width="40cm" height="20cm" viewBox="0,0,400,200"',
     '<g transform="rotate(90)"><g transform="translate(5,7) matrix(1 0 0 1 -5 -7)"><g transform="rotate(-90)">'
     + LINE % (100, 50) + "</g></g></g>"),
])
def test_a_known_line_is_read_in_mm_on_every_page(page, body):
    item = read_text(page, body).one("edge", edge="upper")
    assert item.trace() == pytest.approx(np.array([[0, 0], [100, 0], [100, 50]]), abs=1e-9)
    assert item.number("rms-mm") == 0.25


def test_curves_circles_and_closing():
    # the middle of a cubic is (p0 + 3 p1 + 3 p2 + p3) / 8
    reading = read_text('width="100mm" height="100mm" viewBox="0 0 100 100"',
                        '<path d="m 0 0 c 0 40 80 40 80 0 z" id="a"/><circle id="b" cx="50" cy="60" r="7"/>')
    run, = reading.by_id("a").runs
    assert run.closed and run.trace(2)[1] == pytest.approx([40, 30])
    off = np.hypot(*(reading.by_id("b").trace() - [50, 60]).T)
    assert off == pytest.approx(np.full(len(off), 7.0), abs=0.003)


def test_a_page_of_two_scales_is_not_read():
    with pytest.raises(AssertionError, match="scales differ"):
        read_text('width="100mm" height="200mm" viewBox="0 0 100 100"', "")


GOOD = ('<g plank:role="plank" plank:guard-mm="10.000000 20.5" plank:fact-1-number="7.0448035" '
        'plank:fact-1-key="size" transform="translate(3 4)">'
        '<path plank:role="saw" plank:pieces="1 1" d="M 0 0 L 500 0 C 600 20 600 80 500 100 Z"/><path '
        'plank:role="note" plank:text="UP" d="M 1 1 L 2 2 M 5 5 L 6 6"/></g>')
PAGE = 'width="700mm" height="200mm" viewBox="0 0 700 200"'


def test_the_same_drawing_on_another_page_is_the_same():
    other = read_text('width="700mm" height="200mm" viewBox="0 0 1400 400"',
                      '<g transform="scale(2)">' + GOOD.replace("20.5", "20.500001").replace("8035", "8037") + "</g>")
    assert compare(read_text(PAGE, GOOD), other, pages=False) < 1e-9


@pytest.mark.parametrize("old, new", [
    ("L 500 0", "L 500.000002 0"),                      # a node
    ("C 600 20", "C 600 20.000002"),                    # a handle
    ("80 500 100 Z", "80 500 100 L 0 0"),               # closed no more
    ("C 600 20 600 80 500 100", "L 500 100"),           # a curve gone straight
    (" M 5 5 L 6 6", ""),                               # a stroke missing
    ("translate(3 4)", "translate(3.000002 4)"),        # a group moved
    ('plank:role="note"', 'plank:role="label"'),
    ('plank:text="UP"', 'plank:text="DOWN"'),
    ('plank:text="UP"', ""),
    ("20.5", "20.500004"),
    ("7.0448035", "7.0448075"),                         # a fact's number
    ('fact-1-key="size"', 'fact-1-key="7.1"'),
    ('plank:pieces="1 1"', 'plank:pieces="1 2"'),
    ("</g>", '<path plank:role="saw" d="M 0 0 L 1 1"/></g>'),
])
def test_planted_faults_are_caught(old, new):
    assert GOOD.count(old) == 1
    with pytest.raises(Difference):
        compare(read_text(PAGE, GOOD), read_text(PAGE, GOOD.replace(old, new)))


@pytest.mark.parametrize("page", ['width="700.01mm" height="200mm" viewBox="0 0 700.01 200"',
                                  'width="700mm" height="200mm" viewBox="0.001 0 700 200"'])
def test_another_page_is_caught(page):
    with pytest.raises(Difference):
        compare(read_text(PAGE, ""), read_text(page, ""))


def test_distances():
    assert measure_off_mm([[1, 2], [12, 0]], [[0, 0], [10, 0]]) == pytest.approx([2, 2])
    # y = x / 100 from 0 to 10 against y = 0: the rms of 0 to 0.1 is 0.1 / sqrt(3)
    assert measure_rms_mm([[0, 0], [10, 0.1]], [[-1, 0], [11, 0]],
                          step_mm=0.001) == pytest.approx(0.1 / np.sqrt(3), rel=1e-3)
