"""Scarfs and butts laid in a plank and judged. Refusals first. The plank is 4000 mm long, bow to the right, level,
frames 1 to 16 every 250 mm from 100.
"""
from functools import lru_cache

import numpy as np
import pytest
from shapes import make_bowed_plank, make_plank, make_straight_plank

from plankcore.errors import DocumentError, PatternError, SettingError
from plankcore.fastenings.lay_out import lay_out_fastenings
from plankcore.joints.place import RULES, JointSettings, draw_map, place_joints
from plankcore.model.joints_and_fastenings import JointRecord
from plankcore.stations.strike import StationSettings, strike_stations

PLANK = make_straight_plank(length=4000.0, fore=140.0, aft=120.0, left=50.0, top=40.0, side="starboard", strake="5",
                            thickness_mm=25.0, name="Tern of Nowhere")
FIRST, SPACING = 100.0, 250.0


@lru_cache(maxsize=None)
def strike(plank=PLANK, square_to="baseline"):
    return tuple(strike_stations(plank, settings=StationSettings(first_mm=FIRST, spacing_mm=SPACING,
                                                                 square_to=square_to))[0])


def butt(strake, bay, *, kind="butt", side="starboard", row=2):
    return JointRecord(side, str(strake), kind, bay, where="side.csv, row %d" % row)


def place(records=(), *, plank=PLANK, frames=(), **settings):
    return place_joints(plank, strike(plank), settings=JointSettings(
        **{"fore_end": "hood", "aft_end": "hood", **settings}), records=records, frame_records=frames)


@pytest.mark.parametrize("settings, field", [
    ({"joints": "10-12"}, "Joints"), ({"joints": "on 77 b"}, "Joints"), ({"joints": "next week"}, "Joints"),
    ({"joints": " , "}, "Joints"), ({"joints": "20-21"}, "Joints"),
    ({"joints": "0-1"}, "Joints"), ({"joints": "8-9, 8-9"}, "Joints"), ({"joints": "propose 0"}, "Joints"),
    ({"joints": "propose 5"}, "Joints"), ({"joints": "8+"}, "Joints"),
    ({"kind": "halving"}, "Kind"), ({"rule": "none"}, "Rule"), ({"fore_end": "rabbet"}, "Fore end"),
    ({"aft_end": ""}, "Aft end"), ({"square_to": "baseline"}, "Square to"),
    ({"feather": "up"}, "Outside feather"), ({"slope": 0.5}, "Slope"), ({"slope": float("nan")}, "Slope"),
    ({"block_times": 5.0, "joints": "8-9"}, "Block length")])
def test_settings_that_cannot_be_used_are_refused(settings, field):
    with pytest.raises(SettingError) as caught:
        place(**settings)
    assert caught.value.where in (field, "Joints") and caught.value.remedy


def test_a_scarf_in_a_plank_of_no_thickness_is_refused():
    with pytest.raises(PatternError, match="thickness is not known"):
        place(plank=make_straight_plank(length=4000.0, strake="5"), kind="scarf", joints="8-9")


@pytest.mark.parametrize("joints", ["1-2", "15-16", "scarf 1 + 20"])
def test_a_scarf_that_runs_off_the_plank_is_refused(joints):
    """12:1 on 60 mm is 720 mm; bay 1-2 has its middle 225 mm from the fore end."""
    thick = make_straight_plank(length=4000.0, strake="5", thickness_mm=60.0)
    with pytest.raises(PatternError):
        place(plank=thick, kind="scarf", joints=joints)


def test_scarfs_that_run_into_each_other_are_refused():
    """300 mm long, 250 mm apart."""
    with pytest.raises(PatternError, match="run into each other"):
        place(kind="scarf", joints="8-9, 9-10")
    place(kind="scarf", joints="8-9, 10-11")


def test_an_end_beyond_the_known_frames_is_refused_unless_it_is_a_hood_end():
    stations = strike()
    odd = [type(s)("mast" if k == 0 else s.label, s.line, s.width_mm, s.distance_mm) for k, s in enumerate(stations)]
    with pytest.raises(PatternError, match="fore end lies beyond"):
        place_joints(PLANK, odd, settings=JointSettings(joints="none", aft_end="hood"))
    place_joints(PLANK, odd, settings=JointSettings(joints="none", fore_end="hood", aft_end="hood"))


