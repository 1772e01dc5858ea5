"""Every figure of record, table and sheet is measured again on the drawing, by a reader that shares no code with what
wrote it, and is its rounding.

The planks are invented: runs of sny and taper of invented_planks, with every option that changes a figure. Recipes run
the real actions, in this process.
"""
import json
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from drawings import HEAD, write_path_data
from host import reader
from invented_planks import invent_plank
from surveyor import list_csv_claims, list_differences, list_record_claims, list_sheet_claims, loft
from surveyor_details import (
    list_bar_claims,
    list_fairing_claims,
    list_fastening_claims,
    list_joint_claims,
    list_joint_record_claims,
)

from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe

ACTIONS = Path(__file__).resolve().parents[2] / "extensions"
ROUND = "frame,radius,upper bevel,lower bevel\n2,900,2.5,4\n4,700,3.5,5.5\n6,800,4,3\n"
RADIAL = "frame,radius,lower bevel\n2,700,4\n5,520,5\n"
HOLLOW = "frame,hollow,upper bevel,bend\n2,-2,3,12 m\n4,-3.5,2,9 m\n6,-2.5,-1,11 m\n"
SQUARE = "frame,upper bevel\n2,4\n5,-3\n"


@dataclass(frozen=True)
class Case:
    """One plank: seed of its shape, how its ends are raked and bowed, mm, and what differs from the defaults in each
    action.
    """

    seed: int
    rake: tuple = (0.0, 0.0)
    bow: float = 0.0
    marks: bool = False
    fair: dict = field(default_factory=dict)
    stations: dict = field(default_factory=dict)
    section: dict = None
    allowance: dict = None
    record: dict = field(default_factory=dict)
    turn: dict = None
    more: tuple = ()


CASES = {
    "plain, no saw line": Case(1, stations={"spacing": "410"}),
    "saw line of the drawn face": Case(2, (30.0, -12.0), fair={"side": "port", "forward": "left"},
                                       allowance={"upper": "3", "lower": "1/8 in"}, record={"figures": "mm"}),
    "raked and bowed ends, counted from aft": Case(3, (45.0, 20.0), 9.0, fair={"face": "outboard"}, stations={
        "count": "down", "from_end": "aft", "first_label": "9", "square_to": "run"},
                                                   allowance={"fore": "2 in", "aft": "18.3"}, record={"fraction": "8"}),
    "room for swelling": Case(4, (-25.0, 8.0), allowance={"species": "white oak", "room": "true", "afloat": "25"},
                              record={"fraction": "32"}),
    "bevels and round": Case(5, (20.0, 15.0), 6.0, section={"table": ROUND, "widths": "chord"}, allowance={}),
    "radial on a girth, inches": Case(6, (35.0, 0.0), fair={"side": "port", "face": "outboard"},
                                      section={"table": RADIAL, "seam_rule": "sixteenth"},
                                      allowance={"upper": "2", "lower": "4.5"},
                                      record={"figures": "inches"}),
    "hollow and bend, stations by the run": Case(7, (-30.0, 25.0), fair={"forward": "left"}, stations={
        "square_to": "run"}, section={"table": HOLLOW, "pattern": "6 mm"}, allowance={}, record={"figures": "mm"}),
    "square bevels, end bevels, swelling": Case(8, (18.0, -18.0),
                                                section={"table": SQUARE, "fore_bevel": "8", "aft_bevel": "-5"},
                                                allowance={"species": "white oak", "room": "true",
                                                           "lives": "under water"}),
    "radial and room for swelling, turned": Case(9, (22.0, 10.0), section={"table": RADIAL, "turn": "14"}, allowance={
        "species": "white oak", "room": "true", "lives": "under water", "upper": "1", "lower": "1"},
                                                 turn={"symmetry": "diagonals, M. Orme, 3 May"}),
    "marks, one doubtful, other face of a copy": Case(10, (28.0, 12.0), marks=True, stations={"source": "marks"},
                                                      allowance={}, turn={"face_up": "other", "side": "same"}),
    "joints and fastenings": Case(11, (24.0, 6.0),
                                  section={"table": ROUND, "seam_rule": "sixteenth", "seam_share": "upper"},
                                  allowance={"upper": "5", "lower": "0"},
                                  more=(("joints", {"joints": "scarf 4-5", "slope": "8", "lay_out": "false"}),
                                        ("fastenings", {}))),
}


