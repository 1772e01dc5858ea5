"""The other face up, or the other side of the boat: a plank and everything on it, turned or only renamed.

Two things can be asked: that the other face lie up on the board, and that the plank serve the other side of the boat.
Each alone mirrors the outline left to right; both together leave it as it is. It does not matter which face the drawn
outline belongs to: it stays the outline of that face. The upper edge stays up, and the fore end stays the fore end.
"""
from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from ..actions import FAIR, JOINTS
from ..errors import SettingError
from ..model.drawing import Turn
from .overlays import carry, carry_findings, carry_place, find_map, note_turn, place_copy, turn_overlay
from .words import list_facts, tell_judged_side, warn_judged_side

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Matrix
    from ..model.drawing import PlankLayers, SawLine, Station
    from ..model.plank import Plank

__all__ = [
    "check_symmetry",
    "find_map",
    "find_turn",
    "list_facts",
    "note_turn",
    "place_copy",
    "turn_layers",
    "turn_overlay",
    "turn_plank",
    "turn_saw",
    "turn_stations",
    "warn_of_joints",
]

# (side of the plank, face that lies up): which way the bow lies with the upper edge up. Somebody who looks to port has
# the bow on the right.
_BOW = {
    ("starboard", "outboard"): "right",
    ("port", "inboard"): "right",
    ("starboard", "inboard"): "left",
    ("port", "outboard"): "left",
}
_OTHER = {"port": "starboard", "starboard": "port", "inboard": "outboard", "outboard": "inboard"}
_LEAST_WORDS, _MOST_LETTERS = 2, 160


def find_turn(*, side: str, forward: str, face: str, face_up: str, to_side: str) -> Turn:
    """The Turn for a plank, from the face that is wanted up and the side of the boat that it is wanted for.

    Parameters
    ----------
    side : {'port', 'starboard'}
    forward : {'left', 'right'}
        Which way the bow lies in the drawing, with the upper edge up.
    face : {'inboard', 'outboard'}
        The face whose line is drawn.
    face_up : {'same', 'other', 'inboard', 'outboard'}
        The face wanted up on the board.
    to_side : {'same', 'other', 'port', 'starboard'}

    Returns
    -------
    Turn

    Raises
    ------
    SettingError
        If a word is not one of these, or nothing would change.

    Examples
    --------
    >>> find_turn(side="starboard", forward="right", face="inboard", face_up="same", to_side="other").mirrored
    True
    """
    up = next((f for (s, f), bow in _BOW.items() if s == side and bow == forward), None)
    if up is None or face not in ("inboard", "outboard"):
        raise SettingError("The plank's side, face or bow is none that is known: %s, %s, %s." % (side, face, forward),
                           "Run %s again and give them." % FAIR.title, "Names")
    new_side = {"same": side, "other": _OTHER[side], "port": "port", "starboard": "starboard"}.get(to_side)
    new_up = {"same": up, "other": _OTHER[up], "inboard": "inboard", "outboard": "outboard"}.get(face_up)
    if new_side is None:
        raise SettingError("'%s' is no side of the boat." % to_side, "Give same, other, port or starboard.",
                           "Side of the boat")
    if new_up is None:
        raise SettingError("'%s' is no face of a plank." % face_up, "Give same, other, inboard or outboard.",
                           "Face that lies up")
    if (new_side, new_up) == (side, up):
        raise SettingError("Nothing is to be turned: the plank is %s already, with its %s face up." % (side, up),
                           "Ask for the other face, the other side of the boat, or both.", "Face that lies up")
    bow = _BOW[new_side, new_up]
    return Turn(new_side, new_up, forward=bow, mirrored=bow != forward, side_changes=new_side != side,
                face_changes=new_up != up, drawn_face_up=face == new_up)


