"""One reader of ranges: its ends, what is no number, and its words."""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.model.typed import refuse_outside, refuse_unknown

WORDS = {"problem": "A margin of %g mm cannot be used.", "remedy": "Give 0 to 500 mm.", "field": "Margin"}


@pytest.mark.parametrize("value, wrong", [(0, False), (500.0, False), (12.5, False), (-1e-9, True), (500.1, True),
                                          (math.nan, True), (math.inf, True), (-math.inf, True)])
def test_the_ends_belong_to_a_range_and_what_is_no_number_to_none(value, wrong):
    if not wrong:
        return refuse_outside(value, 0, 500, **WORDS)
    with pytest.raises(SettingError) as refused:
        refuse_outside(value, 0, 500, **WORDS)
    assert refused.value.problem == "A margin of %g mm cannot be used." % value
    assert (refused.value.remedy, refused.value.where) == ("Give 0 to 500 mm.", "Margin")


def test_the_least_can_be_left_out_and_parts_of_a_number_too():
    with pytest.raises(SettingError, match="0 mm"):
        refuse_outside(0.0, 0, 500, above=True, **WORDS)
    refuse_outside(1e-9, 0, 500, above=True, **WORDS)
    with pytest.raises(SettingError, match=r"2\.5 mm"):
        refuse_outside(2.5, 0, 500, whole=True, **WORDS)
    refuse_outside(2.0, 0, 500, whole=True, **WORDS)


def test_a_number_is_told_in_other_words_or_not_at_all():
    with pytest.raises(SettingError, match="A margin of 1/2 in cannot be"):
        refuse_outside(-1, 0, 5, problem="A margin of %s cannot be.", told="1/2 in", remedy="", field="Margin")
    with pytest.raises(SettingError, match="No error at all"):
        refuse_outside(0, 0, math.inf, above=True, problem="No error at all.", remedy="", field="Error")


def test_a_word_that_is_not_known_is_refused_with_those_that_are():
    refuse_unknown("butt", ("butt", "scarf"), field="Kind")
    with pytest.raises(SettingError) as refused:
        refuse_unknown("lap", ("butt", "scarf"), problem="'%s' is no kind.", field="Kind")
    assert (refused.value.problem, refused.value.remedy, refused.value.where) == (
        "'lap' is no kind.", "Use one of: butt, scarf.", "Kind")
