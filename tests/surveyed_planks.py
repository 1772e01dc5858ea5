"""Invented planks for the tests that measure every figure again: drawn as traces or as marks, carried through the real
actions by recipe, each but once.

Runs of sny and taper are those of invented_planks; ends are raked and bowed as a case says, a trace may wander as a pen
does.
"""

from __future__ import annotations

import json
import re
import tempfile
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from drawings import HEAD, write_path_data
from host import reader
from invented_planks import invent_plank
from lxml import html
from surveyor import loft

from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe

__all__ = [
    "CASES",
    "Case",
    "Found",
    "change_item",
    "count_pieces",
    "draw",
    "loft_sheet",
    "run",
    "write_step",
]

ACTIONS = Path(__file__).resolve().parents[1] / "extensions"
THICKNESS_MM = 22.0


@dataclass(frozen=True)
class Case:
    """One plank: seed of its shape, how its ends are raked and bowed, mm, and what differs from the defaults in each
    action.

    marks : drawn as marks at the frames instead of a trace. wander_mm : standard deviation of the pen about the line,
    which it forgets within some 25 mm. end_marks : with marks, of each end.
    more, last : further steps, before the allowance and after it; files : name to text of what they read.
    plots : file name to the settings of a further plot. longest_mm : no plank is longer.
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
    last: tuple = ()
    files: dict = field(default_factory=dict)
    plots: dict = field(default_factory=dict)
    longest_mm: float = 3000.0
    wander_mm: float = 0.0
    end_marks: int = 0


@dataclass(frozen=True, eq=False)
class Found:
    """What the actions made of a case: the drawing of its plank (words without their strokes), the record's bytes, the
    table's, the sheet, and
    what was plotted besides, maps and drawn boards among it; the drawing of the plank that a copy was made of; the
    bytes of each PDF by its name."""

    drawing: reader.Reading
    page: bytes
    table: bytes
    sheet: reader.Reading
    plots: dict = field(default_factory=dict)
    original: reader.Reading = None
    pdfs: dict = field(default_factory=dict)

    @property
    def told(self):
        """The sheet, and after its words those of the record: what the sheet no longer says for want of room."""
        texts = html.fromstring(self.page.decode("utf-8")).xpath("//p | //li")
        said = [" ".join(one.text_content().split()).upper() for one in texts]
        items = tuple(reader.Item("note", {"text": text}, (), None) for text in said if text)
        return replace(self.sheet, items=(*self.sheet.items, *items))


def draw(case):
    """The plank's trace, or its marks at the frames, and the page; the bow on the side asked for."""
    length, upper, lower = invent_plank(case.seed)
    length = min(length, case.longest_mm)
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
        sections = (edges[0], ends[1], edges[1][::-1], ends[0][::-1])
        loop = np.vstack([wander(points, case, k)[:-1] for k, points in enumerate(sections)])
        return HEAD % (
            page,
            '<path id="trace" style="fill:#000" d="%s"/>' % write_path_data(loop, digits=5),
        ), ["trace"]
    return HEAD % (page, '<g id="all">%s</g>' % "".join(draw_marks(case, edges, ends))), ["all"]


def wander(points, case, number):
    """One side of a loop as a pen runs that strays by wander_mm: points every 2 mm or so, off square to it by noise
    that
    is smoothed over 25 mm. Its ends, the corners, stay where they are."""
    if not case.wander_mm:
        return points
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0.0, away[-1], int(away[-1] / 2.0) + 1)
    points = np.stack([np.interp(at, away, c) for c in points.T], axis=1)
    noise = np.random.default_rng([case.seed, number]).normal(0, 1, len(at) + 60)
    weight = np.exp(-0.5 * (np.arange(-30, 31) * 2.0 / 10.0) ** 2)
    off = np.convolve(noise, weight, "valid") * case.wander_mm / np.sqrt((weight**2).sum())
    off *= np.clip(np.minimum(at, away[-1] - at) / 8.0, 0.0, 1.0)
    way = np.gradient(points, at, axis=0)
    way = way / np.hypot(*way.T)[:, None]
    return points + off[:, None] * np.stack([-way[:, 1], way[:, 0]], axis=1)


