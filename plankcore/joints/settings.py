"""Settings for scarfs and butts."""
from __future__ import annotations

from dataclasses import dataclass

from ..model.joint import KINDS
from ..model.ranges import refuse_outside, refuse_unknown
from .scarfs import SQUARE_TO

__all__ = ["ENDS", "FEATHERS", "JointSettings", "check_settings"]

ENDS = ("butt", "hood", "scarf")
FEATHERS = ("aft", "fore")


@dataclass(frozen=True)
class JointSettings:
    """Settings for scarfs and butts.

    joints : 'propose 1', 'none', or places as '10-11, scarf 14-15, on 12, 9 + 100 mm'. kind : of joints that are typed
    without one. rule : one of RULES.
    slope : of a scarf: 4 to 1 is short and weak, 12 to 1 long and strong. feather : the way its outside edge faces.
    square_to : one of SQUARE_TO.
    fore_end, aft_end : one of ENDS. siding_mm : breadth of a frame; 0 lets a joint lie anywhere beside its line.
    spacing_mm : of frames beyond the plank; 0 takes the plank's own.
    stock_mm : longest board there is, 0 for any. drain_mm, lap_mm, block_times : of butt blocks. lay_out : whether the
    parts are also drawn apart.
    unit : of lengths typed without a unit among the joints.
    """

    joints: str = "propose 1"
    kind: str = "butt"
    rule: str = "three-and-three"
    slope: float = 12.0
    feather: str = "aft"
    square_to: str = "run"
    fore_end: str = "butt"
    aft_end: str = "butt"
    siding_mm: float = 0.0
    spacing_mm: float = 0.0
    stock_mm: float = 0.0
    drain_mm: float = 10.0
    lap_mm: float = 20.0
    block_times: float = 10.0
    lay_out: bool = True
    unit: str = "mm"


def check_settings(settings: JointSettings) -> None:
    """Refuse values that are not among the choices, and slopes that cannot be sawn: SettingError."""
    for name, value, allowed, field in (("kind", settings.kind, KINDS, "Kind"),
                                        ("end", settings.fore_end, ENDS, "Fore end"),
                                        ("end", settings.aft_end, ENDS, "Aft end"),
                                        ("direction", settings.square_to, SQUARE_TO, "Square to"),
                                        ("way", settings.feather, FEATHERS, "Outside feather")):
        refuse_unknown(value, allowed, problem="'%%s' is no %s used here." % name, remedy="Choose one of: %s.",
                       field=field)
    refuse_outside(settings.slope, 1, 30, problem="A scarf of %g to 1 cannot be used.",
                   remedy="Give 4, 6, 8, 10 or 12.", field="Slope")
