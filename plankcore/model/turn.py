"""The nouns of turning a plank: what a turn does, and everything that lies on a plank and turns with it; immutable, in
mm.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .drawing import SawLine
from .plank import Plank

if TYPE_CHECKING:
    from typing import Mapping

    from .drawing import Overlay, Station
    from .plank import Comb, Finding

__all__ = ["PlankLayers", "Turn"]


@dataclass(frozen=True)
class Turn:
    """How a plank is turned that is wanted with another face up, or for the other side of the boat.

    side, face_up, forward : of the new plank: 'port' or 'starboard'; the face that lies up on the board; which way the
    bow lies, upper edge up.
    mirrored : whether its outline is the mirror image of the old one (left to right), or the old one unchanged.
    side_changes, face_changes : what is asked for. drawn_face_up : whether the face whose outline is drawn is the one
    that lies up.
    """

    side: str
    face_up: str
    forward: str
    mirrored: bool
    side_changes: bool
    face_changes: bool
    drawn_face_up: bool


@dataclass(frozen=True, eq=False, repr=False)
class PlankLayers:
    """A plank and everything that actions have drawn on it.

    combs : Comb; stations : Station; square_to : what the stations were struck square to; station_findings : Finding;
    saw : SawLine or None.
    overlays : name of a layer to its Overlay, findings and all.
    """

    plank: Plank
    combs: tuple[Comb, ...] = ()
    stations: tuple[Station, ...] = ()
    square_to: str = ""
    station_findings: tuple[Finding, ...] = ()
    saw: SawLine | None = None
    overlays: Mapping[str, Overlay] = field(default_factory=dict)