def test_no_place_that_is_legal_is_told_with_what_was_asked():
    with pytest.raises(PatternError, match="no place for 3 butts by the rule three-and-three"):
        place(joints="propose 3")
    with pytest.raises(PatternError,
                       match="longest board, 500 mm, is too short for every place that the rules allow 1 scarf"):
        place(joints="propose 1", kind="scarf", stock_mm=500.0)


def test_the_bay_that_fails_least_is_named_with_what_it_fails_against():
    """A butt of the next strake in 8-9. The plank runs from 0.4 space ahead of frame 1 to 0.6 abaft 16: bay 11-12 is
    three spaces off and leaves 5.1 of 6 behind it (short by 0.15 of it), 5-6 leaves 4.9 ahead (0.18), 10-11 is two
    spaces off (0.33)."""
    with pytest.raises(PatternError,
                       match=r"Least wrong is bay 11-12: LENGTH BEHIND OF IT 5\.1 FRAME SPACES, 6 NEEDED\.") as caught:
        place([butt(6, "8-9")], joints="propose 1")
    assert caught.value.remedy
    told = (r"Least wrong is bay 8-9: PART BEHIND OF IT 2175 MM LONG, THE LONGEST BOARD 500 MM; "
            "PART AHEAD OF IT 2125 MM")
    with pytest.raises(PatternError, match=told):
        place(joints="propose 1", kind="scarf", stock_mm=500.0)
    with pytest.raises(PatternError, match=r"no place for 3 butts .* Bay \S+ would do for one alone"):
        place(joints="propose 3")


@pytest.mark.parametrize("rule, kind", [("yacht-scarfs", "butt"), ("light-craft", "scarf")])
def test_a_rule_that_says_nothing_of_such_a_joint_proposes_none(rule, kind):
    with pytest.raises(SettingError, match="says nothing of %ss" % kind) as caught:
        place(joints="propose 1", kind=kind, rule=rule)
    assert caught.value.where == "Rule" and "three-and-three" in caught.value.remedy and rule not in caught.value.remedy
    plan = place(joints="8-9", kind=kind, rule=rule)
    assert plan.legal == () and any(row.startswith("LEGAL BAYS") and "NOT JUDGED, THE RULE SAYS NOTHING OF %sS"
                                    % kind.upper() in row for row in plan.overlay.rows)


def test_short_parts_of_a_scarfed_plank_are_told():
    """A scarf 300 long about the middle of bay 2-3, 475 mm from the fore end: the part ahead is 625 long, 2.5 spaces;
    that behind is none too short.
    """
    row, = [r for r in place(kind="scarf", joints="2-3").overlay.rows if r.startswith("A SCARF GLUED")]
    assert (row == "A SCARF GLUED BEFORE HANGING MAKES ONE PLANK OF TWO PARTS: THE LENGTH RULE IS NOT APPLIED TO ITS "
                   "PARTS; PART 1 IS 625 MM LONG (2.5 FRAME SPACES).")
    row, = [r for r in place(kind="scarf", joints="8-9").overlay.rows if r.startswith("A SCARF GLUED")]
    assert row.endswith("ITS PARTS.")


def test_a_record_that_has_no_place_is_refused():
    with pytest.raises(DocumentError) as caught:
        place([butt(6, "8-10", row=4)], joints="8-9")
    assert caught.value.where == "side.csv, row 4, column bay"


def test_butts_where_they_are_typed():
    plan = place(joints="10-11; 5 - 4, on 8")
    assert [(j.label, j.kind, j.bay) for j in plan.joints] == [("1", "butt", "4-5"), ("2", "butt", "on 8"),
                                                               ("3", "butt", "10-11")]
    assert [j.distance_mm
            for j in plan.joints] == pytest.approx([FIRST + 3.5 * SPACING, FIRST + 7 * SPACING, FIRST + 9.5 * SPACING])
    for joint in plan.joints:
        assert joint.length_mm == 0 and joint.slope == 0 and joint.feather == "" and joint.thickness_mm == 25.0
        assert joint.line[:, 0] == pytest.approx([4050 - joint.distance_mm] * 2,
                                                 abs=1e-6) and joint.line[0, 1] < joint.line[1, 1]
    assert [(round(p.from_mm), round(p.to_mm)) for p in plan.parts] == [(0, 975), (975, 1850), (1850, 2475),
                                                                        (2475, 4000)]


