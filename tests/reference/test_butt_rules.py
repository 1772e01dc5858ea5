"""Joints against the words of the rules, and scarfs against trigonometry.

The rules: US Army Technical Bulletin TB 55-1900-201-45/1, paras 2-12 and 2-13 ("butts in adjacent planks ... at least
three frame spaces apart. Those ...
in the same frame bay ... separated by at least three solid strakes"; "no closer together than five feet"); Rules for
Great Lakes hulls, 1866 ("no butts to be nearer than five feet of each other, unless there is a strake wrought between
them, and then distance of four feet ... no butts to be on the same timber, unless there be three strakes wrought
between them"); Lloyd's yacht rule as J.-B. Souppez reports it in The Strength of Scarf Joints
(WoodenBoat, second-hand); one builder's rule for a light daysailer (samallensboat.com, 2017).
"""
import itertools
import math

import pytest

from plankcore.joints.bays import Demands, find_legal_bays, find_legal_sets
from plankcore.joints.judge import judge_joint, judge_length, judge_pair
from plankcore.model.joints_and_fastenings import Joint
from plankcore.trade.butt_rules import GARBOARD_SHIFT_MM, LENGTHS, RULES, find_rule, measure_scarf

INCH, FOOT = 25.4, 304.8


def make_joint(strake, bay, *, kind="butt", spacing=FOOT, distance=None):
    """A joint in the bay aft of frame `bay`."""
    return Joint("port", str(strake), kind=kind, bay="%d-%d" % (bay, bay + 1),
                 distance_mm=(bay + 0.5) * spacing if distance is None else distance, note="", number=strake,
                 place=bay + 0.5, doubt_mm=0.0, ours="new")


def judge(rule, between, *, bays=(7, 7), apart_mm=None, kind="butt", scarf_mm=0.0):
    first = make_joint(5, bays[0], kind=kind, distance=None if apart_mm is None else 0.0)
    second = make_joint(6 + between, bays[1], kind=kind, distance=apart_mm)
    return judge_pair(find_rule(rule), first, second, scarf_mm=scarf_mm)


@pytest.mark.parametrize("between, bays, passed", [
    # TB 2-13 a: adjacent, three frame spaces
    (0, (7, 10), True), (0, (7, 9), False), (0, (10, 7), True), (0, (7, 7), False),
    # TB 2-13 a: one bay, three solid strakes
    (2, (7, 7), False), (3, (7, 7), True), (1, (7, 7), False),
])
def test_three_and_three(between, bays, passed):
    assert judge("three-and-three", between, bays=bays).passed is passed


@pytest.mark.parametrize("between, bays", [(1, (7, 8)), (2, (7, 9)), (4, (7, 8))])
def test_three_and_three_says_nothing_of_strakes_between_in_different_bays(between, bays):
    """TB 2-13 a has no word on it."""
    assert judge("three-and-three", between, bays=bays) is None


def test_three_and_three_tells_both_numbers():
    verdict = judge("three-and-three", 0, bays=(7, 9))
    assert (verdict.number, verdict.limit) == (2.0, 3.0)
    verdict = judge("three-and-three", 2)
    assert (verdict.number, verdict.limit) == (2.0, 3.0)


@pytest.mark.parametrize("between, apart_mm, passed", [
    (0, 4 * FOOT + 11 * INCH, False), (0, 5 * FOOT, True),                             # TB 2-13 b
    (1, 4 * FOOT, True), (1, 3 * FOOT + 11 * INCH, False),                             # Great Lakes 1866
])
def test_the_distance_rule(between, apart_mm, passed):
    verdict = judge("distance", between, bays=(7, 11), apart_mm=apart_mm)
    assert verdict.passed is passed
    assert (verdict.number, verdict.limit) == (pytest.approx(apart_mm),
                                               pytest.approx((5 if between == 0 else 4) * FOOT))


@pytest.mark.parametrize("between, passed", [(3, True), (2, False), (1, False)])
def test_the_distance_rule_on_one_timber(between, passed):
    """Great Lakes 1866: on the same timber only with three strakes between."""
    assert judge("distance", between).passed is passed


