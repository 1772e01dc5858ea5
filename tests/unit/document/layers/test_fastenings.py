"""The layer of fastenings and the buying list as a file: refusals first, then what is written and read back."""
import csv

import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, reopen
from shapes import draw_lines

from plankcore.document import names
from plankcore.document.layers.joints import (
    read_blocks,
    read_ends,
    read_fastenings,
    read_joints,
    spell_list,
    write_fastenings,
    write_joints,
)
from plankcore.document.layers.lines import read_stations, write_stations
from plankcore.errors import PatternError
from plankcore.fastenings.lay_out import FasteningSettings, SizeSettings, lay_out_fastenings
from plankcore.model.drawing import Overlay, SheetLine
from plankcore.model.joints_and_fastenings import FasteningList
from plankcore.stations.strike import StationSettings, strike_stations


def prepare(*, joints=True):
    """A drawing with a faired plank, its stations and a butt: (drawing, group)."""
    drawing = open_drawing(draw_plank())
    plank, group = fair(drawing, thickness_mm=22.0)
    stations, findings = strike_stations(plank, settings=StationSettings(first_mm=150.0, spacing_mm=230.0))
    write_stations(drawing, group, stations, findings, square_to="baseline")
    if joints:
        middle = (stations[2].line + stations[3].line) / 2
        distance = (stations[2].distance_mm + stations[3].distance_mm) / 2
        told = (("joint", "1"), ("kind", "butt"), ("bay", "3-4"), ("distance_mm", distance), ("length_mm", 0.0),
                ("slope", 0.0), ("thickness_mm", 22.0), ("feather", ""))
        block = draw_lines([middle.mean(axis=0) + v for v in ((-60, -80), (60, -80), (60, 80), (-60, 80), (-60, -80))])
        overlay = Overlay((SheetLine(draw_lines(middle), "draw", role="joint", style="note", closed=False, values=told),
                           SheetLine(block, "draw", role="block", style="note", closed=True,
                                     values=(("joint", "1"), ("length_mm", 120.0), ("thickness_mm", 28.0)))))
        write_joints(drawing, group, overlay, fore_end="hood", aft_end="butt")
    return drawing, group


def lay_out(drawing, group, **settings):
    joints, _ = read_joints(drawing, group)
    layout = lay_out_fastenings(drawing.read_plank(group), stations=read_stations(drawing, group),
                                joints=joints, blocks=read_blocks(drawing, group),
                                settings=FasteningSettings(size=SizeSettings(), **settings))
    write_fastenings(drawing, group, layout)
    return layout


def find_first(group):
    return names.find_roles(names.find_layer(group, "fastenings"), "fastening")[0]


def move(group):
    find_first(group).set("transform", "translate(3,0)")


def take_one_away(group):
    one = find_first(group)
    one.getparent().remove(one)


def miscount(group):
    names.put(names.find_layer(group, "fastenings"), count=3)


def spoil_a_number(group):
    names.put(find_first(group), edge_mm="near")


def spoil_the_list(group):
    names.put(names.find_layer(group, "fastenings"), list_1_count="screws")


@pytest.mark.parametrize("fault", [move, take_one_away, miscount, spoil_a_number, spoil_the_list])
def test_a_layer_that_was_changed_is_refused(fault):
    drawing, group = prepare()
    lay_out(drawing, group)
    fault(group)
    with pytest.raises(PatternError, match="changed since it was made") as caught:
        read_fastenings(drawing, group)
    assert "Run Fastenings again" in caught.value.remedy


def test_other_frames_other_joints_or_another_fairing_make_it_out_of_date():
    drawing, group = prepare()
    lay_out(drawing, group)
    plank = drawing.read_plank(group)
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=151.0, spacing_mm=230.0))
    write_stations(drawing, group, stations, square_to="baseline")
    with pytest.raises(PatternError, match="frames or the joints are others"):
        read_fastenings(drawing, group)
    drawing, group = prepare()
    lay_out(drawing, group)
    group.remove(names.find_layer(group, "joints"))
    with pytest.raises(PatternError, match="frames or the joints are others"):
        read_fastenings(drawing, group)
    drawing, group = prepare(joints=False)
    lay_out(drawing, group)
    names.put(names.find_layer(group, "fair"), fairing="7")
    with pytest.raises(PatternError, match="faired again"):
        read_fastenings(drawing, group)