def test_a_scarf_has_its_length_and_its_parts_overlap_by_it():
    plan = place(kind="scarf", joints="8-9", slope=12.0)
    joint, = plan.joints
    assert (joint.length_mm, joint.slope, joint.feather) == (pytest.approx(300.0), 12.0, "aft")
    ahead, behind = plan.parts
    assert ahead.to_mm - behind.from_mm == pytest.approx(300.0, abs=1e-6)
    assert (ahead.to_mm + behind.from_mm) / 2 == pytest.approx(joint.distance_mm, abs=1e-6)


def test_kinds_may_be_mixed():
    plan = place(joints="scarf 4-5, 10-11")
    assert [(j.kind, j.length_mm) for j in plan.joints] == [("scarf", 300.0), ("butt", 0.0)]


@pytest.mark.parametrize("feather, outside", [("aft", 1), ("fore", 0)])
def test_the_outside_feather_is_solid_and_faces_the_way_that_was_asked(feather, outside):
    """The part ahead laps over the part behind on the outside where its edge faces aft, so that edge is the aftermost
    line.
    """
    plan = place(kind="scarf", joints="8-9", feather=feather)
    lines = sorted((one for one in plan.overlay.lines if one.role == "feather"), key=lambda one: -one.cubics[0, 0, 0])
    assert len(lines) == 2
    for k, line in enumerate(lines):
        assert dict(line.values)["face"] == ("outside" if k == outside else "inside")
        assert line.style == ("joint" if k == outside else "joint-hidden")
    said = [t.text for t in plan.overlay.texts]
    # read upwards along the edge, 'OUTSIDE FEATHER' comes before 'FEATHER FACES AFT'
    first, second = (next(t for t in plan.overlay.texts if t.text == words)
                     for words in ("OUTSIDE FEATHER", "FEATHER FACES %s" % ("AFT" if feather == "aft" else "FORWARD")))
    assert first.at_mm[1] > second.at_mm[1] and "INSIDE FEATHER" in said
    # the slope is planed on the inside of the part whose feather is outside
    slopes = {dict(one.values)["face"]: one.cubics[0, 0, 0] for one in plan.overlay.lines if one.role == "slope"}
    ahead = max(slopes.values())
    assert slopes["inside" if feather == "aft" else "outside"] == ahead


def test_square_to_the_run_or_along_the_frames():
    """On the parabola the run's slope at a quarter of the length is half of 4 sny / length; the frames are struck
    square to the baseline.
    """
    plank = make_bowed_plank(length=2400.0, strake="5", thickness_mm=20.0)
    stations = strike(plank)
    for square_to, lean in (("run", 4 * 60.0 / 2400 * 0.5), ("frames", 0.0)):
        plan = place_joints(plank, stations, settings=JointSettings(joints="3 + 0 mm", fore_end="hood",
                                                                    aft_end="hood", square_to=square_to))
        way = plan.joints[0].line[1] - plan.joints[0].line[0]
        assert plan.joints[0].distance_mm == 600.0
        assert abs(way[0] / way[1]) == pytest.approx(lean, abs=2e-3)


def test_the_block_lies_between_the_frames_and_laps_the_neighbours():
    """Bay 250 less a siding of 40 leaves 210, less 10 at each frame 190: 7.6 times 25, which is told. Of 20 past each
    edge.
    """
    plan = place(joints="8-9", siding_mm=40.0, lap_mm=20.0, drain_mm=10.0)
    block = next(one for one in plan.overlay.lines if one.role == "block")
    corners = block.cubics[:, 0]
    assert np.ptp(corners[:, 0]) == pytest.approx(190.0, abs=1e-6)
    width = float(np.hypot(*(plan.joints[0].line[1] - plan.joints[0].line[0])))
    assert np.ptp(corners[:, 1]) == pytest.approx(width + 40.0, abs=0.01) and block.closed
    assert any("THE BAY LEAVES" in row for row in plan.overlay.rows)
    wide = place(joints="8-9", lap_mm=15.0, block_times=8.0)
    assert np.ptp(next(one for one in wide.overlay.lines if one.role == "block").cubics[:, 0, 0]) == pytest.approx(
        200.0, abs=1e-6)
    assert not any("LEAVES A BLOCK" in row for row in wide.overlay.rows)


