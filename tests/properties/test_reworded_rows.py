"""Nothing hangs on a sentence: every one of every layer put in other words gives the same verdicts, the same sheet but
for its lettering, and the same figures in the record. The drawings are invented.
"""
import re
from pathlib import Path

import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, write_path_data
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from mark_drawings import draw_rows, draw_tag_points
from shapes import draw_rectangle, turn

from plankcore.actions import FAIR, STATIONS
from plankcore.check.run import Measured, run_checks
from plankcore.command.running import load_action
from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.layers import state
from plankcore.document.layers.joints import read_joints
from plankcore.document.layers.lines import read_saw_line, read_stations, write_stations
from plankcore.document.layers.marks import find_marks_layer
from plankcore.document.layers.sections import read_board
from plankcore.document.layers.state import gather_state, read_matter, read_sections
from plankcore.document.overlay import read_facts, read_findings
from plankcore.document.write import read_scan_facts
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.model.plank import EdgeSource, Mark, Pattern
from plankcore.plot.sheet import lay_out_matter
from plankcore.record.build import RecordSettings, build_record
from plankcore.stations.strike import StationSettings, strike_stations

EXTENSIONS = Path(__file__).resolve().parents[2] / "extensions"
OLD = ("FAILS: ", "NOTE: ", "PASS: ", "FAILS BOTH: ", "OLD PIECE AHEAD: NO JOINT", "PRACTICE: MARCH IN STEPS",
       "NO JOINT OF ANOTHER STRAKE WAS GIVEN", "CLOSEST THAT PASSES: ", "STOCK 30 MM THICK LEAVES", "")


def act(drawing, action, select=(), **values):
    one = load_action(EXTENSIONS, action)()
    one.read_arguments(["--%s=%s" % pair for pair in values.items()])
    one.apply(drawing.root, list(select), "")


def prepare(folder, table, **values):
    drawing = open_drawing(draw_plank(), selected=["trace"])
    plank, group = fair(drawing, name="Tern of Nowhere", strake="5", thickness_mm=20.0)
    write_stations(drawing, group,
                          *strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=250)),
                          square_to="baseline")
    act(drawing, "section", typed="frame,upper bevel|1,2|5,4", **({"stock": "30 mm"} if table else {}))
    (folder / "side.csv").write_text("side,strake,kind,bay\n" + table)
    act(drawing, "joints", **dict({"joints": "3-4", "fore_end": "hood", "aft_end": "hood",
                                       "joint_file": str(folder / "side.csv") if table else ""}, **values))
    return drawing


def finish(drawing):
    """The other actions of one plank, and its turned copy."""
    act(drawing, "allowance", species="white oak", hanging="15", lives="under water")
    act(drawing, "fastenings", sided="45 mm")
    act(drawing, "stock")
    act(drawing, "turn", symmetry="diagonals, M. Orme, 3 May")


def reword(root, words):
    """Put every sentence in other words: those of facts, of doubts, and of notes and lettering. How many there were."""
    changed = 0
    for element in root.iter():
        for key in [k for k in element.attrib if (k.startswith(names.attribute("fact-"))
                    and k.endswith(("-words", "-brief"))) or k == names.attribute("text")]:
            element.set(key, words[changed % len(words)] + "QUITE OTHER WORDS.")
            changed += 1
    return changed


def judge(root):
    drawing = Drawing(root, [Drawing(root).find_groups()[0].get("id")])
    read = load_action(EXTENSIONS, "check").work.__globals__["READ"]
    return {r.name: r.verdict
            for r in run_checks(gather_state(drawing, drawing.find_group(), read=read, measured=Measured()))}


CASES = [("", {}), ("starboard,6,butt,3-4\nport,6,butt,3-4\n", {}),
         ("starboard,6,butt,6-7\nstarboard,4,butt,6-7\n", {}), ("starboard,6,scarf,5-6\n", {"rule": "light-craft"}),
         ("starboard,9,butt,6-7\n", {"stock": "900 mm"})]


