"""An overlay written into a drawing and read back, and what becomes of one that was changed since."""
import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, reopen
from fact_rows import make_facts

from plankcore.document import names
from plankcore.document.overlay import read_overlay, write_overlay
from plankcore.document.pathdata import read_path
from plankcore.document.places import measure_lettered_guard
from plankcore.errors import PatternError
from plankcore.geometry.curve import make_line
from plankcore.model.drawing import Fact, Overlay, Place, SheetLine, SheetText
from plankcore.model.plank import Finding

CURVE = np.array([[[300, 150], [320, 140], [360, 150], [380, 160]], [[380, 160], [400, 170], [420, 170], [440, 160]]],
                 float)
OVERLAY = Overlay((SheetLine(CURVE, "draw", role="joint-line", style="station", closed=False,
                             values=(("joint", "A"), ("distance_mm", 123.456))),
                   SheetLine(make_line((500, 150), (500, 200)).cubics, "cut", role="part", style="saw", closed=True)),
                  (SheetText("BUTT A", (310.0, 190.0), height_mm=6.0, angle_deg=3.0, anchor="middle", style="note",
                             role="label"),),
                  (*make_facts(["RULE: NONE.", "SECOND ROW"]),
                   Fact("pair", "", verdict="fails", number=1.25, unit="frame spaces", limit=3.0, source="a book",
                        place=Place("9", "upper", 1234.5), about="A; B",
                        brief="NEAR"), Fact("far")),
                  (Finding("Too near.", (500.0, 170.0)), Finding("Nowhere in particular.")))


def write(page=None):
    drawing = open_drawing(draw_plank(), **({"page": page} if page else {}))
    _, group = fair(drawing)
    write_overlay(drawing, group, OVERLAY, layer="joints", label="Scarfs and butts", rule="none", gap_mm=1.25)
    again = reopen(drawing)
    return again, again.find_groups()[0]


def find(group):
    return names.find_layer(group, "joints")


def read(drawing, group):
    return read_overlay(drawing, group, layer="joints", action="Scarfs and Butts")


def _move(group):
    find(group)[0].attrib["transform"] = "translate(0.5,0)"


def _drop(group):
    find(group).remove(find(group)[0])


def _stretch(group):
    find(group).attrib["transform"] = "scale(1.001)"


def _forget(group):
    names.put(find(group), guard_mm="once")


def _move_text(group):
    find(group)[2].attrib["transform"] = "rotate(0.5)"


def _redraw(group):
    find(group)[0].attrib["d"] = find(group)[0].attrib["d"].replace("M", "m", 1).replace("320", "320.9")


def _turn_text(group):
    """About the point where it is lettered, which stays."""
    find(group)[2].attrib["transform"] = "rotate(1,310,190)"


def _drop_text(group):
    find(group).remove(find(group)[2])


def _forget_text(group):
    names.put(find(group)[2], lettered_at_mm="there")


CHANGES = [_move, _drop, _stretch, _forget, _move_text, _redraw, _turn_text, _drop_text, _forget_text]


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_after_the_first_reading_in_one_click_is_seen(change):
    drawing, group = write()
    assert read(drawing, group) is read(drawing, group)              # read once, so long as nothing changes
    change(group)
    with pytest.raises(PatternError):
        read(drawing, group)


def test_a_plank_is_read_once_a_click_and_again_where_it_was_changed():
    drawing, group = write()
    assert drawing.read_plank(group) is drawing.read_plank(group)
    names.put(group, strake="77")
    assert drawing.read_plank(group).strake == "77"
    names.find_roles(group, "edge")[0].attrib["transform"] = "translate(0,3)"
    with pytest.raises(PatternError):
        drawing.read_plank(group)


@pytest.mark.parametrize("change", CHANGES)
def test_a_layer_changed_since_is_refused(change):
    drawing, group = write()
    change(group)
    with pytest.raises(PatternError, match="has been changed") as caught:
        read(drawing, group)
    assert "Scarfs and Butts" in caught.value.remedy


def test_a_layer_older_than_the_fairing_is_refused():
    drawing, group = write()
    names.put(names.find_layer(group, "fair"), fairing=7)
    with pytest.raises(PatternError, match="faired again"):
        read(drawing, group)


def test_no_layer_gives_none():
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    assert read(drawing, group) is None


@pytest.mark.parametrize("page", [None, 'width="2000mm" height="400mm" viewBox="0 0 7559.055118 1511.811024"'])
def test_lines_texts_values_and_rows_come_back(page):
    drawing, group = write(None)
    found = read(drawing, group)
    assert found.facts == OVERLAY.facts and found.rows == ("RULE: NONE.", "SECOND ROW")
    assert [(k.role, k.style, k.pen, k.closed) for k in found.lines] == [("joint-line", "station", "draw", False),
                                                                         ("part", "saw", "cut", True)]
    assert found.lines[0].cubics == pytest.approx(CURVE, abs=1e-6)
    assert dict(found.lines[0].values) == {"joint": "A", "distance_mm": "123.456"}
    text = found.texts[0]
    assert (text.text, text.anchor, text.style, text.role) == ("BUTT A", "middle", "note", "label")
    assert (*text.at_mm, text.height_mm, text.angle_deg) == pytest.approx((310, 190, 6, 3), abs=1e-6)
    assert names.get(find(group), "rule") == "none" and float(names.get(find(group), "gap-mm")) == 1.25