def test_what_is_written_is_read_back_from_a_saved_drawing():
    drawing, group = prepare()
    layout = lay_out(drawing, group, fore_end="hood", aft_end="butt")
    again = reopen(drawing)
    back = read_fastenings(again, again.find_group())
    assert len(back.fastenings) == len(layout.fastenings) > 15 and back.lists == layout.lists
    for one, two in zip(layout.fastenings, back.fastenings):
        assert (one.kind, one.station, one.through) == (two.kind, two.station, two.through)
        assert np.array(two.at_mm) == pytest.approx(np.array(one.at_mm), abs=1e-5)
        assert (two.along_mm, two.edge_mm,
                two.end_mm) == pytest.approx((one.along_mm, one.edge_mm, one.end_mm), abs=1e-6)
    assert (back.size.words, back.size.diameter_mm,
            back.size.plug_mm) == (layout.size.words, layout.size.diameter_mm, layout.size.plug_mm)
    assert back.overlay.rows == layout.overlay.rows and back.values["rule"] == "small"


def test_each_cross_is_one_path_that_carries_its_numbers():
    drawing, group = prepare()
    layout = lay_out(drawing, group)
    drawn = names.find_roles(names.find_layer(group, "fastenings"), "fastening")
    assert len(drawn) == len(layout.fastenings) and all(names.get(e, "kind") in ("frame", "butt", "end") for e in drawn)
    assert float(names.get(drawn[0], "edge-mm")) >= 19.05 - 1e-3 and names.get(drawn[0], "station") == "1"


def test_without_a_layer_there_is_nothing():
    drawing, group = prepare(joints=False)
    assert read_fastenings(drawing, group) is None and read_blocks(drawing, group) == ()
    assert read_ends(drawing, group) == {"fore": "none", "aft": "none"}


def test_ends_and_blocks_are_taken_from_the_joints():
    drawing, group = prepare()
    assert read_ends(drawing, group) == {"fore": "hood", "aft": "butt"}
    block, = read_blocks(drawing, group)
    joint, = read_joints(drawing, group)[0]
    assert (block.length_mm, block.thickness_mm) == (120.0, 28.0) and np.array(block.at_mm) == pytest.approx(
        joint.line.mean(axis=0), abs=1e-5)
    names.put(names.find_layer(group, "joints"), fore_end="scarf")
    assert read_ends(drawing, group)["fore"] == "none"


def test_running_it_again_replaces_the_layer():
    drawing, group = prepare()
    lay_out(drawing, group)
    lay_out(drawing, group, rule="lloyds")
    assert len([e for e in group if names.get(e, "layer") == "fastenings"]) == 1
    assert read_fastenings(drawing, group).values["rule"] == "lloyds"


def test_the_list_as_a_file():
    data = spell_list([FasteningList("frames", 'No 14 x 1 3/4 in, "best"', count=22, spares=3, table="row 7/8 in",
                                                     metal="silicon bronze")])
    rows = list(csv.reader(data.decode("utf-8").splitlines()))
    assert rows == [["use", "what", "metal", "driven", "spare", "buy", "table"],
                    ["frames", 'No 14 x 1 3/4 in, "best"', "silicon bronze", "22", "3", "25", "row 7/8 in"]]


def test_a_list_that_lost_a_column_and_a_layer_that_lost_its_ground_are_refused():
    drawing, group = prepare(joints=False)
    lay_out(drawing, group)
    layer = names.find_layer(group, "fastenings")
    for name, words in (("list-1-metal", "has been changed"), ("ground-2-along-mm", "are others than when")):
        kept = layer.attrib.pop(names.attribute(name))
        with pytest.raises(PatternError, match=words):
            read_fastenings(drawing, group)
        layer.set(names.attribute(name), kept)
    assert read_fastenings(drawing, group).lists[0].metal == "not named"
