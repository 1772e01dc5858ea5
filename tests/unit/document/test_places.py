"""Places of many paths read at once are those of each read alone; and what was read once in a click is read again where
anything of it has changed.
"""
import numpy as np
from lxml import etree

from plankcore.document import names
from plankcore.document.pathdata import read_path
from plankcore.document.places import measure_box, measure_boxes, read_points
from plankcore.document.transforms import read_page_scale

PAGE = ('<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
        '<g id="a" transform="translate(5,7)"><path d="M 0,0 L 10,4 M 3,3 L 4,8"/>'
        '<path transform="scale(2)" d="M 1,1 C 2,9 3,9 4,1 Z"/><path d="M 20,1 L 22,2"/></g>'
        '<g id="b"><path d="m 1,2 l 3,4"/><path d="M 100,50 L 90,60"/>%s</g></svg>')


def load(stray=""):
    root = etree.fromstring(PAGE % stray)
    return root, list(root.iter("{%s}path" % names.SVG)), read_page_scale(root)


def test_boxes_of_many_are_those_of_each_alone():
    _, paths, page = load()
    boxes = measure_boxes(paths, page)
    for one, box in zip(paths, boxes):
        assert np.allclose(box, measure_boxes([one], page)[0], atol=1e-12)
    assert np.allclose(boxes[0], [[5, 7], [15, 15]]) and np.allclose(boxes[1], [[7, 9], [13, 25]])
    assert np.allclose(boxes[3], [[1, 2], [4, 6]])
    points = np.concatenate([run.cubics.reshape(-1, 2) for run in read_path(paths[4].get("d"), where="")])
    assert np.allclose(boxes[4], [points.min(axis=0), points.max(axis=0)])


def test_points_stand_in_the_order_of_their_elements_whatever_transforms_they_have():
    _, paths, page = load()
    points, begins, owner = read_points(paths, page)
    assert (np.diff(owner) >= 0).all() and sorted(set(owner.tolist())) == [0, 1, 2, 3, 4]
    assert np.allclose(points[begins], [[5, 7], [8, 10], [7, 9], [25, 8], [1, 2], [100, 50]])


def test_a_stray_path_hides_no_other():
    _, paths, page = load('<path d="M 1,2 L nonsense"/><path d="M 7,7"/>')
    boxes = measure_boxes(paths, page)
    assert np.isnan(boxes[5]).all() and np.isfinite(boxes[:5]).all()
    assert np.allclose(measure_box(paths, page)[1], [100, 60])