@pytest.mark.parametrize("joints, butt_mm, long_mm", [
    # frame 11 stands 2600 mm from the fore end, 12 at 2850; their sides, 20 from there, at 2620 and 2830
    ("11 + 60 mm", 2660.0, 2 * (2660.0 - 2620.0 - 10.0)), ("11 + 190 mm", 2790.0, 2 * (2830.0 - 2790.0 - 10.0)),
    ("11 + 125 mm", 2725.0, 190.0), ("11 + 31 mm", 2631.0, 2.0)])
def test_a_block_has_the_butt_in_its_middle_and_goes_no_further_than_the_nearer_frame_lets_it(joints, butt_mm, long_mm):
    """By reckoning: from the butt to the side of the nearer frame, less the gap to drain, as much to the other side."""
    plan = place(joints=joints, siding_mm=40.0, drain_mm=10.0)
    block = next(one for one in plan.overlay.lines if one.role == "block")
    along = 4050.0 - block.cubics[:, 0, 0]
    assert (along.min() + along.max()) / 2 == pytest.approx(butt_mm, abs=1e-6)
    assert np.ptp(along) == pytest.approx(long_mm, abs=1e-6)
    assert along.min() >= 2620.0 + 10.0 - 1e-6 and along.max() <= 2830.0 - 10.0 + 1e-6


def test_a_butt_on_a_frame_has_no_block_and_a_verdict_of_its_own():
    plan = place(joints="on 8")
    assert not any(one.role == "block" for one in plan.overlay.lines)
    assert [v.passed for v in plan.verdicts if "ON A FRAME" in v.words] == [False]
    scarf = place(joints="scarf on 8")
    assert [v.passed for v in scarf.verdicts if "ON A FRAME" in v.words] == [True]


def test_ends_that_are_butts_are_judged_and_hood_ends_are_not():
    """The aft end, at 4000, lies in the bay aft of frame 16, which stands at 3850; the neighbour's butt is two bays
    ahead.
    """
    records = [butt(6, "14-15")]
    assert place(records, joints="none").verdicts[:1][0].rule == "six-spaces"
    plan = place(records, joints="none", aft_end="butt")
    pair = plan.verdicts[0]
    assert pair.passed is False and pair.number == 2.0 and {j.ours for j in pair.joints} == {"end", ""}
    finding = next(f for f in plan.overlay.findings if "16-17" in f.text)
    assert finding.where[0] == pytest.approx(50.0, abs=5)


def test_pairs_of_neighbours_among_themselves_are_not_this_planks_business():
    plan = place([butt(6, "3-4"), butt(7, "3-4"), butt(4, "13-14")], joints="8-9")
    assert all(any(j.ours for j in v.joints) for v in plan.verdicts)
    here = [v for v in plan.verdicts if v.rule == "three-and-three"]
    assert [v.passed for v in here] == [True, True]


def test_the_other_side_does_not_count_but_is_remarked_on():
    plan = place([butt(6, "8-9", side="port"), butt(5, "8-9", side="port")], joints="8-9")
    assert all(v.rule in ("six-spaces", "five-feet") for v in plan.verdicts)
    assert any("SAME STRAKE OPPOSITE" in row for row in plan.overlay.rows)


def test_the_garboard_opposite():
    """4 ft 6 in is 1371.6 mm; 5 bays are 1250, 6 are 1500."""
    garboard = make_straight_plank(length=4000.0, fore=140.0, aft=120.0, side="starboard", strake="1",
                                   thickness_mm=25.0)
    near = place([butt(1, "13-14", side="port")], plank=garboard, joints="8-9")
    far = place([butt(1, "14-15", side="port")], plank=garboard, joints="8-9")
    assert any("GARBOARD OPPOSITE" in row
               for row in near.overlay.rows) and not any("GARBOARD OPPOSITE" in row for row in far.overlay.rows)


def test_no_neighbours_is_said_and_not_taken_for_a_pass():
    plan = place(joints="8-9")
    assert any("HAS NOT BEEN CHECKED" in row
               for row in plan.overlay.rows) and not any("JUDGED BY IT" in row for row in plan.overlay.rows)