def draw(case):
    """The plank's trace, or its marks at the frames, and the page; the bow on the side asked for."""
    length, upper, lower = invent_plank(case.seed)
    length = min(length, 3000.0)
    right = case.fair.get("forward", "right") == "right"
    low, high = min(upper(np.linspace(0, length, 99)).min(), 0), max(lower(np.linspace(0, length, 99)).max(), 0)

    def place(x, y):
        return np.column_stack([length + 80 - x if right else 80 + x, y - low + 60])
    x = np.arange(0.0, length + 1e-9, 4.0)
    rake = [case.rake[0] * (1 - x / length), case.rake[1] * x / length]
    edges = [place(x, upper(x)), place(x + rake[0] - rake[1], lower(x))]
    ends = []
    for k, way in ((0, -1.0), (-1, 1.0)):
        a, b = (e[k] for e in edges)
        t = np.linspace(0, 1, 40)[:, None]
        out = (1.0 if right else -1.0) * -way
        ends.append(a + t * (b - a) + 4 * case.bow * t * (1 - t) * np.array([[out, 0.0]]))
    page = 'width="%gmm" height="%gmm" viewBox="0 0 %g %g"' % (2 * (length + 160, high - low + 160))
    if not case.marks:
        loop = np.vstack([edges[0], ends[1][1:-1], edges[1][::-1], ends[0][::-1][1:-1]])
        return HEAD % (page, '<path id="trace" style="fill:#000" d="%s"/>' % write_path_data(loop, digits=5)), ["trace"]
    body = []
    noise = np.random.default_rng(case.seed)
    for name, edge in zip(("upper", "lower"), edges):
        for k, at in enumerate(np.linspace(0, len(x) - 1, 11).astype(int)):
            px, py = edge[at] + [0, noise.normal(0, 0.3) if 0 < k < 10 else 0.0]
            py += 6.0 if (name, k) == ("lower", 5) else 0.0
            body.append('<circle id="m_%s_%d" cx="%.5f" cy="%.5f" r="3" inkscape:label="%s"/>'
                        % (name, k, px, py, name if k in (0, 10) else "%s %d" % (name, k)))
    body += ['<path id="end_%s" inkscape:label="%s" style="fill:none;stroke:#000" d="%s"/>'
             % (n, n, write_path_data(e, closed=False, digits=5)) for n, e in zip(("fore", "aft"), ends)]
    return HEAD % (page, '<g id="all">%s</g>' % "".join(body)), ["all"]


def write_step(action, settings, select=()):
    lines = ["[[plank.step]]",
             'action = "%s"' % action] + (["select = %s" % json.dumps(list(select))] if select else [])
    return "\n".join(lines + ["%s = %s" % (k, json.dumps(v)) for k, v in settings.items()]) + "\n"


def run(case, folder):
    """The drawing, record, table and sheet of one plank: a Reading of its own group, bytes, bytes, a Reading."""
    body, select = draw(case)
    (folder / "in.svg").write_text(body)
    names = {"boat": "Tern of Nowhere", "strake": "7", "side": "starboard", "face": "inboard", "forward": "right",
             "thickness": "22 mm", **case.fair}
    steps = [write_step("fair", names, select),
             write_step("stations", {"first": "170", "spacing": "390", **case.stations})]
    if case.section is not None:
        (folder / "frames.csv").write_text(case.section["table"])
        steps.append(write_step("section", {"doubtful": "keep", **case.section, "table": "frames.csv"}))
    steps += [write_step(action, settings) for action, settings in case.more]
    if case.allowance is not None:
        steps.append(write_step("allowance", {"upper": "3", "lower": "3", "fore": "25", "aft": "25", **case.allowance}))
    copy = []
    if case.turn is not None:
        steps.append(write_step("turn", case.turn))
        copy = ["plank-2"]
    steps += [write_step("plot", {"file_name": "sheet", "pdf": "false"}, copy),
              write_step("record", {"file_name": "record", **case.record}, copy)]
    recipe = folder / "recipe.toml"
    recipe.write_text('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n' + "".join(steps))
    said = []
    _written, failed = run_recipe(read_recipe(recipe), actions=ACTIONS, progress=said.append)
    assert not failed, said
    drawing = reader.read(folder / "out.svg")
    group = drawing.find("plank")[-1 if copy else 0]
    inside = drawing.below(group)
    return replace(inside, items=(group, *inside.items)), (folder / "record.html").read_bytes(), (
        folder / "record.csv").read_bytes(), reader.read(folder / "sheet.svg")