@pytest.mark.parametrize("apart_mm, passed", [(1150.0, False), (1200.0, True)])
def test_the_yacht_rule_between_adjacent_scarfs(apart_mm, passed):
    """Souppez: not within 1.2 m."""
    assert judge("yacht-scarfs", 0, bays=(7, 12), apart_mm=apart_mm, kind="scarf").passed is passed


@pytest.mark.parametrize("between, passed", [(2, False), (3, True)])
def test_the_yacht_rule_in_one_plane_across(between, passed):
    """Souppez: three complete planks between; scarfs 240 mm long whose middles are 200 mm apart share a plane, whatever
    their bays.
    """
    assert judge("yacht-scarfs", between).passed is None                                # it speaks of scarfs alone
    assert judge("yacht-scarfs", between, kind="scarf").passed is passed
    assert judge("yacht-scarfs", between, bays=(7, 8), apart_mm=200.0, kind="scarf", scarf_mm=240.0).passed is passed
    assert judge("yacht-scarfs", between, bays=(7, 8), apart_mm=250.0, kind="scarf", scarf_mm=240.0) is None


@pytest.mark.parametrize("slope, passed", [(3.9, False), (4.0, True)])
def test_the_yacht_rule_for_the_length_of_a_scarf(slope, passed):
    """Souppez: not under 4:1."""
    verdict, = judge_joint(find_rule("yacht-scarfs"), make_joint(5, 7, kind="scarf"), thickness_mm=25.0, slope=slope)
    assert verdict.passed is passed


def test_rules_differ():
    """Adjacent, bays 3 and 5: two spaces, which the builder of light craft allows and the bulletin does not."""
    assert judge("three-and-three", 0, bays=(3, 5)).passed is False
    assert judge("light-craft", 0, bays=(3, 5)).passed is True
    assert judge("light-craft", 0, bays=(3, 4)).passed is False
    assert judge("light-craft", 1).passed is False and judge("light-craft", 2).passed is True


@pytest.mark.parametrize("rule, kind, passed",
                         [("three-and-three", "butt", False), ("three-and-three", "scarf", True),
                          ("distance", "butt", False), ("light-craft", "butt", None)])
def test_a_joint_on_a_frame(rule, kind, passed):
    """TB 2-13 a: butts should not terminate on frames; glued scarfs are found there in light work with narrow strakes.
    The light-craft builder does not say.
    """
    joint = Joint("port", "5", kind=kind, bay="on 9", distance_mm=900.0, note="", number=5, place=9.0, doubt_mm=0.0,
                  ours="new")
    verdict, = judge_joint(find_rule(rule), joint)
    assert verdict.passed is passed and "BELONGS TO NO BAY" in verdict.words


@pytest.mark.parametrize("spacing_in, bays, spaces, feet",
                         [(10, 6, True, True), (10, 5, False, False), (8, 6, True, None), (14, 5, False, True),
                          (12, 6, True, True)])
def test_six_spaces_and_five_feet(spacing_in, bays, spaces, feet):
    """TB 2-12 c, d. Frames 10 in apart: 6 bays are 60 in, 5 are 4 ft 2 in; 8 in apart 6 bays are 48 in, which meets c,
    and d is the floor only where c is relaxed.
    """
    first, second = judge_length(LENGTHS, "NEW PLANK", spaces=float(bays), length_mm=bays * spacing_in * INCH)
    assert (first.passed, second.passed) == (spaces, feet)
    assert (first.number, first.limit) == (bays, 6) and (second.number, second.limit) == (
        pytest.approx(bays * spacing_in * INCH), 5 * FOOT)
    if spaces and feet is None:
        assert "SHORT OF 5 FT" in second.words


def test_the_shift_of_garboards():
    """Lloyd's Register 1891, composite vessels, Section 7: four feet six inches."""
    assert GARBOARD_SHIFT_MM == pytest.approx(54 * INCH)


@pytest.mark.parametrize("thickness_in, slope, length_in, face_in, angle_deg", [
    (1.0, 12, 12.0, 12.0416, 4.7636), (1.0, 8, 8.0, 8.0623, 7.1250), (0.75, 12, 9.0, None, 4.7636),
    (25 / 25.4, 12, 300 / 25.4, None, None),
    (19 / 25.4, 8, 152 / 25.4, None, None), (1.25, 10, 12.5, None, None)])
