"""Seam rules. Refusals first."""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.trade.seams import RULES, find_gap_mm, find_rule, judge_thickness


@pytest.mark.parametrize("rule", ["", "tenth", "1/16", "none of them"])
def test_a_rule_that_is_none_is_refused_with_the_names(rule):
    with pytest.raises(SettingError) as caught:
        find_gap_mm(rule, 25.0)
    assert all(name in caught.value.remedy for name in RULES)


@pytest.mark.parametrize("rule", [r for r in RULES if r != "none"])
@pytest.mark.parametrize("thickness", [0.0, -25.0, math.nan, math.inf])
def test_no_seam_without_a_thickness(rule, thickness):
    with pytest.raises(SettingError, match="thickness"):
        find_gap_mm(rule, thickness, own_mm=1.0)


@pytest.mark.parametrize("own", [-0.1, 25.0, 40.0, math.nan])
def test_an_own_gap_below_nought_or_through_the_plank_is_refused(own):
    with pytest.raises(SettingError) as caught:
        find_gap_mm("own", 25.0, own_mm=own)
    assert caught.value.where == "Seam, own gap"


def test_no_seam_needs_no_thickness():
    assert find_gap_mm("none", 0.0)[0] == 0.0


def test_an_own_gap_is_itself_and_others_take_no_notice_of_it():
    assert find_gap_mm(" OWN ", 25.0, own_mm=2.25)[0] == 2.25
    assert find_gap_mm("sixteenth", 16.0, own_mm=9.0)[0] == 1.0


@pytest.mark.parametrize("rule, word", [("sixteenth", "Traditional Small Craft Association"), ("eighth", "account"),
                                        ("seventh", "accounts"), ("own", "user")])
def test_the_words_say_who_says_so(rule, word):
    gap, words = find_gap_mm(rule, 25.0, own_mm=1.0)
    assert gap > 0 and word in words and word in find_rule(rule).source


def test_rules_differ_in_the_order_of_their_names():
    gaps = [find_gap_mm(rule, 25.0)[0] for rule in ("none", "sixteenth", "eighth", "seventh")]
    assert gaps == sorted(gaps) and len(set(gaps)) == 4


@pytest.mark.parametrize("thickness, word", [(9.0, "tight"), (12.7, "tight"), (13.0, "wicking"), (15.8, "wicking"),
                                             (16.0, ""), (25.0, "")])
def test_a_thin_plank_is_doubted_and_the_rule_still_followed(thickness, word):
    """Up to about 1/2 to 5/8 in: common practice, no source."""
    assert (word in judge_thickness(thickness)) if word else judge_thickness(thickness) == ""
    gap, words = find_gap_mm("sixteenth", thickness)
    assert gap == thickness / 16 and judge_thickness(thickness) in words
    assert judge_thickness(thickness) == "" or judge_thickness(thickness) not in find_gap_mm("none", thickness)[1]