def count_pieces(drawing):
    """Pieces of upper, aft, lower and fore edge of the net line."""
    face = drawing.find("drawn-face")
    if face:
        return [int(v) for v in face[0].values["pieces"].split()]
    return [len(drawing.one("edge", edge=e).runs[0].pieces) for e in ("upper", "aft", "lower", "fore")]


def survey(case, found):
    """Claims of record and table, and of the sheet."""
    drawing, page, table, sheet = found
    drawn, plotted = loft(drawing), replace(loft(sheet, counts=count_pieces(drawing)),
                                            face=drawing.find("plank")[0].values["face"])
    denominator = int(case.record.get("fraction", "16"))
    return [*list_record_claims(page, drawn, denominator=denominator),
            *list_csv_claims(table, drawn, denominator=denominator)], list(list_sheet_claims(sheet, plotted, drawn))


@pytest.mark.parametrize("name", CASES)
def test_every_figure_is_what_the_drawing_gives_to_its_last_decimal(name, tmp_path):
    case = CASES[name]
    told, lettered = survey(case, run(case, tmp_path))
    assert list_differences([*told, *lettered]) == []
    assert len(told) > 60 and len(lettered) > 10


def test_a_saw_line_drawn_three_tenths_off_in_one_place_is_seen(tmp_path):
    """A planted fault: one stretch of the drawn line, about one frame, 0.3 mm farther out than when record and sheet
    were written.
    """
    case = CASES["bevels and round"]
    drawing, page, table, _sheet = run(case, tmp_path)
    drawn = loft(drawing)
    assert list_differences(list_record_claims(page, drawn, denominator=16)) == []
    label, line = drawn.frames[3]
    out = drawn.outward("upper", line[0])[1]
    points = shapely.get_coordinates(drawn.saw)
    points = points + np.where(np.hypot(*(points - line[0]).T) < 60, 0.3, 0.0)[:, None] * out
    for claims in (list_record_claims(page, replace(drawn, saw=shapely.LinearRing(points)), denominator=16),
                   list_csv_claims(table, replace(drawn, saw=shapely.LinearRing(points)), denominator=16)):
        wrong = list_differences(claims)
        assert [w for w in wrong if "frame, %s" % label in w
                or "frame %s," % label in w] and all("saw line" in w for w in wrong)


@pytest.mark.parametrize("role, shift, words",
                         [("drawn-face", 0.25, "Upper edge|Diagonal|edge"), ("section-line", 0.3, "on the plan")])
def test_other_lines_drawn_off_are_seen_too(tmp_path, role, shift, words):
    case = CASES["bevels and round"]
    drawing, page, _table, _ = run(case, tmp_path)
    items = []
    for item in drawing.items:
        if item.role == role:
            runs = tuple(replace(r,
                                 pieces=tuple(p * [1 + shift / 400, 1] if role == "drawn-face"
                                              else p + [0.0, shift if item.values["edge"] == "lower" else 0.0]
                                              for p in r.pieces)) for r in item.runs)
            item = replace(item, runs=runs)
        items.append(item)
    wrong = list_differences([*list_record_claims(page, loft(replace(drawing, items=tuple(items))), denominator=16)])
    assert any(w for w in wrong if any(part in w for part in words.split("|")))


