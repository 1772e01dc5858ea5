"""The card at every frame: its number, the width with its face, both bevels in degrees and in mm with their sense, and
the section at full size beside it, clear of fastenings.

Where there is no room a card is shortened by this rule, and says so: its letters go down to 5 mm, then 3.5; then the
hollow, then the bevels, then the width are left to the record, with SEE RECORD in their place; the number stays,
outside the wood if need be.

Standing and under bevels are named as seen on the face that lies up, which has the lines: at a standing bevel the edge
slopes outward below that face, so that the face beneath is wider; at an under bevel it slopes inward (common practice,
no source). The sign is the record's: + where the outside is wider.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import measure_extent, measure_extents
from ..paper.blocks import letter_texts, make_stroke, move_line
from ..paper.room import Room, WordBlock, WordPair

if TYPE_CHECKING:
    from typing import Any, Iterator, Mapping, Sequence

    from ..geometry.arrays import Points
    from ..model.drawing import SheetLine, SheetText, Station
    from ..model.plank import Plank
    from .strip import LyingPlank

__all__ = ["NUMBER_MM", "SEE_RECORD", "SHORT_CARD", "is_of_section", "lay_cards", "letter_sections", "list_card",
           "move_sections", "read_sections", "spell_bevel"]

NUMBER_MM = 14.0
SEE_RECORD = "SEE RECORD"
SHORT_CARD = "short-card"  # role of the lettering of a shortened card
_SIZES = ((NUMBER_MM, 7.0), (NUMBER_MM, 5.0), (10.0, 5.0), (10.0, 3.5))
_HINDERS = ("fastening", "through-bolt", "frame-side", "station", "joint", "feather", "block", "register", "bare",
            "slope", "ring")
_BAY_MM = 260.0           # greatest distance of a card from its frame
_STEP_MM = 5.0
_MOST = 0.75              # share of the frames that a form must fit: better a few small cards than all of them small


def read_sections(lines: Sequence[SheetLine]) -> dict[str, dict[str, Any]]:
    """{frame: values} of the sections drawn, from the lines that carry their numbers."""
    told = [dict(one.values) for one in lines if one.role == "section"]
    return {one["station"]: one for one in told if "station" in one and "inside_mm" in one}


def is_of_section(line: SheetLine) -> bool:
    """Whether a line is part of a section, and is moved with it."""
    return line.role in ("section", "bevel", "stock-face")


def move_sections(lines: Sequence[SheetLine], run: LyingPlank, stations: Sequence[Station]) -> list[SheetLine]:
    """Lines, with every section moved along the plank, aft of its frame if possible, to where it is clear of
    fastenings, frames' sides and joints."""
    of_section = [one for one in lines if is_of_section(one)]
    rest = [one for one in lines if not is_of_section(one)]
    boxes = measure_extents([one.cubics for one in of_section]) if of_section else np.zeros((0, 2, 2))
    heads = [k for k, one in enumerate(of_section) if one.role == "section"]
    if not heads:
        return list(lines)
    low, high = measure_extent(np.concatenate([one.cubics for one in lines]))
    room = Room(low, high)
    room.add_lines([one.cubics for one in rest if one.role in _HINDERS])
    moved, kept = list(rest), set()
    for k in heads:
        box = boxes[k]
        inside = [j for j in range(len(of_section)) if j not in kept
                  and np.all(boxes[j].mean(axis=0) > box[0] - 8.0) and np.all(boxes[j].mean(axis=0) < box[1] + 8.0)
                  and (of_section[j].role != "section" or j == k)]
        kept |= set(inside)
        middle, size = box.mean(axis=0), box[1] - box[0]
        steps = np.arange(0.0, _BAY_MM, 2.0)
        dx = run.aft * np.concatenate([steps, -steps])
        places = np.stack([middle[0] + dx, middle[1] + run.find_middle(middle[0] + dx)
                           - run.find_middle(np.array([middle[0]]))], axis=1)
        wood = (places[:, 0] - size[0] / 2 > run.left_mm) & (places[:, 0] + size[0] / 2 < run.right_mm)
        found = room.find(size, places[wood])
        shift = found[0] - middle if found is not None else np.zeros(2)
        room.add_box(middle + shift, size + 2.0)
        matrix = np.array([[1.0, 0.0, shift[0]], [0.0, 1.0, shift[1]]])
        moved += [move_line(of_section[j], matrix) for j in inside]
    return moved + [one for j, one in enumerate(of_section) if j not in kept]


