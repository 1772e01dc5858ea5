"""The record as a page and as a table, and the action as a process. Refusals first. Drawings are small and invented."""
import csv
import io
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from drawings import HEAD, MM_PAGE, draw_plank
from host.scripts import run_script
from lxml import html
from shapes import make_bowed_plank
from unit.record.test_build import MARKED, PLANK, STATIONS, build, make_board, make_joint, tell

from plankcore.document.files.record import spell_html
from plankcore.document.files.record_table import spell_csv
from plankcore.model.drawing import Fact
from plankcore.model.record import ToldLayer
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole actions on whole drawings

ACTIONS = Path(__file__).resolve().parents[4] / "extensions"
WICKED = '<script>alert("1")</script> & "quoted" \' \u2665 <b>'


def read(record):
    return html.fromstring(spell_html(record).decode("utf-8"))


def run(folder, script, drawing, output, *arguments, saved=""):
    done = run_script(script, drawing, output, more=arguments, saved_as=str(saved))
    assert not done.out
    return done.code, done.said


@pytest.fixture(scope="module")
def drawing(tmp_path_factory):
    """A drawing with a fair plank and frames."""
    folder = tmp_path_factory.mktemp("record")
    (folder / "in.svg").write_text(HEAD % (MM_PAGE, draw_plank()), encoding="utf-8")
    assert run(folder, "plank_fair", folder / "in.svg", folder / "fair.svg", "--boat=Tern of Nowhere", "--strake=7",
               "--thickness=22 mm")[0] == 0
    assert run(folder, "plank_stations", folder / "fair.svg", folder / "stations.svg")[0] == 0
    return folder / "stations.svg"


@pytest.mark.parametrize("arguments, said", [
    (["--moisture=wet"], "Moisture"), (["--folder=nowhere at all"], "no folder"),
    (["--file_name=a/b"], "plain file name"), (["--remarks=Approved"], "not an approval"),
    (["--file_name=approved"], "not an approval"),
    (["--figures=cubits"], "cubits"), (["--fraction=64"], "64"), (["--colour=red"], "colour"),
])
def test_bad_settings_get_a_message_an_exit_code_and_no_file(drawing, tmp_path, arguments, said):
    code, message = run(tmp_path, "plank_record", drawing, tmp_path / "out.svg", *arguments,
                        saved=tmp_path / "boat.svg")
    assert code == 251 and said in message and "Remedy" in message and list(tmp_path.iterdir()) == []


def test_a_drawing_without_a_plank_or_never_saved_is_refused(drawing, tmp_path):
    (tmp_path / "empty.svg").write_text(HEAD % (MM_PAGE, ""), encoding="utf-8")
    code, message = run(tmp_path, "plank_record", tmp_path / "empty.svg", tmp_path / "out.svg",
                        saved=tmp_path / "boat.svg")
    assert code == 251 and "no fair plank" in message
    code, message = run(tmp_path, "plank_record", drawing, tmp_path / "out.svg")
    assert code == 251 and "has not been saved" in message and "record" in message


def test_what_was_made_before_the_last_fairing_is_refused(drawing, tmp_path):
    """Faired again, the plank's frames are older than its edges."""
    text = drawing.read_text(encoding="utf-8")
    plank = re.search(r'id="(plank-\d+)"', text).group(1)
    assert run(tmp_path, "plank_fair", drawing, tmp_path / "again.svg", "--id=" + plank, "--strake=7")[0] == 0
    code, message = run(tmp_path, "plank_record", tmp_path / "again.svg", tmp_path / "out.svg",
                        saved=tmp_path / "boat.svg")
    assert code == 251 and "faired again" in message and not list(tmp_path.glob("*.html"))


def test_neither_file_is_left_where_one_cannot_be_written(drawing, tmp_path):
    """A folder stands where the table is to go: the page is not left there alone."""
    (tmp_path / "r.csv").mkdir()
    code, message = run(tmp_path, "plank_record", drawing, tmp_path / "out.svg", "--file_name=r",
                        saved=tmp_path / "boat.svg")
    assert code == 251 and "Folder" in message and [p.name for p in tmp_path.iterdir() if p.is_file()] == []


@pytest.mark.parametrize("name", ["r", "r.html", "r.csv", "r.HTML"])
def test_suffixes_are_not_doubled(drawing, tmp_path, name):
    assert run(tmp_path, "plank_record", drawing, tmp_path / "out.svg", "--file_name=" + name, "--figures=mm",
               saved=tmp_path / "boat.svg")[0] == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["r.csv", "r.html"]


def test_a_name_that_is_the_drawings_is_refused(drawing, tmp_path):
    code, message = run(tmp_path, "plank_record", drawing, tmp_path / "out.svg", "--file_name=boat",
                        saved=tmp_path / "boat.svg")
    assert code == 251 and "place of the drawing" in message