BUTT = Case(4, (24.0, -9.0), allowance={},
            more=(("joints", {"joints": "4-5", "lay_out": "false", "fore_end": "hood"}), ("fastenings", {})))
DETAILS = {"scarf": CASES["joints and fastenings"], "butt, hood end raked": BUTT,
           "marks": Case(10, (28.0, 12.0), marks=True, stations={"source": "marks"}, allowance={})}


def survey_details(case, found):
    """Claims of joints, fastenings, fairing, bars and page."""
    drawing, page, _, sheet = found
    drawn, plotted = loft(drawing), loft(sheet, counts=count_pieces(drawing))
    claims = [*list_bar_claims(sheet), *list_joint_claims(sheet, plotted, thickness_mm=22.0),
              *list_fairing_claims(page, drawn)]
    if case.more:
        claims += [*list_joint_record_claims(page, drawing, drawn, denominator=16),
                   *list_fastening_claims(sheet, plotted)]
    return claims


@pytest.mark.parametrize("name", DETAILS)
def test_joints_fastenings_fairing_bars_and_page_are_what_is_drawn(name, tmp_path):
    claims = survey_details(DETAILS[name], run(DETAILS[name], tmp_path))
    assert list_differences(claims) == []
    assert len(claims) > 60 and (any("fairing" in c.where for c in claims) if name == "marks"
                                 else sum("joint 1" in c.where for c in claims) >= 6)


def shift_items(reading, role, change, *, first=0, count=None, **values):
    """The reading with some items' pieces changed, of those of a role from the first on; count 0 leaves the item out.
    """
    chosen = reading.find(role, **values)[first:][:1]
    assert chosen, "nothing of role %s to change" % role
    if count == 0:
        return replace(reading, items=tuple(i for i in reading.items if i is not chosen[0]))
    return replace(reading,
                   items=tuple(replace(i, runs=tuple(replace(r, pieces=tuple(change(p) for p in r.pieces))
                                                     for r in i.runs)) if i is chosen[0] else i for i in reading.items))


def test_details_drawn_otherwise_than_told_are_seen(tmp_path):
    """Planted faults, one at a time: a feather, a butt, a block, a cross, a plug's circle, a bar, a tick, a corner
    cross, a mark.
    """
    found = {}
    for name, case in DETAILS.items():
        (tmp_path / name).mkdir()
        found[name] = run(case, tmp_path / name)
    faults = [("scarf", "feather", lambda p: p + [0.3, 0.0], {}, "joint 1, length"),
              ("butt, hood end raked", "joint", lambda p: p + [0.3, 0.0], {}, "joint 1, distance"),
              ("butt, hood end raked", "block", lambda p: p * 1.001, {"joint": "1"}, "block, length"),
              ("scarf", "fastening", None, {"count": 0}, "driven for PLANK"),
              ("scarf", "fastening", lambda p: p * 1.02, {}, "plug"),
              ("marks", "scale-bar", lambda p: p * 1.0001, {}, "bar 1000 MM ALONG"),
              ("marks", "scale-bar-tick", lambda p: p + [0.05, 0.0], {"first": 3}, "tick 3"),
              ("butt, hood end raked", "bare", lambda p: p * 1.01, {}, "left bare"),
              ("marks", "corner-cross", lambda p: p + [0.3, 0.3], {}, "crosses A")]
    for name, role, change, options, words in faults:
        drawing, page, table, sheet = found[name]
        wrong = list_differences(survey_details(DETAILS[name],
                                                (drawing, page, table, shift_items(sheet, role, change, **options))))
        assert any(words in w for w in wrong), "%s of %s was not seen: %s" % (role, name, wrong)
    drawing, page, table, sheet = found["marks"]
    wrong = list_differences(survey_details(
        DETAILS["marks"], (shift_items(drawing, "mark", lambda p: p + [0.0, 0.5], first=4), page, table, sheet)))
    assert any("fairing" in w for w in wrong)