def draw_marks(case, edges, ends):
    """Dots at eleven frames on both edges, the lower one's sixth 6 mm off; the ends as lines, or as dots of their
    own."""
    body, count = [], len(edges[0])
    noise = np.random.default_rng(case.seed)
    for name, edge in zip(("upper", "lower"), edges):
        for k, at in enumerate(np.linspace(0, count - 1, 11).astype(int)):
            px, py = edge[at] + [0, noise.normal(0, 0.3) if 0 < k < 10 else 0.0]
            py += 6.0 if (name, k) == ("lower", 5) else 0.0
            body.append(
                '<circle id="m_%s_%d" cx="%.5f" cy="%.5f" r="3" inkscape:label="%s"/>'
                % (name, k, px, py, name if k in (0, 10) else "%s %d" % (name, k))
            )
    for name, end in zip(("fore", "aft"), ends):
        if case.end_marks:
            for k, at in enumerate(np.linspace(4, len(end) - 5, case.end_marks).astype(int)):
                body.append(
                    '<circle id="e_%s_%d" cx="%.5f" cy="%.5f" r="3" inkscape:label="%s"/>'
                    % (name, k, *(end[at] + [noise.normal(0, 0.3), 0.0]), name)
                )
        else:
            body.append(
                '<path id="end_%s" inkscape:label="%s" style="fill:none;stroke:#000" d="%s"/>'
                % (name, name, write_path_data(end, closed=False, digits=5))
            )
    return body


def write_step(action, settings, select=()):
    """A step of a recipe."""
    lines = ["[[plank.step]]", 'action = "%s"' % action] + (
        ["select = %s" % json.dumps(list(select))] if select else []
    )
    return "\n".join(lines + ["%s = %s" % (k, json.dumps(v)) for k, v in settings.items()]) + "\n"


def read_without_strokes(path, *, keep=rb"(?!)"):
    """A Reading of a file in which words have no strokes, but those that match `keep`: they are most of it, and little
    is measured on them."""

    def strip(match):
        return (
            match.group(0)
            if re.search(rb'plank:text="(?:%s)"' % keep, match.group(0))
            else re.sub(rb'(\sd=")[^"]*"', rb'\1"', match.group(0))
        )

    data = re.sub(rb'<(?:\w+:)?path\b[^>]*plank:text="[^>]*>', strip, path.read_bytes())
    return reader.read(data)


def run(case):
    """Found of a case; each is run but once, however many tests ask."""
    return _run(json.dumps(_spell(case), sort_keys=True))


def _spell(case):
    return {k: v for k, v in vars(case).items()}


@lru_cache(maxsize=None)
def _run(key):
    told = json.loads(key)
    case = Case(
        **{
            k: tuple(tuple(x) if isinstance(x, list) else x for x in v) if isinstance(v, list) else v
            for k, v in told.items()
        }
    )
    with tempfile.TemporaryDirectory() as place:
        return _carry_out(case, Path(place))