def test_old_pieces_that_remain():
    """The plank's ends are butts, at 0 mm in bay 0-1 and at 4000 mm in bay 16-17. Old butts of its strake: in bay
    21-22, 5 bays on; and none ahead.
    """
    plan = place([butt(5, "21-22")], joints="none", fore_end="butt", aft_end="butt")
    old = [v for v in plan.verdicts if v.words.startswith("OLD PIECE BEHIND")]
    assert [v.passed for v in old] == [False, False] and old[0].number == 5.0 and old[1].number == pytest.approx(
        100 + 20.5 * 250 - 4000)
    assert any(row.startswith("OLD PIECE AHEAD: NO JOINT") for row in plan.overlay.rows)
    enough = place([butt(5, "22-23")], joints="none", fore_end="butt", aft_end="butt")
    assert next(v.passed for v in enough.verdicts if v.words.startswith("OLD PIECE BEHIND")) is True


def test_an_old_joint_inside_the_plank_is_taken_as_gone_and_said():
    plan = place([butt(5, "9-10", row=7)], joints="8-9")
    assert any("TAKEN AS GONE" in row and "ROW 7" in row for row in plan.overlay.rows)
    assert not any("9-10" in j.bay for j in plan.side if not j.ours)


def test_new_lengths_count_between_butts_and_not_between_glued_scarfs():
    plan = place(joints="8-9")
    lengths = [v for v in plan.verdicts if v.rule == "six-spaces"]
    # 0 mm is 0.4 of a space ahead of frame 1; the butt counts 7.5 spaces aft of it
    assert [v.number for v in lengths] == pytest.approx([7.9, 8.1])
    assert [v.number for v in place(joints="8-9", kind="scarf").verdicts
            if v.rule == "six-spaces"] == pytest.approx([16.0])


def test_a_place_known_by_its_bay_only_is_told_where_it_could_turn_the_distance_rule():
    """5 ft is 1524 mm: from bay 8-9 to bay 14-15 are 1500, half a bay short or over."""
    plan = place([butt(6, "14-15")], joints="8-9", rule="distance")
    assert plan.verdicts[0].passed is False and "MEASURE IT" in plan.verdicts[0].words
    assert "MEASURE IT" not in place([butt(6, "12-13")], joints="8-9", rule="distance").verdicts[0].words


def test_steps_are_remarked_on():
    plan = place([butt(4, "11-12"), butt(3, "14-15")], joints="8-9")
    assert any("MARCH IN STEPS" in row for row in plan.overlay.rows)
    assert all(v.passed for v in plan.verdicts if v.rule == "three-and-three")


def test_the_proposal_keeps_clear_of_the_neighbours():
    """Butts of the next strakes in bays 5-6 and 12-13: legal are those three bays off both that leave six spaces to
    both ends, 8-9 and 9-10; both clear by nothing more than 3 from one or the other, and 8-9 is 3 from 5-6 and 4 from
    12-13."""
    plan = place([butt(4, "5-6"), butt(6, "12-13")])
    assert plan.legal == ("8-9", "9-10")
    assert plan.joints[0].bay in plan.legal and "0 FRAME SPACES MORE THAN IT NEEDS" in plan.why
    assert all(v.passed for v in plan.verdicts)
    free = place([butt(4, "3-4"), butt(6, "13-14")])
    assert free.joints[0].bay == "8-9" and free.legal == ("7-8", "8-9", "9-10", "10-11")


def test_the_proposal_fits_the_stock():
    """Boards of 2300 mm for a scarf 300 mm long in 4000 mm of plank: the middle lies between 1850 and 2150: bay 8-9,
    from 1850 to 2100, has its middle at 1975.
    """
    plan = place(kind="scarf", stock_mm=2300.0)
    assert plan.on_boards == ("8-9",) and len(plan.legal) == 15 and max(p.to_mm - p.from_mm
                                                                        for p in plan.parts) <= 2300.0


def test_a_part_longer_than_the_stock_is_told():
    """Bay 4-5 has its middle at 975: the part behind is 3025 long."""
    plan = place(joints="4-5", stock_mm=3000.0)
    told = "BOARD TOO SHORT: PART 2 IS 3025 MM LONG, THE LONGEST BOARD 3000 MM. NO BUTT RULE ASKS THIS."
    assert told in plan.overlay.rows and any("board too short" in f.text for f in plan.overlay.findings)
    assert not any("LONGEST BOARD" in row for row in place(joints="4-5", stock_mm=3030.0).overlay.rows)


def test_two_scarfs_in_one_plane_across_though_butts_were_the_kind_asked_for():
    """A scarf typed among butts is as long as any: 300 mm, and 250 mm from that two strakes off."""
    plan = place([butt(7, "9-10", kind="scarf")], joints="scarf 8-9", kind="butt", rule="yacht-scarfs")
    assert [v.passed for v in plan.verdicts if len(v.joints) == 2 and v.rule == "yacht-scarfs"] == [False]