def test_both_files_are_written_and_the_drawing_is_not(drawing, tmp_path):
    code, said = run(tmp_path, "plank_record", drawing, tmp_path / "out.svg", "--measured_by=M. Thole",
                     "--moisture=14 %", "--day=3 May", "--fraction=8", saved=tmp_path / "boat.svg")
    names = ["tern-of-nowhere-strake-7-starboard-record.%s" % s for s in ("csv", "html")]
    assert code == 0 and sorted(p.name for p in tmp_path.iterdir()) == names and all(n in said for n in names)
    text = html.fromstring((tmp_path / names[1]).read_bytes().decode("utf-8")).text_content()
    for word in ("M. Thole", "14 %", "3 May", "boat.svg, fairing 1", names[1], "nearest 1/8 in",
                 "Hollow and Bevels has not been run", "not an approval", "22.0 mm = 0-0-7"):
        assert word in text
    assert "approved" not in text.lower()


# -- the page ----------------------------------------------------------------------------------------------------------

class Strict(HTMLParser):
    """Whether tags close in the order in which they open."""

    def __init__(self):
        super().__init__()
        self.open, self.tags, self.wrong = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def full_record(**values):
    sections = (tell("Scarfs and butts", "Scarfs and Butts", "BUTT RULE: SUCH AND SUCH"),
                ToldLayer("Stock", "Choose Stock"))
    return build(MARKED, board=make_board(MARKED), joints=(make_joint("1", "scarf", 300.0, 264.0),),
                 sections=sections, **values)


def test_the_page_is_whole_and_holds_nothing_but_itself():
    text = spell_html(full_record()).decode("utf-8")
    assert text.startswith("<!DOCTYPE html>") and '<meta charset="utf-8"' in text
    strict = Strict()
    strict.feed(text)
    assert strict.wrong == [] and strict.open == []
    assert not set(strict.tags) & {"script", "link", "iframe", "object", "embed", "img", "form", "input", "a",
                                   "video", "audio", "base"}
    assert not re.search(r"https?:|//|url\(|@import|javascript|\son\w+=|expression", text)


@pytest.mark.parametrize("values",
                         [{"remarks": WICKED}, {"measured_by": WICKED},
                          {"plank": PLANK.__class__(**{**PLANK.__dict__, "name": WICKED})},
                          {"sections": (tell("Stock", "x", WICKED),)},
                                    {"stations": [STATIONS[0].__class__(WICKED, s.line, s.width_mm, s.distance_mm)
                                                   for s in STATIONS]}])
def test_what_people_type_is_text_and_nothing_else(values):
    record = build(**values)
    text = spell_html(record).decode("utf-8")
    assert "<script" not in text and "<b>" not in text
    assert WICKED in html.fromstring(text).text_content()


def test_everything_asked_of_the_page_is_on_it():
    page = read(full_record(drawing_name="boat.svg", file_name="r.html"))
    text = page.text_content()
    heads = [h.text for h in page.iter("h2")]
    assert heads == ["Offsets, mm", "Proof lengths", "What the figures are", "At the frames", "The marks as measured",
                     "Offsets, feet-inches-eighths", "To strike the plank", "How the figures are read", "In doubt",
                     "Cautions", "Scarfs and butts", "Fairing", "True scale", "Not worked out", "What was found",
                     "Old against new", "Hung against drawn", "Photographs", "Signatures"]
    first = page.xpath("//div[starts-with(@class, 'first')]")[0]
    assert [h.text for h in first.iter("h2")] == heads[:3] and len(list(first.iter("svg"))) == 1
    for word in ("Tern of Nowhere, strake 7, starboard", "Butt rule: such and such", "12 to 1",
                 "inboard face (inside of the planking)", "FWD", "UP", "Scale 1:10", "surveyor",
                 "Ringed: doubtful marks"):
        assert word in text
    assert "approved" not in text.lower()
    cells = [[c.text_content() for c in row] for row in page.xpath("//table[@id='stations']/tbody/tr")]
    assert cells[1] == ["2", "90.0\u00a0mm\n0-3-4+", "92.0\u00a0mm\n0-3-5", "+3.0", "(-2.0)", "1.3 inside", "21.5",
                        "+5.0, doubtful", "-5.0, left out", "24.0"]


def test_the_yards_own_figures_stand_on_page_one():
    for figures, first, second in (("both", "mm", "inches"), ("inches first", "inches", "mm")):
        page = read(full_record(figures=figures))
        inside = page.xpath("//div[starts-with(@class, 'first')]//table/@id")
        assert "offsets-" + first in inside and "offsets-" + second not in inside
        assert page.xpath("//table[@id='offsets-%s']" % second)
        assert ("1-3-4 is 1 foot" in page.xpath("//div[starts-with(@class, 'first')]")[0].text_content()) == (
            first == "inches")