def _carry_out(case, folder):
    body, select = draw(case)
    (folder / "in.svg").write_text(body)
    names = {
        "boat": "Tern of Nowhere",
        "strake": "7",
        "side": "starboard",
        "face": "inboard",
        "forward": "right",
        "thickness": "%g mm" % THICKNESS_MM,
        **case.fair,
    }
    steps = [
        write_step("fair", names, select),
        write_step("stations", {"first": "170", "spacing": "390", **case.stations}),
    ]
    for name, text in case.files.items():
        (folder / name).write_text(text)
    if case.section is not None:
        (folder / "frames.csv").write_text(case.section["table"])
        steps.append(write_step("section", {"doubtful": "keep", **case.section, "table": "frames.csv"}))
    steps += [write_step(action, settings) for action, settings in case.more]
    if case.allowance is not None:
        steps.append(write_step("allowance", {"upper": "3", "lower": "3", "fore": "25", "aft": "25", **case.allowance}))
    steps += [write_step(action, settings) for action, settings in case.last]
    copy = []
    if case.turn is not None:
        steps.append(write_step("turn", case.turn))
        copy = ["plank-2"]
    steps += [write_step("plot", {"file_name": "sheet", "pdf": "false"}, copy)]
    steps += [
        write_step("plot", {"file_name": name, "pdf": "false", **settings}, copy)
        for name, settings in case.plots.items()
    ]
    steps += [write_step("record", {"file_name": "record", **case.record}, copy)]
    recipe = folder / "recipe.toml"
    recipe.write_text('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n' + "".join(steps))
    said = []
    _, failed = run_recipe(read_recipe(recipe), actions=ACTIONS, progress=said.append)
    assert not failed, said
    drawing = read_without_strokes(folder / "out.svg")
    group = drawing.find("plank")[-1 if copy else 0]
    inside = drawing.below(group)
    first = drawing.find("plank")[0]
    return Found(
        replace(inside, items=(group, *inside.items)),
        (folder / "record.html").read_bytes(),
        (folder / "record.csv").read_bytes(),
        read_without_strokes(folder / "sheet.svg"),
        plots={
            path.stem: read_without_strokes(path, keep=rb"\d+")
            for path in sorted(folder.glob("*.svg"))
            if path.stem not in ("in", "out", "sheet")
        },
        original=replace(drawing.below(first), items=(first, *drawing.within(first))),
        pdfs={path.stem: path.read_bytes() for path in sorted(folder.glob("*.pdf"))},
    )


def count_pieces(drawing):
    """Pieces of upper, aft, lower and fore edge of the net line."""
    face = drawing.find("drawn-face")
    if face:
        return [int(v) for v in face[0].values["pieces"].split()]
    return [len(drawing.one("edge", edge=e).runs[0].pieces) for e in ("upper", "aft", "lower", "fore")]


def loft_sheet(sheet, drawing):
    """The plank as its sheet draws it."""
    plank = drawing.find("plank")[0].values
    return replace(loft(sheet, counts=count_pieces(drawing)), face=plank["face"], seen_from=plank["seen-from"])


def change_item(reading, role, change=None, *, first=0, values=None, drop=False, **where):
    """The reading with one item otherwise: its pieces changed, some of its values, or without it."""
    chosen = reading.find(role, **where)[first:][:1]
    assert chosen, "nothing of role %s %s to change" % (role, where)
    if drop:
        return replace(reading, items=tuple(i for i in reading.items if i is not chosen[0]))
    runs = chosen[0].runs
    if change is not None:
        runs = tuple(replace(r, pieces=tuple(change(p) for p in r.pieces)) for r in runs)
    other = replace(chosen[0], runs=runs, values={**chosen[0].values, **(values or {})})
    return replace(reading, items=tuple(other if i is chosen[0] else i for i in reading.items))


ROUND = "frame,radius,upper bevel,lower bevel\n2,900,2.5,4\n4,700,3.5,5.5\n6,800,4,3\n"
RADIAL = "frame,radius,lower bevel\n2,700,4\n5,520,5\n"
BENT = "frame,radius,lower bevel,bend\n2,700,4,6 m\n5,520,5,4 m\n"
WOUND = "frame,radius,upper bevel,bend,twist\n2,900,3,9 m,1.5\n6,600,5,,2.5\n"
HOLLOW = "frame,hollow,upper bevel,bend\n2,-2,3,12 m\n4,-3.5,2,9 m\n6,-2.5,-1,11 m\n"
SQUARE = "frame,upper bevel\n2,4\n5,-3\n"
BOARDS = "id,length,width,thickness,species\nB1,3600,300,32,white oak\n"
OAK = {"species": "white oak", "room": "true"}
PORT = {"side": "port", "face": "outboard"}