@pytest.fixture(scope="module", params=range(len(CASES)))
def drawn(request, tmp_path_factory):
    drawing = prepare(tmp_path_factory.mktemp("side"), CASES[request.param][0], **CASES[request.param][1])
    return etree.tostring(drawing.root), judge(drawing.root)


@settings(max_examples=6)
@given(words=st.lists(st.sampled_from(OLD), min_size=3, max_size=3))
def test_rows_in_other_words_give_the_same_verdicts(drawn, words):
    text, verdicts = drawn
    root = etree.fromstring(text)
    assert reword(root, words) > 5 and judge(root) == verdicts


def lay(root, number):
    """Of the plank of this number: what its sheet draws, measured from its own outline's first point, and the figures
    of its record.
    """
    drawing = Drawing(root, [Drawing(root).find_groups()[number].get("id")])
    group = drawing.find_group()
    sheet = lay_out_matter(read_matter(drawing, group))
    outline = next(one for one in sheet.lines if one.role in ("saw", "outline"))
    ours = ("outline", "saw", "edge", "station", "joint", "feather", "block", "part", "fastening", "bare", "section",
            "drawn-face", "other-face", "register", "datum", "mark")
    drawn = [(one.role, one.style, one.pen, np.round(one.cubics - outline.cubics[0, 0], 6).tolist())
             for one in sheet.lines if one.role in ours]
    made = build_record(drawing.read_plank(group), stations=read_stations(drawing, group),
                        saw=read_saw_line(drawing, group), board=read_board(drawing, group),
                        joints=read_joints(drawing, group)[0], sections=read_sections(drawing, group),
                        settings=RecordSettings())
    assert len(drawn) > 20
    return drawn, repr((made.tables, made.proofs, made.stations, made.marks, made.saw, made.includes))


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    drawing = prepare(tmp_path_factory.mktemp("side"), CASES[4][0], **CASES[4][1])
    finish(drawing)
    return etree.tostring(drawing.root), judge(drawing.root), [lay(drawing.root, k) for k in (0, 1)]


@settings(max_examples=3)
@given(words=st.lists(st.sampled_from(OLD), min_size=3, max_size=3))
def test_all_layers_in_other_words_give_the_same_verdicts_sheet_and_figures(finished, words):
    """The plank and its turned copy, after every action: what passed, failed and was drawn does not hang on words."""
    text, verdicts, laid = finished
    root = etree.fromstring(text)
    assert reword(root, words) > 100 and judge(root) == verdicts
    assert [lay(root, k) for k in (0, 1)] == laid


def test_a_turn_leaves_words_and_verdicts_and_puts_the_page_right(tmp_path):
    """In all lies that can be asked for: facts of carried layers are the same, and only the lettering of which way the
    bow lies is other; it says what the copy's own names say.
    """
    drawing = prepare(tmp_path, *CASES[1][:1], **dict(CASES[1][1], kind="scarf"))
    act(drawing, "fastenings", sided="45 mm")
    first = drawing.find_groups()[0]
    for side, face_up in (("port", "same"), ("port", "other"), ("starboard", "other")):
        act(drawing, "turn", select=[first.get("id")], side=side, face_up=face_up, symmetry="diagonals, M. Orme, 3 May")
    groups = drawing.find_groups()
    assert len(groups) == 4
    for group in groups:
        forward = [names.get(e, "text") for e in names.find_roles(group, "forward")]
        assert forward == ["FWD TO THE " + names.get(group, "forward").upper()] * 2
        for layer in ("section", "joints", "fastenings"):
            facts = [read_facts(names.find_layer(one, layer), action="") for one in (first, group)]
            assert [f for f in facts[1] if f.key != "judged-side"] == list(facts[0])
        words = [names.get(e, "text") for e in group.iter() if isinstance(e.tag, str) and names.get(e, "text")
                 and names.get(e, "role") != "forward" and names.get(e.getparent(), "layer") != "turn"
                 and names.get(e.getparent().getparent(), "layer") != "turn"]
        assert not [w for w in words if re.search(r"TO THE (LEFT|RIGHT)|FACE UP|SEEN FROM", w.upper())]


