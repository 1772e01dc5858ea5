"""Every doubt stands on the record, and once. Layers are invented; keys are those that the actions write."""
from dataclasses import replace

import pytest
from unit.record.test_build import MARKED, SECTIONS, build, make_board

from plankcore.model.drawing import Fact
from plankcore.model.plank import Finding
from plankcore.model.record import ToldLayer
from plankcore.record.doubts import settle_case
from plankcore.trade import seams


def layer(*facts, heading="Hollow and bevels", action="Hollow and Bevels", findings=()):
    return ToldLayer(heading, action, tuple(facts), tuple(findings))


def test_what_a_layer_doubts_is_told_and_nothing_else_is():
    told = layer(Fact("seam", "SEAM: 1.6 MM."), Fact("strain", "EASE THE EDGES.", "doubt"), Fact("stock", "", "fails"),
                 findings=[Finding("Read frame 9 again.", None, "reading-off"),
                           Finding("Read from the marks.", None, "what-was-read", verdict="")])
    record = build(sections=(told,))
    assert record.doubts == ("Ease the edges.", "Read frame 9 again.")
    section = next(s for s in record.sections if s.heading == told.heading)
    assert section.rows == ("Seam: 1.6 mm.", "In doubt: 1 more, told under that heading.")
    assert record.count.startswith("In doubt: 2 things")


@pytest.mark.parametrize("fact, finding", [
    (Fact("pair", "FAILS: BUTT AND BUTT.", "fails"), Finding("fails: butt and butt", None, "joint-fails")),
    (Fact("grain", "GRAIN RUNS OUT.", "doubt"), Finding("Grain runs out here.", None, "grain")),
    (Fact("stock", "STOCK: TOO THIN.", "fails"), Finding("24 mm leaves too little.", None, "thin-stock")),
    (Fact("inside-drawn-edge", "LINE SAWN AWAY.", "doubt"), Finding("Little room here.", None, "little-room")),
])
def test_what_facts_say_in_full_is_not_said_again_by_the_finding_at_its_place(fact, finding):
    assert build(sections=(layer(fact, findings=[finding]),)).doubts == (settle_case(fact.words),)
    assert build(sections=(layer(replace(fact, verdict="holds"), findings=[finding]),)).doubts == (
        finding.text[:1].upper() + finding.text[1:],)


def test_findings_that_a_fact_only_counts_are_told_and_the_fact_stays_where_it_was():
    fact = Fact("doubtful-readings", "DOUBTFUL READINGS: 2.", "doubt")
    record = build(sections=(layer(fact, findings=[Finding("Frame 9 is off.", None, "bevel-off")]),))
    assert record.doubts == ("Frame 9 is off.",)
    assert record.sections[0].rows == ("Doubtful readings: 2.",)
    assert build(sections=(layer(fact),)).doubts == ("Doubtful readings: 2.",)


def test_marks_are_told_by_their_verdict_and_not_again_by_the_fairing():
    same = Finding("Upper mark at frame 2 is 5 mm off.", (550.0, 40.0), "mark-off", edge="upper", station="2")
    other = replace(same, station="7", text="Upper mark at frame 7 is off.")
    fair = ToldLayer("", "Fair Plank", (), (same, other))
    plain = build(MARKED).doubts
    assert build(MARKED, sections=(fair,)).doubts == (*plain, other.text)


def test_a_doubt_of_the_board_that_its_layer_tells_too_stands_once():
    thin = Finding("The board is thin.")
    record = build(board=make_board(findings=(thin,)), sections=(layer(findings=[thin]), *SECTIONS[1:]))
    assert record.doubts == ("The board is thin.",)


def test_verdicts_told_to_the_drawing_alone_are_told_here():
    """Of the verdicts beyond the eighth the sheet has no words; the record has those for a table."""
    some = tuple(Fact("pair", "FAILS: %d." % k if k < 8 else "", "fails", brief="PAIR %d FAILS" % k) for k in range(10))
    assert build(sections=(layer(*some),)).doubts[7:] == ("Fails: 7.", "Pair 8 fails", "Pair 9 fails")


# -- the case of sentences ---------------------------------------------------------------------------------------------

@pytest.mark.parametrize("text, names, read", [
    ("STRAKE 4A BUTT 23-24: 2 STRAKES BETWEEN.", ["4a"], "Strake 4a butt 23-24: 2 strakes between."),
    ("BUTT A: 9-10, 12 MM. A BUTT B IN A BAY.", [], "Butt A: 9-10, 12 mm. A butt B in a bay."),
    ("BOARD B7: WHITE OAK, 34 X 200 X 3000 MM", [], "Board B7: white oak, 34 x 200 x 3000 mm"),
    ("12.00 BF BY NHLA (SM 12), 0.0283 M3; WASTE 30 %", [], "12.00 bf by NHLA (SM 12), 0.0283 m3; waste 30 %"),
    ("1 IN PER FOOT. IN THE HULL 1.2 M APART.", [], "1 in per foot. In the hull 1.2 m apart."),
    ("TERN OF NOWHERE, HULL.SVG", ["Tern of Nowhere", "Hull.svg"], "Tern of Nowhere, Hull.svg"),
    ("Read as it is.", [], "Read as it is."), ("already so", [], "Already so"), ("", [], ""),
])
def test_capitals_are_settled(text, names, read):
    assert settle_case(text, names) == read


@pytest.mark.parametrize("source", [
    *(seams.find_rule(name).source for name in ("sixteenth", "eighth")),
    "USDA Wood Handbook FPL-GTR-190 (2010), Table 4-3", "EN 1313-1, from memory, not checked",
    "R. M. Steward, Boatbuilding Manual, planking screws: from memory, not checked"])
def test_sources_keep_their_names(source):
    """As the tables of the trade write them."""
    assert settle_case("SEEN: " + source.upper()) == "Seen: " + source