def test_the_layer_moves_with_its_plank():
    """A plank turned by 90 degrees on the page takes its overlay along: x to y."""
    drawing, group = write()
    group.attrib["transform"] = "translate(300,-50) rotate(25)"
    assert len(read(drawing, group).lines) == 2
    group.attrib["transform"] = "translate(2000,0) rotate(90)"
    found = read(drawing, group)
    assert found.lines[0].cubics[0, 0] == pytest.approx([2000 - 150, 300], abs=1e-5)
    assert found.texts[0].at_mm == pytest.approx((2000 - 190, 310),
                                                 abs=1e-5) and found.texts[0].angle_deg == pytest.approx(93)


def test_words_are_known_by_the_numbers_beside_them_and_never_read_from_their_strokes():
    """No click looks at the strokes of a word: they may be spoilt, and are lettered anew wherever they are wanted."""
    drawing, group = write()
    first = read(drawing, group).texts
    for element in find(group):
        if names.get(element, "text"):
            element.attrib["d"] = "M 1,2 L 3,4 nonsense"
    assert read(drawing, group).texts == first and len(first) == 1


def test_a_layer_of_words_alone_opens_as_it_was_written_and_not_once_a_word_was_moved():
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    write_overlay(drawing, group, Overlay((), (SheetText("AREA", (310.0, 190.0), 12.0),)), layer="joints", label="J")
    assert [text.text for text in read(drawing, group).texts] == ["AREA"]
    next(e for e in find(group) if names.get(e, "text")).attrib["transform"] = "translate(0,1)"
    with pytest.raises(PatternError, match="changed"):
        read(drawing, group)


def test_rings_and_words_of_doubts_may_be_moved_by_hand():
    drawing, group = write()
    for element in find(group):
        if names.get(element, "look") == "finding":
            element.attrib["transform"] = "translate(0,-40)"
    assert len(read(drawing, group).lines) == 2


@pytest.mark.parametrize("move", ["translate(300,-50) rotate(25)", "translate(40,7)"])
def test_a_layer_made_on_a_plank_that_was_moved_before_has_its_words_where_they_were_lettered(move):
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    group.attrib["transform"] = move
    write_overlay(drawing, group, OVERLAY, layer="joints", label="Scarfs and butts")
    text = read(drawing, group).texts[0]
    assert (*text.at_mm, text.angle_deg) == pytest.approx((310, 190, 3), abs=1e-5)
    group.attrib["transform"] = "translate(5,6) " + move
    assert read(drawing, group).texts[0].at_mm == pytest.approx((315, 196), abs=1e-5)


def make_older(drawing, group):
    """The layer with the guard of one made before, over all that is drawn on it."""
    names.put(find(group), guard_mm=" ".join("%.6f" % v for v in measure_lettered_guard(find(group), drawing, group)))


def test_a_layer_made_before_opens_where_it_lies_as_it_was_written():
    drawing, group = write()
    make_older(drawing, group)
    assert len(read(drawing, group).lines) == 2
    find(group)[2].attrib["transform"] = "translate(0.5,0)"
    with pytest.raises(PatternError, match="has been changed"):
        read(drawing, group)


def test_a_layer_made_before_whose_plank_was_moved_is_to_be_made_again():
    """Whether it was moved before or after, its words do not say."""
    drawing, group = write()
    group.attrib["transform"] = "translate(40,7)"
    make_older(drawing, group)
    with pytest.raises(PatternError, match="older version") as caught:
        read(drawing, group)
    assert "Run Scarfs and Butts again." in caught.value.remedy


def test_findings_are_ringed_and_lettered_but_are_not_laid_on_sheets():
    drawing, group = write()
    words = [names.get(e, "text") for e in names.find_roles(find(group), "note")]
    assert words == ["Too near.", "Nowhere in particular."] and len(names.find_roles(find(group), "ring")) == 1
    assert len(read(drawing, group).texts) == 1


@pytest.mark.parametrize("page", [None, 'width="2000mm" height="400mm" viewBox="0 0 7559.055118 1511.811024"'])
@pytest.mark.parametrize("where", [(500.0, 130.0), (500.0, 260.0), None])
def test_the_doubts_of_two_layers_are_not_lettered_one_over_the_other(page, where):
    drawing = open_drawing(draw_plank(), **({"page": page} if page else {}))
    _, group = fair(drawing)
    earlier = len(names.find_roles(group, "note"))
    for layer in ("joints", "fastenings"):
        write_overlay(drawing, group, Overlay(findings=(Finding("Both of these words are at one place.", where),
                                                        Finding("And these.", where))), layer=layer, label=layer)
    boxes = []
    for note in names.find_roles(group, "note"):
        points = np.concatenate([r.cubics.reshape(-1, 2) for r in read_path(note.attrib["d"], where="")])
        boxes.append((points.min(axis=0), points.max(axis=0)))
    assert earlier >= 2 and len(boxes) == 4 + earlier
    for k, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[:k]:
            assert (low > other_high).any() or (other_low > high).any()


@pytest.mark.parametrize("changes, words", [
    ({"facts": ""}, "no longer tells"), ({"facts": "9"}, "no longer tells"), ({"facts": "many"}, "no longer tells"),
    ({"facts": "2"}, "no longer tells"), ({"fact-2-key": ""}, "no longer tells"),
    ({"fact-3-number": "few"}, "no longer tells"), ({"fact-3-verdict": "perhaps"}, "no longer tells"),
    ({"fact-3-place-along-mm": "aft"}, "no longer tells"), ({"row-1": "RULE: NONE."}, "older version")])
def test_a_layer_whose_facts_were_lost_or_that_is_older_than_facts_is_to_be_made_again(changes, words):
    drawing, group = write()
    for name, value in changes.items():
        find(group).set(names.attribute(name), value)
    with pytest.raises(PatternError, match=words) as caught:
        read(drawing, group)
    assert "Run Scarfs and Butts again." in caught.value.remedy