def test_what_was_typed_stays_though_it_fails_and_legal_bays_are_told():
    plan = place([butt(4, "8-9")], joints="8-9")
    assert plan.joints[0].bay == "8-9" and plan.verdicts[0].passed is False
    assert any(row == "LEGAL BAYS OF THIS PLANK FOR 1 BUTT: NONE." for row in plan.overlay.rows)
    assert "%d FAIL" % 1 in " ".join(plan.overlay.rows)
    assert any("fails" in f.text and f.where for f in plan.overlay.findings)


@pytest.mark.parametrize("rule", RULES)
def test_every_sheet_names_rule_source_reading_and_that_it_is_no_approval(rule):
    plan = place([butt(6, "9-10"), butt(6, "2-3", kind="scarf")], joints="8-9, scarf 12-13", rule=rule)
    rows = plan.overlay.rows
    assert rows[0].startswith(
        "BUTT RULE: " + plan.rule.title) and plan.rule.source.upper() in rows[0] and rows[1].startswith("READ AS: ")
    assert "CHECKED AGAINST THE RULE NAMED, NOT AN APPROVAL" in rows[-1]
    assert not any("APPROVED" in r for r in rows) and all(r == r.upper() for r in rows)
    # published strengths of scarfs disagree: none is printed
    assert not any("%" in r for r in rows)
    if rule == "yacht-scarfs":
        assert any(v.passed is None and "SCARFS ALONE" in v.words for v in plan.verdicts)


def test_neighbours_are_drawn_outside_the_edge_they_lie_beyond():
    plan = place([butt(6, "9-10"), butt(3, "4-5"), butt(9, "4-5"), butt(6, "40-41")], joints="8-9")
    marks = {dict(one.values)["strake"]: one for one in plan.overlay.lines if one.role == "neighbour"}
    # four strakes off, and far abaft, are in the words alone
    assert set(marks) == {"6", "3"}
    assert marks["6"].cubics[..., 1].max() < 40.0 + 10.0 and marks["3"].cubics[..., 1].min() > 180.0 - 10.0
    assert marks["6"].cubics[0, 0, 0] == pytest.approx(4050 - (FIRST + 8.5 * SPACING))
    assert "6: BUTT 9-10" in [t.text for t in plan.overlay.texts]


def test_everything_turns_with_the_plank():
    turned = np.array([[np.cos(0.3), -np.sin(0.3), 100.0], [np.sin(0.3), np.cos(0.3), 40.0]])
    moved = make_plank(*(PLANK.edges[n].curve.transform(turned) for n in ("upper", "lower", "fore", "aft")),
                       strake="5", thickness_mm=25.0)
    for a, b in zip(place(kind="scarf", joints="8-9").joints, place(plank=moved, kind="scarf", joints="8-9").joints):
        assert b.line == pytest.approx(a.line @ turned[:, :2].T + turned[:, 2], abs=1e-6)


@pytest.mark.parametrize("page, size", [("a4", (297.0, 210.0)), ("letter", (279.4, 215.9))])
def test_the_map_stays_on_its_page_and_numbers_what_fails(page, size):
    records = [butt(n, "%d-%d" % (k, k + 1)) for n, k in ((1, 4), (2, 5), (3, 9), (4, 8), (6, 9), (7, 14), (8, 13),
                                                          (12, 3))]
    plan = place(records, joints="8-9", aft_end="butt")
    sheet = draw_map(PLANK, plan, page=page)
    assert (sheet.width_mm, sheet.height_mm) == size
    points = np.concatenate([one.cubics.reshape(-1, 2) for one in sheet.lines])
    assert points.min() > 5.0 and (points.max(axis=0) < np.array(size) - 4.0).all()
    fails = [one for one in sheet.lines if one.role == "failing"]
    told = [dict(one.values)["text"] for one in sheet.lines if one.role == "note"]
    # 1 and 2, 3 and 4, 4 and 5, 5 and 6, 7 and 8; 3 and 6 in one bay
    assert len(fails) == 6
    assert sum("NEEDED" in t for t in told) == 6 and "6 FAIL" in " ".join(dict(o.values)["text"] for o in sheet.lines
                                                                          if o.style == "warning" and o.role == "note")
    assert len([one for one in sheet.lines if one.role == "joint"]) == len(records) + 2
    assert any("NOT AN APPROVAL" in t for t in told)