def test_blanks_are_empty_but_for_what_is_known_and_are_no_approval():
    size = ToldLayer("Fastenings", "Fastenings", (Fact("size", "SCREWS.", number=5.5, unit="mm", about="screw"),
                                                  Fact("metal", "BRONZE.", about="silicon bronze")))
    for sections, known in (((), ""), ((size,), "screw, 5.5 mm")):
        page = read(build(MARKED, sections=sections, measured_by="M. Thole", moisture=14.0))
        text = {r[0].text_content(): [c.text_content() for c in r[1:]] for r in page.xpath(
            "//table[starts-with(@class, 'blanks')]/tbody/tr")}
        assert text["Fastening, kind and size"] == ["", known, ""]
        assert text["Metal of the fastenings"] == ["", "silicon bronze" if known else "", ""]
        assert text["Thickness"][1] == "22.0 mm = 0-0-7, finished"
        assert text["Measured by"] == ["M. Thole", "", ""] and text["Moisture when hung"] == ["", "14 %", ""]
        for name in ("Extent of the repair set by", "What had failed, and why", "Species", "Heart side, in or out",
                     "Cut (flat or quarter sawn)", "Bedding, seam and caulking", "Before", "Seen by the surveyor"):
            assert set(text[name]) == {""}
        assert text["Diagonal, upper fore to lower aft"][1:] == ["", ""]
        assert "Filled in or not, this is not an approval" in page.text_content()


def test_what_a_sheet_says_of_its_paper_and_of_sawing_stands_in_the_record_too():
    text = read(full_record()).text_content()
    for words in ("plain paper may move 1.0 to 4.0 mm", "film and vinyl stretch", "measure its bars, along and across",
                  "old paint may hold lead", "guards on, dust drawn off", "Check hand and face against the boat",
                  "not mirrored"):
        assert words in text


def test_columns_nobody_has_filled_are_told_and_not_printed():
    page = read(build())
    assert [h.text for h in page.xpath("//table[@id='stations']/thead/tr/th")] == [
        "Frame", "Inside width", "Outside width", "Upper mark, mm off", "Lower mark, mm off"]
    told = "Not worked out: outside width, bevel upper, deg, bevel lower, deg, hollow, mm, thickness, mm"
    assert told in page.text_content()


def test_a_point_in_brackets_is_in_brackets_throughout():
    plank = make_bowed_plank(length=2600.0)
    page = read(build(plank, strike_stations(plank, settings=StationSettings(first_mm=8, spacing_mm=230))[0],
                      figures="inches"))
    row, = [r for r in page.xpath("//table[@id='offsets-inches']/tbody/tr") if r[0].text == "1"]
    assert all(re.match(r"^\(.+\)$", c.text) for c in row[1:])


def read_sizes(css, pattern):
    return [float(v) for v in re.findall(pattern, css)]


def test_the_page_fits_a4_and_letter():
    """A4 is 210 x 297 mm (ISO 216), letter 8 1/2 x 11 in, 215.9 x 279.4 mm (ANSI/ASME Y14.1). Nothing is given a width
    or height that either cannot hold between the margins, nothing is cut off, and no paper is named, so that the
    printer's own is taken."""
    css = read(full_record()).xpath("//style")[0].text
    page = re.search(r"@page \{([^}]*)\}", css).group(1)
    up, side = re.search(r"margin: (\d+)mm (\d+)mm", page).groups()
    assert "size" not in page
    wide, high = min(210, 215.9) - 2 * float(side), min(297, 279.4) - 2 * float(up)
    assert max(read_sizes(css, r"(?<![-\w])width: ([\d.]+)mm")) <= min(wide, 190) and max(
        read_sizes(css, r"max-width: ([\d.]+)mm")) <= 190
    assert not re.search(r"overflow: |position: |(?<!-)height: \d{2,}mm|float:|vw\b|vh\b", css)
    svg, = read(full_record()).iter("svg")
    assert float(svg.get("width")[:-2]) <= wide and float(svg.get("height")[:-2]) < high / 2
    assert "table-header-group" in css and "break-inside: avoid" in css and "max-width: 100%" in css


def test_cells_that_may_not_be_broken_are_only_figures():
    """The one place where a line cannot break is a figure of the offsets, at most 'forward 99-11-7+-', 4 columns of
    which fit easily.
    """
    css = read(full_record()).xpath("//style")[0].text
    rules = re.findall(r"([^{}]+)\{([^{}]*nowrap[^{}]*)\}", css)
    assert [r[0].strip() for r in rules] == ["td.figure"] and ".frames td { white-space: pre-line; }" in css
    page = read(full_record())
    for table in page.xpath("//table[not(contains(@class, 'frames'))]"):
        for row in table.iter("tr"):
            assert sum(len(c.text_content()) for c in row if c.get("class") == "figure" and c.tag == "td") < 80