def test_a_board_too_short_is_not_charged_to_the_butt_rule(tmp_path):
    """Butt in 3-4 of a plank 1700 mm long, longest board 900 mm, and no neighbour that the rule speaks of."""
    drawing = prepare(tmp_path, "starboard,9,butt,6-7\n", stock="900 mm")
    found = judge(drawing.root)
    assert found["BUTTS BY THE RULE NAMED"] == "pass" and found["PARTS OUT OF THE LONGEST BOARD"] == "fail"
    layer = names.find_layer(Drawing(drawing.root).find_groups()[0], "joints")
    assert [names.get(layer, "fact-%d-verdict" % k) for k in range(1, 30)
            if names.get(layer, "fact-%d-key" % k) == "stock"] == ["fails"]


def test_a_layer_without_facts_is_to_be_made_again(tmp_path):
    drawing = prepare(tmp_path, "starboard,6,butt,6-7\n")
    for element in drawing.root.iter():
        for key in [k for k in element.attrib if k.startswith(names.attribute("fact-"))]:
            del element.attrib[key]
    assert judge(drawing.root)["BUTTS BY THE RULE NAMED"] == "not judged"


def draw_doubtful():
    """A plank from marks at fourteen frames, one of them 8 mm off, of which two numbers are missing; faired, its frames
    struck at the marks, and its turned copy: a Drawing.
    """
    x = np.delete(np.linspace(2400.0, 100.0, 16), [9, 10])
    labels = [str(k) for k in range(1, 17) if k not in (10, 11)]

    def mark(edge, height):
        y = 200.0 + height + 40 * np.sin(x / 1500)
        y[4] += 8.0 * (edge == "upper")
        return EdgeSource(marks=tuple(Mark((float(a), float(b)), edge, one) for a, b, one in zip(x, y, labels)))

    def end(at):
        y = 200.0 + 40 * np.sin(at / 1500) + np.linspace(0, 120.0, 61)
        return EdgeSource((np.stack([np.full(61, at), y], axis=1),))
    pattern = Pattern({"upper": mark("upper", 0.0), "lower": mark("lower", 120.0), "fore": end(2450.0),
                       "aft": end(50.0)}, (), "right", "marks")
    drawing = open_drawing("")
    named = {"name": "Tern of Nowhere", "strake": "5", "side": "starboard", "face": "inboard", "thickness_mm": 20.0}
    plank = fair_plank(pattern, settings=FairSettings(), **named)
    group, _ = drawing.write_fair(plank, group=None, sources=[], settings=FairSettings())
    stations, told = strike_stations(plank, settings=StationSettings("marks"))
    write_stations(drawing, group, stations, told, square_to="baseline")
    act(drawing, "turn", symmetry="diagonals, M. Orme, 3 May")
    return drawing


def list_found(drawing):
    """Of each plank, what stands on its layers of fairing and stations, but for the words."""
    found = []
    for group in drawing.find_groups():
        plank = drawing.read_plank(group)
        for one in (FAIR, STATIONS):
            read = read_findings(names.find_layer(group, one.layer), plank, drawing.page, action=one.title)
            found.append([(f.key, f.verdict, f.number, f.unit, f.limit, f.station, f.edge,
                           tuple(np.round(f.where, 4)) if f.where else None) for f in read])
    return found


