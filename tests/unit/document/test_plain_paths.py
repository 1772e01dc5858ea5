"""Many plain paths read at once: the same as each read by itself, and nothing that is not plain."""
import numpy as np
import pytest
import svgelements
from lxml import etree

from plankcore.document import names, read
from plankcore.document.pathdata import read_path
from plankcore.document.plain_paths import read_plain_paths
from plankcore.document.transforms import read_page_scale

PLAIN = ["M 0,0 L 10,0 10,5 L 0,5 Z", "M 1 2 3 4 5 6", "M 0,0 C 1,1 2,1 3,0 4,-1 5,-1 6,0 Z M 20,20 L 30,20 30,30 Z",
         "M 5,5 L 5,5 9,5 Z", "M 7,7", "M 7,7 Z", "M 1.5,-2.25 L -3.125,4 L 1.5,-2.25 Z", " M 0,0 L 4,0\nL 4,4 Z\n",
         "M 0,0 L 0.1,0.2 M 3,3 M 4,4 L 5,5 Z"]


def test_each_is_read_as_by_itself():
    for text, runs in zip(PLAIN, read_plain_paths(PLAIN)):
        alone = read_path(text, where="x")
        assert [closed for _, closed in runs] == [run.closed for run in alone], text
        for (cubics, _), run in zip(runs, alone):
            np.testing.assert_allclose(cubics, run.cubics, rtol=0, atol=1e-14)


def test_the_ends_are_those_of_another_reader():
    """svgelements 1.9 (https://github.com/meerk40t/svgelements) reads SVG paths without our code."""
    for text, runs in zip(PLAIN, read_plain_paths(PLAIN)):
        theirs = [(s.end.x, s.end.y) for s in svgelements.Path(text) if not isinstance(s, svgelements.Move)
                  and s.start is not None and (s.length() > 0)]
        ours = [tuple(end) for cubics, _ in runs for end in cubics[:, 3]]
        assert np.allclose(ours, theirs), text


@pytest.mark.parametrize("text", ["m 0,0 l 1,1", "M 0,0 H 5", "M 0,0 L 1e2,3", "M 0,0 A 1,1 0 0 1 3,3", "L 3,3", "",
                                  None, "M 0,0 L 1,2 nan,3", "M 0,0 Z L 3,3"])
def test_what_is_not_plain_is_left_to_the_other_reader(text):
    assert read_plain_paths([text, PLAIN[0]])[0] is None
    assert read_plain_paths([text, PLAIN[0]])[1] is not None


@pytest.mark.parametrize("text", ["M 0,0 L 1", "M 0,0 C 1,1 2,2", "M 0,0 L 1-2", "M 0,0 L 1.2.3,4", "M 0", "M 0,0 L Z"])
def test_one_with_a_wrong_count_of_numbers_leaves_all_to_the_other_reader(text):
    assert read_plain_paths([PLAIN[0], text]) == [None, None]


def draw_letters(count):
    """A page of small traced shapes in two groups, one with a transform of its own."""
    rows = ["<path id='p%d' %s d='M %g,%g L %g,%g %g,%g Z'/>"
            % (k, "transform='rotate(10)'" if k % 7 == 0 else "", k, 2, k + 1, 2, k + 1, 5.5) for k in range(count)]
    return etree.fromstring("<svg xmlns='%s' width='500mm' height='100mm' viewBox='0 0 500 100'><g>%s</g>"
                            "<g transform='translate(3,4) scale(0.5)'>%s</g></svg>"
                            % (names.SVG, "".join(rows[::2]), "".join(rows[1::2])))


def test_traces_read_together_lie_where_each_lies_and_are_parsed_at_once(monkeypatch):
    root = draw_letters(60)
    page, shapes = read_page_scale(root), root.findall(".//{%s}path" % names.SVG)
    alone = [read.read_trace(shape, page) for shape in shapes]
    parsed = []
    monkeypatch.setattr(read, "read_path", lambda *a, **k: parsed.append(a))
    together = read.read_traces(shapes, page)
    assert not parsed
    for one, other in zip(alone, together):
        assert (one.label, one.station, one.edge) == (other.label, other.station, other.edge)
        np.testing.assert_allclose(one.runs[0][0], other.runs[0][0], rtol=0, atol=1e-12)
        assert one.runs[0][1] == other.runs[0][1]


def test_one_that_runs_off_the_page_is_refused_by_its_name():
    root = draw_letters(6)
    page, shapes = read_page_scale(root), root.findall(".//{%s}path" % names.SVG)
    shapes[3].set("d", "M 0,0 L 900000,3")
    with pytest.raises(read.PatternError, match="runs off") as caught:
        read.read_traces(shapes, page)
    assert shapes[3].get("id") in str(caught.value.where)