def test_a_long_name_of_a_file_breaks_rather_than_widen_the_page():
    css = read(build(file_name="x" * 300)).xpath("//style")[0].text
    assert re.search(r"\.facts td, \.label, h1, p, li \{ overflow-wrap: anywhere; \}", css)


# -- the table ---------------------------------------------------------------------------------------------------------

def read_rows(record):
    return list(csv.DictReader(io.StringIO(spell_csv(record).decode("utf-8"))))


def test_the_table_has_every_row_of_the_offsets_marks_and_widths():
    record = full_record()
    rows = read_rows(record)
    assert all(None not in r and None not in r.values() for r in rows)
    count = {p: sum(r["part"] == p for r in rows) for p in {r["part"] for r in rows}}
    assert count["station"] == 2 * len(STATIONS) and count["corner"] == 4 and count["widths at the frame"] == len(
        STATIONS) and count["proof"] == len(record.proofs)
    assert sum(v for p, v in count.items() if p.startswith("mark")) == 6 and count["fore end"] == count["aft end"] == 2
    frame = next(r for r in rows if r["part"] == "widths at the frame")
    assert [frame[k] for k in ("along_mm", "inside_width_mm", "outside_width_mm", "upper_bevel_deg",
                               "lower_bevel_deg", "hollow_mm", "thickness_mm")] == [
        "100.000", "98.000", "100.000", "3.000", "-2.000", "1.300", "21.500"]
    first = next(r for r in rows if r["part"] == "mark on the upper edge")
    assert [first[k] for k in ("point", "along_mm", "upper_mm", "off_mm", "verdict")] == ["1", "100.000", "49.400",
                                                                                          "0.400", "used"]


def test_frame_and_edge_have_columns_of_their_own_in_a_fixed_order():
    """As a frame is labelled, without the words that the point carries; a row with figures of both long edges says so.
    """
    text = spell_csv(full_record()).decode("utf-8")
    assert text.splitlines()[0].startswith("part,frame,edge,point,figures,along,")
    assert text.splitlines()[0] == spell_csv(build()).decode("utf-8").splitlines()[0]
    rows, labels = read_rows(full_record()), [s.label for s in STATIONS]
    for part in ("station", "widths at the frame"):
        assert [r["frame"] for r in rows if r["part"] == part and r["figures"] in ("", "mm")] == labels
        assert {r["edge"] for r in rows if r["part"] == part} == {"both"}
    assert [(r["frame"], r["edge"]) for r in rows if r["part"].startswith("mark")] == [
        ("1", "upper"), ("2", "upper"), ("1", "lower"), ("2", "lower"), ("", "fore"), ("", "aft")]
    assert {r["part"]: r["edge"] for r in rows if r["part"].endswith(" end")} == {"fore end": "fore", "aft end": "aft"}
    assert {r["point"]: r["edge"] for r in rows if r["part"] == "proof" and r["edge"]} == {
        "Fore end, corner to corner": "fore", "Aft end, corner to corner": "aft",
        "Upper edge, tape along the batten": "upper", "Lower edge, tape along the batten": "lower"}
    plank = make_bowed_plank(length=1500.0, width=140.0)
    slanted = read_rows(build(plank, strike_stations(plank, settings=StationSettings(square_to="run"))[0]))
    apart = [r for r in slanted if r["part"] == "station" and r["point"] != r["frame"]]
    assert apart and all(r["point"] == "%s, %s edge" % (r["frame"], r["edge"]) for r in apart)


def test_the_mm_of_the_table_are_those_of_the_printed_figures():
    for row in read_rows(full_record(figures="inches", denominator=32)):
        if row["figures"] == "inches" and row["upper_mm"]:
            assert float(row["upper_mm"]) / 25.4 * 32 == pytest.approx(round(float(row["upper_mm"]) / 25.4 * 32),
                                                                       abs=1e-4)


@pytest.mark.parametrize("label, written", [("=1+1", "'=1+1"), ("@x", "'@x"), ("+x", "'+x"), ("-1", "-1"),
                                            ("+2.5", "+2.5"), ("7, upper", "7, upper"), ('a "b"', 'a "b"')])
def test_a_label_that_a_spreadsheet_would_reckon_with_is_text(label, written):
    rows = read_rows(
        build(stations=[STATIONS[0].__class__(label, s.line, s.width_mm, s.distance_mm) for s in STATIONS]))
    assert {r["point"] for r in rows if r["part"] == "station"} == {written}