@pytest.mark.parametrize("words", [["MARK: PASS. ", "", "FRAME 3 IS WELL. "], OLD[:3]])
def test_what_fairing_and_stations_found_does_not_hang_on_words(words):
    """Nor on the rings: those are for people, and may be deleted."""
    drawing = draw_doubtful()
    before, verdicts = list_found(drawing), judge(drawing.root)
    fair_keys, station_keys = ({row[0] for row in found} for found in before[:2])
    assert {"mark-off"} <= fair_keys and {"numbers-left-free"} <= station_keys
    assert verdicts["DOUBTS LEFT BY OTHER ACTIONS"] == "doubt"
    # the copy has them all, at their places on itself
    assert [[row[:-1] for row in found] for found in before[:2]] == [[row[:-1] for row in found]
                                                                     for found in before[2:]]
    root = etree.fromstring(etree.tostring(drawing.root))
    assert reword(root, words) > 20
    for ring in names.find_roles(root, "ring"):
        ring.getparent().remove(ring)
    assert judge(root) == verdicts
    again = Drawing(root, [])
    assert list_found(again) == before


def test_a_check_that_went_by_words_would_be_seen(monkeypatch):
    root = draw_doubtful().root
    verdicts, by_numbers = judge(root), state.read_findings

    def go_by_words(layer, plank, page, *, action):
        return tuple(f for f in by_numbers(layer, plank, page, action=action) if " off " in f.text or "frame" in f.text)
    monkeypatch.setattr(state, "read_findings", go_by_words)
    assert judge(root) == verdicts and reword(root, ["ALL IS WELL. "]) > 20
    assert judge(root) != verdicts


def draw_tagged():
    """Read Marks on eight tags of each edge and a speck, with numbers beside them: a Drawing."""
    upper, lower = draw_rows(8)
    tag = draw_tag_points()
    runs = [tag + p for p in upper] + [turn(tag, 180) + p for p in lower]
    runs.append(draw_rectangle(1.5, 1.5, left=900, top=250))
    numbers = "".join('<text x="%g" y="%g">%d</text>' % (p[0] + 4, p[1] + 95, k + 7)
                      for k, p in enumerate(upper[::-1]))
    drawing = open_drawing('<path id="tags" d="%s"/>%s' % (" ".join(write_path_data(one) for one in runs), numbers))
    act(drawing, "marks", select=["tags"])
    return drawing


def list_marks(root):
    """What later actions read of the layer of marks."""
    layer = find_marks_layer(root)
    drawing = Drawing(root, [layer.get("id")])
    return [(t.edge, t.station, t.error_mm, [c.round(6).tolist() for c, _ in t.runs])
            for t in drawing.find_source()[0]]


def list_mark_facts(root):
    """What the layer of marks tells, but for the words."""
    return [(f.key, f.verdict, f.number, f.unit, f.limit, f.place, f.about)
            for f in read_facts(find_marks_layer(root), action="", lettered=True)]


def test_marks_in_other_words_are_the_same_marks():
    root = draw_tagged().root
    before = list_marks(root)
    notes = [names.get(e, "text") for e in names.find_roles(root, "note")]
    assert len(before) == 16 and any("a speck under" in one for one in notes)
    told = list_mark_facts(root)
    assert ("marks-read", "", 16.0, "marks", None, None, "") in told
    assert [row[2] for row in told if row[0] == "marks-on-edge"] == [8.0, 8.0]
    assert ("not-read", "", 1.0, "shapes", None, None, "speck") in told
    assert reword(root, OLD[:3]) > 2 and list_marks(root) == before and list_mark_facts(root) == told


def draw_trued():
    """A scan of a plank trued by six dots, one of them 3 mm off: a Drawing."""
    dots = "".join('<path id="dot-%d" inkscape:label="%g, %g" d="%s"/>' % (
        k, x, y, write_path_data(draw_rectangle(2, 2, left=100 + x / 2 + 1.5 * (k == 4), top=100 + y / 2)))
        for k, (x, y) in enumerate([(0, 0), (1600, 0), (1600, 400), (0, 400), (800, 200), (400, 300)]))
    drawing = open_drawing('<g id="scan"><path id="pen" d="M 150 150 L 800 160"/>%s</g>' % dots)
    act(drawing, "true_up", select=["scan"], most_far="50 mm", honest_error="2 mm")
    return drawing


