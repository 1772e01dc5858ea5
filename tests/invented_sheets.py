"""Invented planks carried through the operations in one process, to be laid on sheets: every shape, length, width,
rake, face and side; with and without sections, joints and fastenings. Nothing is measured or copied.
"""
from __future__ import annotations

import numpy as np
from shapes import draw_graph, make_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.errors import PlankError
from plankcore.fastenings.lay_out import FasteningSettings, SizeSettings, lay_out_fastenings
from plankcore.geometry.curve import make_line
from plankcore.joints.place import JointSettings, place_joints
from plankcore.model.board import lay_on_board
from plankcore.model.page import PlankMatter
from plankcore.model.plank import Mark
from plankcore.section.board import BoardSettings, draw_board, make_board
from plankcore.stations.strike import LabelRule, StationSettings, strike_stations

NAMES = ("", "Tern of Nowhere", "Ada", "The Long Suffering of Saint Brandan")
_CELLS = dict.fromkeys(("radius", "hollow", "width", "upper bevel", "lower bevel", "upper angle", "lower angle",
                        "bend", "twist", "note"))


def invent_plank(rng):
    """A plank 350 to 5200 mm long and 45 to 260 wide, bowed and tapered, its ends raked; bow to either side."""
    length = float(rng.choice([rng.uniform(350, 900), rng.uniform(900, 3500), rng.uniform(3500, 5200)]))
    width, sny = float(rng.uniform(45, 260)), float(rng.uniform(-0.06, 0.06)) * length
    taper, right = float(rng.uniform(-0.35, 0.35)), bool(rng.random() < 0.6)
    rake = rng.uniform(-0.4, 0.4, 2) * width

    def graph(sign):
        # s from the fore end, 0 to 1; y down
        def y(s):
            return 300 - 4 * sny * s * (1 - s) + sign * width / 2 * (1 + taper * (s - 0.5))

        def slope(s):
            return -4 * sny * (1 - 2 * s) + sign * width / 2 * taper
        first, last = sign * rake[0] / 2, length + sign * rake[1] / 2
        way = -1.0 if right else 1.0
        start = 100.0 + (length if right else 0.0)
        a, b = start + way * first, start + way * last
        return draw_graph(lambda x: y((x - a) / (b - a)), lambda x: slope((x - a) / (b - a)) / (b - a), a, b)
    upper, lower = graph(-1.0), graph(1.0)
    marks = tuple(Mark(tuple(map(float, upper.evaluate([u])[0] + [0.0, off])), "upper", str(k), error_mm=0.3,
                       residual_mm=float(off), verdict=verdict)
                  for k, (u, off, verdict) in enumerate(((0.3, 0.4, "used"), (0.6, -3.1, "doubtful")), 1)
                  ) if rng.random() < 0.4 else ()
    return make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end),
                      name=str(rng.choice(NAMES)), strake=str(rng.choice(["", "3", "12", "G"])),
                      side=str(rng.choice(["starboard", "port"])), face=str(rng.choice(["inboard", "outboard"])),
                      forward="right" if right else "left", thickness_mm=float(rng.uniform(15, 40)), marks=marks,
                      assumed=("side",) if rng.random() < 0.2 else ())


def invent_matter(seed):
    """A PlankMatter; what the operations refuse for a plank is left off it."""
    rng = np.random.default_rng([2026, seed])
    plank = invent_plank(rng)
    length = plank.measure_length_mm()
    spacing = float(rng.uniform(150, 420))
    try:
        stations = tuple(strike_stations(plank, settings=StationSettings(
            first_mm=float(rng.uniform(30, 150)), spacing_mm=min(spacing, 0.4 * length),
            square_to=str(rng.choice(["run", "baseline"])),
            labels=LabelRule(str(rng.choice(["1", "27"])))))[0])
    except PlankError:
        stations = ()
    board, overlays = None, []
    if stations and rng.random() < 0.6:
        radius = float(rng.choice([-1, 1]) * rng.uniform(700, 4000))
        rows = [{**_CELLS, "frame": s.label, "row": k, "radius": radius, "upper bevel": float(rng.uniform(-6, 9)),
                 "lower bevel": float(rng.uniform(-6, 9)), "bend": 9000.0} for k, s in enumerate(stations, 2)]
        try:
            board = make_board(plank, stations, rows, settings=BoardSettings(doubtful="keep"))
            overlays.append(draw_board(plank, board, stations))
        except PlankError:
            board = None
    joints = ()
    if len(stations) > 6 and rng.random() < 0.4:
        bay = "%s-%s" % (stations[3].label, stations[4].label)
        kind = str(rng.choice(["scarf", "butt"]))
        try:
            placed = place_joints(plank, stations, settings=JointSettings(
                joints=("scarf " if kind == "scarf" else "") + bay, fore_end="hood", aft_end="hood",
                lay_out=bool(rng.random() < 0.5)))
            joints = placed.joints
            overlays.append(placed.overlay)
        except PlankError:
            pass
    if stations and rng.random() < 0.5:
        try:
            settings = FasteningSettings(size=SizeSettings())
            overlays.append(lay_out_fastenings(plank, stations=stations, settings=settings, joints=joints,
                                               blocks=()).overlay)
        except PlankError:
            pass
    struck, lines = lay_on_board(plank, stations, board)
    try:
        saw = add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 25}, board=board) \
            if rng.random() < 0.8 else None
    except PlankError:
        saw = None
    return PlankMatter(struck, tuple(lines), saw, tuple(overlays),
                       board_includes=board.includes if board is not None else ())