def _read_known(values: Mapping[str, Any]) -> dict[str, str]:
    return dict(word.split("=", 1) for word in str(values.get("known", "")).split() if "=" in word)


def spell_bevel(plank: Plank, values: Mapping[str, Any], edge: str) -> str:
    """'UPPER +3.5° 1.4 MM UNDER': the bevel as in the record, its amount in mm on this thickness, and its sense on the
    face that lies up."""
    known = _read_known(values)
    name = edge.upper()
    if known.get(edge) in ("fore", "aft"):
        return "%s NONE, %s END" % (name, known[edge].upper())
    degrees, growth = float(values["%s_bevel_deg" % edge]), float(values["%s_growth_mm" % edge])
    radial = " RADIAL" if known.get(edge) == "taken" and known.get("radius") != "taken" else ""
    if abs(round(degrees, 1)) < 0.05:
        return "%s 0.0\u00b0 SQUARE%s" % (name, radial)
    under = (degrees > 0) == (plank.seen_from == "outboard")
    return "%s %+.1f\u00b0 %.1f MM %s%s" % (name, degrees, abs(growth), "UNDER" if under else "STANDING", radial)


def list_card(plank: Plank, station: Station, values: Mapping[str, Any] | None) -> list[str]:
    """The lines below the number, most important first: width with its face, bevels, hollow."""
    told = ["%.1f %s" % (station.width_mm, plank.face.upper())]
    if values is not None:
        told += [spell_bevel(plank, values, edge) for edge in ("upper", "lower")]
        if float(values["hollow_mm"]) >= 0.05:
            told.append("HOLLOW %.1f MM %s" % (float(values["hollow_mm"]),
                                               "OUTSIDE" if str(values["radius_mm"]).startswith("-") else "INSIDE"))
    return told


def _list_forms(told: Sequence[str], number: str) -> Iterator[WordBlock | WordPair]:
    """A card in shorter and shorter forms, with its number above its lines or before them."""
    lines = [text.upper() for text in told]
    for count in sorted({len(lines), min(3, len(lines)), 1, 0}, reverse=True):
        short = lines[:count] + ([SEE_RECORD] if count < len(lines) else [])
        for high, low in _SIZES if count == len(lines) else _SIZES[2:]:
            head, rest = (number.upper(), high), tuple((text, low) for text in short)
            role = "label" if count == len(lines) else SHORT_CARD
            yield WordBlock((head, *rest), role=role)
            yield WordPair(WordBlock((head,), role=role), WordBlock(rest, role=role))
    yield WordBlock(((number.upper(), 5.0), (SEE_RECORD, 3.5)), role=SHORT_CARD)


def lay_cards(room: Room, run: LyingPlank, stations: Sequence[tuple[Station, Points]],
              sections: Mapping[str, Mapping[str, Any]]) -> tuple[list[SheetText], list[SheetLine]]:
    """The card of every frame, aft of it where there is room, else forward of it; in the largest form that three
    quarters of them have room for; the others are shortened one by one.

    Parameters
    ----------
    room : Room
    run : LyingPlank
    stations : sequence of (Station, line (2, 2) where it lies)
    sections : {frame: values}

    Returns
    -------
    texts, lines : list of SheetText, of SheetLine
    """
    lines: list[SheetLine] = []
    middles = sorted(float(line[:, 0].mean()) for _, line in stations)
    forms = [list(_list_forms(list_card(run.plank, station, sections.get(station.label)), station.label))
             for station, _ in stations]
    reach = [_Reach(run, line, middles) for _, line in stations]
    first = _choose_form(room, forms, reach)
    cards = [room.place(blocks[first], one.list_places(blocks[first].size_mm)) for blocks, one in zip(forms, reach)]
    for k in (k for k, card in enumerate(cards) if card is None):
        laid = None
        for block in forms[k][:first] + forms[k][first + 1:]:
            laid = room.place(block, reach[k].list_places(block.size_mm))
            if laid is not None:
                break
        if laid is None:
            block = WordBlock(((stations[k][0].label.upper(), 7.0), (SEE_RECORD, 3.5)), role=SHORT_CARD)
            laid = _lay_outside(room, stations[k][1], block, lines)
        cards[k] = laid
    for (_, line), card in zip(stations, cards):
        _lead_back(room, run, line, card, lines=lines)
    return [text for card in cards for text in card or ()], lines