def test_the_map_shows_the_bow_to_the_right_of_the_starboard_side_and_to_the_left_of_port():
    for side, sign in (("starboard", 1), ("port", -1)):
        plank = make_straight_plank(length=4000.0, side=side, strake="5", thickness_mm=25.0)
        sheet = draw_map(plank,
                         place([butt(6, "3-4", side=side), butt(4, "13-14", side=side)], plank=plank, joints="8-9"))
        x = {dict(one.values)["bay"]: one.cubics[0, 0, 0] for one in sheet.lines if one.role == "joint"}
        assert sign * (x["3-4"] - x["8-9"]) > 0 and sign * (x["8-9"] - x["13-14"]) > 0


def test_a_map_too_large_to_read_is_refused():
    plan = place([butt(60, "3-4")], joints="8-9")
    with pytest.raises(SettingError, match="strakes"):
        draw_map(PLANK, plan)
    with pytest.raises(SettingError, match="page"):
        draw_map(PLANK, place(joints="8-9"), page="a0")


def test_a_proposed_scarf_stands_where_every_frame_keeps_its_fastenings():
    """12:1 on 25 mm is 300 long, feathers 100: no fastening from 50 to 150 and half a plug of 9/16 in from its middle.
    Frames 45 broad, 10 kept from their sides, hold them to 12.5 from the mark: so the middle stands 37.5 from one
    frame, 87.5 from the bay's. Fastenings lays out all it should at every frame; at the bay's middle it would not."""
    plan = place(kind="scarf")
    joint, = plan.joints
    frame = next(s for s in strike() if s.label == joint.bay.split("-")[0])
    assert joint.distance_mm - frame.distance_mm == pytest.approx(
        37.5, abs=1e-6) and "EVERY FRAME KEEPS ITS FASTENINGS" in plan.why
    assert not any("CANNOT KEEP ALL FASTENINGS" in row for row in plan.overlay.rows)
    layout = lay_out_fastenings(PLANK, stations=strike(), joints=plan.joints)
    assert layout.bare == () and len(layout.fastenings) == 32
    middle = place(kind="scarf", joints=joint.bay)
    assert {b.station for b in lay_out_fastenings(PLANK, stations=strike(), joints=middle.joints).bare} == set(
        joint.bay.split("-"))


def test_frames_in_the_feathers_of_a_typed_scarf_are_told_and_kept_as_data():
    plan = place(kind="scarf", joints="8-9")
    row, = [r for r in plan.overlay.rows if "CANNOT KEEP ALL FASTENINGS" in r]
    assert "SCARF 1: FRAMES 8, 9 " in row and "45 MM BROAD, FOR THEIR BREADTH IS NOT GIVEN" in row
    assert {dict(line.values).get("bare_frames") for line in plan.overlay.lines if line.role == "joint"} == {"8 9"}
    assert "bare_frames" not in {k for line in place(joints="8-9").overlay.lines for k, _ in line.values}


def test_where_no_place_serves_it_is_said():
    """Frames 200 broad stand within 90 of their marks, so one on each side of any place in a bay of 250 reaches into a
    feather.
    """
    plan = place(kind="scarf", siding_mm=200.0)
    assert "NO PLACE WITHIN THE BAYS LETS EVERY FRAME KEEP ITS FASTENINGS" in plan.why and any(
        "CANNOT KEEP ALL FASTENINGS" in row for row in plan.overlay.rows)


@pytest.mark.parametrize("count, slope, square_to", [(1, 8.0, "run"), *(
    pytest.param(*case, marks=pytest.mark.long) for case in ((1, 12.0, "frames"), (2, 12.0, "run")))])
def test_what_is_proposed_agrees_with_fastenings_on_a_bent_plank(count, slope, square_to):
    plank = make_bowed_plank(length=4000.0, strake="5", thickness_mm=25.0)
    plan = place(plank=plank, joints="propose %d" % count, kind="scarf", slope=slope, square_to=square_to)
    kept = "EVERY FRAME KEEPS ITS FASTENINGS" in plan.why
    assert kept and {b.station for b in lay_out_fastenings(plank, stations=strike(plank), joints=plan.joints).bare
                     if b.kind == "frame"} == set()
