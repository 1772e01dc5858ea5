"""Pairs of joints and runs of them, at the very limits of a rule. Refusals first: what a rule is silent on is no pass.

The yacht rule, as J.-B. Souppez reports it (The Strength of Scarf Joints, WoodenBoat; second-hand): scarfs of next
strakes 1.2 m apart; three whole strakes between those in one plane across, read as nearer than a scarf is long. Joints
that march in steps: common practice, no source.
"""
import pytest

from plankcore.joints.judge import find_steps, judge_pair, judge_pairs
from plankcore.model.joints_and_fastenings import Joint
from plankcore.trade.butt_rules import find_rule


def make_joint(strake, place, *, distance=None, kind="scarf", ours="", side="port"):
    return Joint(side, str(strake), kind=kind, bay="%g" % place,
                 distance_mm=250.0 * place if distance is None else distance, note="", number=strake,
                 place=place, doubt_mm=0.0, ours=ours)


def judge_scarfs(*, between, apart_mm, scarf_mm, bays=(8.5, 9.5)):
    return judge_pair(find_rule("yacht-scarfs"), make_joint(5, bays[0], distance=1000.0),
                      make_joint(6 + between, bays[1], distance=1000.0 + apart_mm), scarf_mm=scarf_mm)


@pytest.mark.parametrize("between", [1, 2, 3, 7])
@pytest.mark.parametrize("apart_mm", [300.0, 300.01, 450.0])
def test_scarfs_a_whole_length_apart_are_not_in_one_plane_and_the_rule_is_silent(between, apart_mm):
    """Each scarf is 300 long: where their middles are 300 apart, one ends where the other begins."""
    assert judge_scarfs(between=between, apart_mm=apart_mm, scarf_mm=300.0) is None


@pytest.mark.parametrize("between, passed", [(1, False), (2, False), (3, True), (7, True)])
@pytest.mark.parametrize("apart_mm", [299.99, -299.99, 160.0, 140.0, 0.01])
def test_scarfs_that_overlap_along_the_plank_want_three_strakes_between(between, passed, apart_mm):
    verdict = judge_scarfs(between=between, apart_mm=apart_mm, scarf_mm=300.0)
    assert verdict.passed is passed and (verdict.number, verdict.limit) == (between, 3)


def test_butt_rules_know_no_plane_across():
    """TB 55-1900-201-45/1, 2-13 a, speaks of bays: two strakes between, in next bays, it says nothing."""
    rule = find_rule("three-and-three")
    assert judge_pair(rule, make_joint(5, 8.5, kind="butt"), make_joint(8, 9.5, kind="butt"), scarf_mm=900.0) is None


def test_of_two_demands_the_one_that_is_not_met_is_told():
    """Thick stuff: a scarf 1300 long. Next strakes, 1250 apart: that is 1.2 m, but no strake stands between them in one
    plane across."""
    verdict = judge_scarfs(between=0, apart_mm=1250.0, scarf_mm=1300.0)
    assert verdict.passed is False and (verdict.number, verdict.limit) == (0, 3)
    assert judge_scarfs(between=0, apart_mm=1250.0, scarf_mm=1200.0).passed is True
    assert judge_scarfs(between=0, apart_mm=1199.0, scarf_mm=300.0).passed is False


def test_the_worst_pair_stands_first():
    joints = [make_joint(n, place, kind="butt") for n, place in ((5, 8.5), (6, 11.5), (4, 7.5), (6, 6.5))]
    found = judge_pairs(find_rule("three-and-three"), joints)
    assert [(v.passed, v.number) for v in found] == [(False, 1.0), (False, 2.0), (True, 3.0)]


# -- joints that march ---------------------------------------------------------------------------------------------

def march(*places, ours=1, strakes=(4, 5, 6), sides=("port",) * 3):
    return find_steps([make_joint(n, p, kind="butt", side=s, ours="new" if k == ours else "")
                       for k, (n, p, s) in enumerate(zip(strakes, places, sides))])


@pytest.mark.parametrize("places", [
    (8.5, 8.5, 8.5),                       # in one bay: a fail of the rule, but no steps
    (8.5, 9.5, 8.5), (8.5, 9.5, 11.5), (8.5, 8.5, 9.5), (8.5, 12.5, 16.5), (8.5, 4.5, 0.5)])
def test_joints_that_do_not_go_on_by_the_same_one_to_three_spaces_are_no_march(places):
    assert march(*places) == []


@pytest.mark.parametrize("step", [1.0, -1.0, 2.0, 3.0, -3.0, 0.5])
def test_three_strakes_running_the_same_way_by_the_same_step_are_one(step):
    run, = march(8.5, 8.5 + step, 8.5 + 2 * step)
    assert [j.number for j in run] == [4, 5, 6]


def test_others_joints_a_strake_left_out_and_another_side_are_not_this_planks_business():
    assert march(8.5, 9.5, 10.5, ours=None) == []
    assert march(8.5, 9.5, 10.5, strakes=(4, 5, 7)) == []
    assert march(8.5, 9.5, 10.5, sides=("port", "port", "starboard")) == []