def _lead_back(room, run, line, card, lines):
    """A stroke to its frame from a card that stands forward of it: in the next frame's bay, where it might be read as
    that one's.
    """
    low, high = measure_extent(letter_texts(card[:1])[0].cubics)
    y = float((low[1] + high[1]) / 2)
    x = float(np.interp(y, *line[np.argsort(line[:, 1])].T[::-1]))
    way = 1.0 if run.aft < 0 else -1.0
    if (low[0] - x) * way > 0 and (high[0] - x) * way > 0 and line[:, 1].min() < y < line[:, 1].max():
        start = np.array([low[0] - 0.8 if way > 0 else high[0] + 0.8, y])
        if not room.crosses_words(start - [2.5 * way, 0.0], (x, y)):
            lines.append(make_stroke(start, (x, y), role="lead", style="note"))
            room.add_lines([lines[-1].cubics])


def _choose_form(room, forms, reach):
    """Index of the first form for which three quarters of the frames have room, or else of the one that most have room
    for. Tried with all cards in place, since a card takes room from the next."""
    whole = 2 * len(_SIZES)
    best = (0, 0)
    for number in range(whole if forms else 0):
        trial = room.copy()
        count = sum(trial.place(blocks[number], one.list_places(blocks[number].size_mm)) is not None
                    for blocks, one in zip(forms, reach))
        if count >= _MOST * len(forms):
            return number
        best = max(best, (count, -number))
    return -best[1]


class _Reach:
    """Places for a frame's card: nearest first, aft before forward, no farther than the next frame."""

    def __init__(self, run, line, middles):
        self._run, self._sides, self._known = run, [], {}
        for way in (run.aft, -run.aft):
            edge = float(line[:, 0].max() if way > 0 else line[:, 0].min())
            others = [abs(m - edge) for m in middles if (m - edge) * way > 1.0]
            self._sides.append((edge, way, min([_BAY_MM, *others])))

    def list_places(self, size: tuple[float, float]) -> Points:
        """Middles (n, 2) of a card of this size."""
        if size not in self._known:
            self._known[size] = np.concatenate([self._run.list_places(
                edge + way * np.arange(size[0] / 2 + 1.5, far - size[0] / 2 + 1e-6, _STEP_MM), size, inset_mm=1.5)
                for edge, way, far in self._sides])
        return self._known[size]


def _lay_outside(room, line, block, lines):
    """Place a card above the wood, with a stroke to its frame, so that no card is lost."""
    top = line[np.argmin(line[:, 1])]
    x = np.concatenate([[0.0], *([-v, v] for v in np.arange(4.0, 120.0, 4.0))])
    y = np.arange(14.0, 140.0, 4.0)
    places = np.stack([np.tile(top[0] + x, len(y)), np.repeat(top[1] - y - block.size_mm[1] / 2, len(x))], axis=1)
    found = room.place(block, places)
    if found is None:
        return block.letter(places[0])
    foot = np.array([found[-1].at_mm[0], found[-1].at_mm[1] + 1.0])
    if not room.crosses_words(foot + [0.0, 3.0], top):
        lines.append(make_stroke(foot + [0.0, 2.0], top, role="lead", style="datum"))
        room.add_lines([lines[-1].cubics])
    return found


def letter_sections(room: Room, lines: Sequence[SheetLine], thickness_mm: float) -> list[SheetText]:
    """IN and OUT in every section, each beside its face."""
    found = []
    size = float(np.clip(thickness_mm / 5, 2.5, 5.0))
    for one in lines:
        if one.role != "section" or "inside_pieces" not in dict(one.values):
            continue
        pieces = int(dict(one.values)["inside_pieces"])
        inner = one.cubics[:pieces].reshape(-1, 2).mean(axis=0)
        low, high = measure_extent(one.cubics)
        middle = (low + high) / 2
        toward = float(np.sign(inner[0] - middle[0]) or 1.0)
        for word, way in (("IN", toward), ("OUT", -toward)):
            for height in (size, 0.7 * size):
                block = WordBlock(((word, height),))
                edge = middle[0] + way * (high[0] - low[0]) / 2
                x = edge - way * np.arange(block.size_mm[0] / 2 + 0.5, 0.6 * (high[0] - low[0]), 1.0)
                y = middle[1] + np.array([-0.15, 0.15, -0.25, 0.25, 0.0, -0.35, 0.35]) * (high[1] - low[1])
                laid = room.place(block, np.stack([np.tile(x, len(y)), np.repeat(y, len(x))], axis=1))
                if laid is not None:
                    found += laid
                    break
    return found