def check_symmetry(words: str, turn: Turn, *, before: str = "") -> str:
    """The text that states who or what found the hull symmetrical.

    Parameters
    ----------
    words : str
        As typed.
    turn : Turn
    before : str
        The plank's present text, if it was itself made from the other side's.

    Returns
    -------
    str
        The text for the new plank; '' where the side never changed.

    Raises
    ------
    SettingError
        If the side changes and the text is missing.
    """
    if not turn.side_changes:
        return before
    words = " ".join(words.split())
    spoken = [w for w in words.split(" ") if re.search(r"\w", w)]
    if len(spoken) < _LEAST_WORDS:
        raise SettingError("A %s plank can be made from a %s one only if both sides of the hull are alike, and %s."
                           % (turn.side, _OTHER[turn.side], "'%s' does not say who found that, or how"
                              % words if words else "nobody is named who found that"),
                           "Compare the sides (diagonals, half breadths at a few frames), then write who or what "
                           "did: diagonals, M. Orme, 3 May.", "Hull found symmetrical by")
    if len(words) > _MOST_LETTERS:
        raise SettingError("The words on symmetry are %d letters long." % len(words),
                           "Say it in %d letters; they are lettered on the sheet." % _MOST_LETTERS,
                           "Hull found symmetrical by")
    return words


def turn_plank(plank: Plank, turn: Turn, matrix: Matrix, *, strake: str = "") -> Plank:
    """The new plank: edges, marks, ticks and findings carried along a map; the edges keep their names and directions.

    strake : the new plank's, or '' for the old one's.
    """
    edges = {name: replace(edge, curve=edge.curve.transform(matrix),
                           worst_point=carry_place(matrix, edge.worst_point)) for name, edge in plank.edges.items()}
    marks = tuple(replace(m, point=carry_place(matrix, m.point)) for m in plank.marks)
    ticks = tuple(replace(t, foot=carry_place(matrix, t.foot), tip=carry_place(matrix, t.tip)) for t in plank.ticks)
    return replace(plank, edges=edges, side=turn.side, forward=turn.forward, strake=strake or plank.strake,
                   marks=marks, ticks=ticks,
                   findings=carry_findings(plank.findings, matrix), key="")


def turn_stations(stations: Sequence[Station], turn: Turn, matrix: Matrix) -> tuple[Station, ...]:
    """Stations carried along a map, from the fore end aft as before; the side that their words are on is exchanged with
    everything drawn beside them."""
    sides = {"right": "left", "left": "right"} if turn.mirrored else {}
    return tuple(replace(s, line=carry(matrix, s.line), words=sides.get(s.words, s.words)) for s in stations)


def turn_saw(saw: SawLine, matrix: Matrix) -> SawLine:
    """The saw line carried along a map; its four curves keep their order."""
    return replace(saw, curves=tuple(c.transform(matrix) for c in saw.curves),
                   findings=carry_findings(saw.findings, matrix))


def turn_layers(layers: PlankLayers, turn: Turn, matrix: Matrix, *, strake: str = "") -> PlankLayers:
    """A plank and everything on it, carried along a map: PlankLayers."""
    combs = tuple(replace(c, feet=carry(matrix, c.feet), tips=carry(matrix, c.tips),
                          inflections=tuple(carry_place(matrix, p) for p in c.inflections)) for c in layers.combs)
    return replace(layers, plank=turn_plank(layers.plank, turn, matrix, strake=strake), combs=combs,
                   stations=turn_stations(layers.stations, turn, matrix),
                   station_findings=carry_findings(layers.station_findings, matrix),
                   saw=turn_saw(layers.saw, matrix) if layers.saw else None,
                   overlays={name: turn_overlay(o, turn, matrix, plank=layers.plank)
                             for name, o in layers.overlays.items()})


def warn_of_joints(layers: PlankLayers, *, judged_side: str) -> tuple[PlankLayers, str]:
    """A turned plank, with a fact on its joints where they were judged against neighbours on the other side.

    Parameters
    ----------
    layers : PlankLayers
        Turned already.
    judged_side : {'port', 'starboard'}
        The side whose joints they were judged against.

    Returns
    -------
    layers : PlankLayers
        With that fact added to, or removed from, the overlay of the joints.
    warning : str
        The same as a message; '' where there is none.
    """
    joints = layers.overlays.get(JOINTS.layer)
    if joints is None:
        return layers, ""
    facts, warning = tuple(f for f in joints.facts if f.key != "judged-side"), ""
    if judged_side != layers.plank.side:
        warning = warn_judged_side(judged_side, layers.plank.side)
        facts += (tell_judged_side(judged_side, layers.plank.side),)
    return replace(layers, overlays=dict(layers.overlays, **{JOINTS.layer: replace(joints, facts=facts)})), warning