FAR = {"most_far": "90 mm"}


def draw_joined():
    """Three pieces of one pattern, trued, of which the middle one has a shared point 4 mm off, joined: a Drawing."""
    spots = [(400, 30), (480, 100), (400, 100), (460, 40), (900, 30), (980, 100), (900, 100), (960, 40)]
    body = ""
    for key, first, last, slip in (("bow", 0, 4, 0.0), ("middle", 0, 8, 4.0), ("stern", 4, 8, 0.0)):
        body += '<g id="%s" inkscape:label="%s"><path id="pen-%s" d="M %g 20 h 400"/>%s</g>' % (
            key, key.title(), key, spots[first][0], "".join(
                '<path id="%s-%d" inkscape:label="%s" d="%s"/>' % (key, k, "ABCDEFGH"[k], write_path_data(
                    draw_rectangle(2, 2, left=spots[k][0] + (slip if k == 3 else 0.0), top=spots[k][1])))
                for k in range(first, last)))
    drawing = open_drawing(body)
    act(drawing, "join", select=["bow", "middle", "stern"], **FAR)
    return drawing


def list_told(root):
    """What the layers of scans tell, but for the words."""
    return [(f.key, f.verdict, f.number, f.unit, f.limit, f.place, f.about) for f in read_scan_facts(Drawing(root, []))]


def list_figures(made):
    """Of a record, all but its sentences."""
    return repr((made.tables, made.proofs, made.stations, made.facts, made.includes, made.doubts))


def get_scale(made):
    """What a record says under True scale."""
    return next(one.rows for one in made.sections if one.heading == "True scale")


@pytest.mark.parametrize("draw, first, verdict", [(draw_trued, "true-up", "holds"), (draw_joined, "join", "doubt")])
@pytest.mark.parametrize("words", [["NOT PROVED. ", ""], OLD[:3]])
def test_reports_of_scans_in_other_words_tell_the_same(draw, first, verdict, words):
    """Facts, the scans' own figures, the record's: all but the record's lines on scale, which are the facts' words.
    What is lettered below the work may be moved or deleted: nobody reads it.
    """
    root = draw().root
    scans = [e for e in root.iter() if isinstance(e.tag, str)
             and (names.get(e, "proved") or names.get(e, "join-freedom"))]
    proof, told = [names.list_values(e) for e in scans], list_told(root)
    assert told[0][:2] == (first, verdict) and {"rms-residual", "rms-overlap"} & {row[0] for row in told}
    plank = fair(open_drawing(draw_plank(), selected=["trace"]), name="Tern of Nowhere", strake="5")[0]

    def make():
        return build_record(plank, scans=read_scan_facts(Drawing(root, [])), settings=RecordSettings())
    before = make()
    for note in names.find_roles(root, "note"):
        note.getparent().remove(note)
    assert get_scale(make()) == get_scale(before)
    assert reword(root, words) > 0 and list_told(root) == told and [names.list_values(e) for e in scans] == proof
    after = make()
    assert list_figures(after) == list_figures(before) and get_scale(after) != get_scale(before)
    # taken up again from what the layers and the work carry, they come out as they were
    again = {"true-up": ("true_up", {"most_far": "50 mm", "honest_error": "2 mm"}), "join": ("join", FAR)}[first]
    act(Drawing(root, []), again[0], select=[e.get("id") for e in scans], **again[1])
    assert list_told(root) == told


def test_a_scan_layer_made_before_facts_is_told_by_what_it_has_lettered():
    root = draw_trued().root
    before = [f.words for f in read_scan_facts(Drawing(root, [])) if f.words]
    for element in root.iter():
        for key in [k for k in element.attrib if k.startswith(names.attribute("fact"))]:
            del element.attrib[key]
    lettered = [f.words for f in read_scan_facts(Drawing(root, []))]
    assert before and lettered[0] == before[0] and set(before) <= set(lettered)