CASES = {
    "plain, no saw line": Case(1, wander_mm=0.25, stations={"spacing": "410"}),
    "saw line of the drawn face": Case(
        2,
        (30.0, -12.0),
        wander_mm=0.3,
        fair={"side": "port", "forward": "left"},
        allowance={"upper": "3", "lower": "1/8 in"},
        files={"boards.csv": BOARDS},
        last=(("stock", {"boards": "boards.csv", "file_name": "boards"}),),
        record={"figures": "mm"},
    ),
    "raked and bowed ends, counted from aft": Case(
        3,
        (20.0, 90.0),
        9.0,
        fair={"face": "outboard"},
        stations={"first": "20", "count": "down", "from_end": "aft", "first_label": "9"},
        allowance={"fore": "2 in", "aft": "18.3"},
        record={"fraction": "8"},
    ),
    "room for swelling": Case(4, (-25.0, 8.0), allowance={**OAK, "afloat": "25"}, record={"fraction": "32"}),
    "bevels and round": Case(5, (20.0, 15.0), 6.0, section={"table": ROUND, "widths": "chord"}, allowance={}),
    "radial and bent on a girth, inches": Case(
        6,
        (35.0, 0.0),
        fair=PORT,
        section={"table": BENT, "seam_rule": "sixteenth"},
        allowance={"upper": "2", "lower": "4.5"},
        record={"figures": "inches"},
    ),
    "hollow and bend, stations by the run": Case(
        7,
        (-30.0, 25.0),
        fair={"forward": "left"},
        stations={"square_to": "run"},
        section={"table": HOLLOW, "pattern": "6 mm"},
        allowance={},
        record={"figures": "mm"},
    ),
    "square bevels, end bevels, swelling": Case(
        8,
        (18.0, -18.0),
        section={"table": SQUARE, "fore_bevel": "8", "aft_bevel": "-5"},
        allowance={**OAK, "lives": "under water"},
    ),
    "radial and room for swelling, turned": Case(
        9,
        (22.0, 10.0),
        section={"table": RADIAL, "turn": "14"},
        allowance={**OAK, "lives": "under water", "upper": "1", "lower": "1"},
        turn={"symmetry": "diagonals, M. Orme, 3 May"},
    ),
    "marks, one doubtful, other face of a copy": Case(
        10,
        (28.0, 12.0),
        marks=True,
        stations={"source": "marks"},
        allowance={},
        turn={"face_up": "other", "side": "same"},
    ),
    "marks, one left out, ends marked thrice": Case(
        10,
        (28.0, 12.0),
        marks=True,
        end_marks=3,
        fair={"doubtful": "leave out"},
        stations={"source": "marks"},
        allowance={},
    ),
    "ends marked twice": Case(5, (20.0, 15.0), marks=True, end_marks=2, stations={"source": "marks"}, allowance={}),
    "wound": Case(
        12,
        (15.0, -20.0),
        section={"table": WOUND, "pattern": "6 mm", "seam_rule": "sixteenth"},
        allowance={"upper": "2", "lower": "2"},
    ),
    "joints and fastenings": Case(
        11,
        (24.0, 6.0),
        section={"table": ROUND, "seam_rule": "sixteenth", "seam_share": "upper"},
        allowance={"upper": "5", "lower": "0"},
        more=(("joints", {"joints": "scarf 4-5", "slope": "8", "lay_out": "false"}), ("fastenings", {})),
        plots={"roll": {"sheets": "roll"}},
    ),
    "butt, hood end raked": Case(
        4,
        (24.0, -9.0),
        allowance={},
        more=(
            ("joints", {"joints": "4-5", "lay_out": "false", "fore_end": "hood", "map_file": "map"}),
            ("fastenings", {}),
        ),
        plots={"tiles": {"sheets": "tiles"}, "calibration": {"sheets": "tiles", "calibration_page": "true"}},
    ),
    "scarf and butt laid out, hood ends bowed": Case(
        3,
        (45.0, 20.0),
        9.0,
        more=(
            (
                "joints",
                {
                    "joints": "scarf 3-4, butt 5-6",
                    "slope": "8",
                    "feather": "fore",
                    "siding": "45 mm",
                    "fore_end": "hood",
                    "aft_end": "hood",
                },
            ),
            ("fastenings", {"fore_end": "hood", "aft_end": "hood"}),
        ),
    ),
    "frames that meet both hood ends, on a board": Case(
        8,
        (80.0, 60.0),
        stations={"first": "40", "spacing": "362"},
        section={"table": ROUND},
        allowance={},
        more=(("fastenings", {"fore_end": "hood", "aft_end": "hood"}),),
    ),
    "over five metres": Case(10, (24.0, 6.0), longest_mm=6000.0),
}