def test_scarf_lengths(thickness_in, slope, length_in, face_in, angle_deg):
    """By Pythagoras and the tangent: a rise of one thickness in a run of `slope` of them."""
    length, face, angle = measure_scarf(thickness_mm=thickness_in * INCH, slope=slope)
    assert length == pytest.approx(length_in * INCH, abs=1e-9)
    assert face == pytest.approx((length_in ** 2 + thickness_in ** 2) ** 0.5 * INCH, abs=1e-9)
    assert math.tan(math.radians(angle)) == pytest.approx(1 / slope, abs=1e-12)
    if face_in:
        assert face / INCH == pytest.approx(face_in, abs=5e-5)
    if angle_deg:
        assert angle == pytest.approx(angle_deg, abs=5e-5)


# -- legal bays by brute force: the rules' words once more, as plain numbers, sharing no code with what is tested ------

def fails_by_words(rule, strake, bay, kind, other_strake, other_bay, other_kind, spacing):
    """Whether a pair fails, from the words quoted above."""
    if rule == "yacht-scarfs" and (kind, other_kind) != ("scarf", "scarf") or rule == "light-craft" and "scarf" in (
            kind, other_kind):
        return False
    solid = abs(strake - other_strake) - 1
    spaces = abs(bay - other_bay)
    if rule == "three-and-three":
        return solid == 0 and spaces < 3 or spaces == 0 and solid < 3
    if rule == "light-craft":
        return solid == 0 and spaces < 2 or spaces == 0 and solid < 2
    if rule == "distance":
        return (solid == 0 and spaces * spacing < 1524.0 or solid == 1 and spaces * spacing < 1219.2 or spaces == 0
                and solid < 3)
    return solid == 0 and spaces * spacing < 1200.0 or spaces * spacing < 180.0 and solid < 3


NEIGHBOURS = [(4, 3, "butt"), (6, 11, "butt"), (6, 26, "scarf"), (3, 12, "butt"), (7, 8, "scarf"), (8, 19, "butt"),
              (2, 13, "scarf"), (9, 20, "butt"), (1, 5, "butt")]


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("kind", ["butt", "scarf"])
@pytest.mark.parametrize("count, stock_mm", [(1, 0.0), (2, 0.0), (2, 3100.0), (3, 0.0)])
def test_legal_bays_by_brute_force(rule, kind, count, stock_mm):
    """A plank of 26 bays, 230 mm each, from frame 0 to frame 26, hood end to hood end; scarfs 180 mm long; butts leave
    six spaces to each length.
    """
    spacing, last, lap = 230.0, 26, 180.0 if kind == "scarf" else 0.0
    candidates = [make_joint(5, bay, kind=kind, spacing=spacing) for bay in range(last)]
    neighbours = tuple(make_joint(s, b, kind=k, spacing=spacing) for s, b, k in NEIGHBOURS)
    demands = Demands(find_rule(rule), neighbours, ends=((0.0, 0.0), (float(last), last * spacing)), least_spaces=6,
                      scarf_mm=lap, stock_mm=stock_mm)
    found = find_legal_sets(candidates, demands, count=count)
    expected = []
    for bays in itertools.combinations(range(last), count):
        sound = True
        for bay in bays:
            for other_strake, other_bay, other_kind in NEIGHBOURS:
                sound = sound and not fails_by_words(rule, 5, bay=bay, kind=kind, other_strake=other_strake,
                                                     other_bay=other_bay, other_kind=other_kind, spacing=spacing)
        stops = [0.0] + [bay + 0.5 for bay in bays] + [float(last)]
        for k in range(len(stops) - 1):
            run = stops[k + 1] - stops[k]
            ends = (k > 0) + (k < len(stops) - 2)
            sound = sound and (kind == "scarf"
                               or run >= 6) and (not stock_mm or run * spacing + ends * lap / 2 <= stock_mm)
            sound = sound and not (kind == "scarf" and ends == 2 and run * spacing < lap)
        if sound:
            expected.append(bays)
    assert [tuple(int(j.place) for j in chosen) for chosen in found] == expected
    assert find_legal_bays(found) == tuple("%d-%d" % (b, b + 1) for b in sorted({b for bays in expected for b in bays}))
    if count == 1 and not stock_mm and (rule, kind) != ("light-craft", "scarf"):        # that one binds no scarf
        assert 0 < len(expected) < last                                                # the comparison is of something
