#!/usr/bin/env python3
"""Other Face, Other Hand: the plank with its other face up, or for the other side of the boat."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore import naming
from plankcore.actions import TURN
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.lines import read_saw_line, read_stations, write_saw_line, write_stations
from plankcore.document.layers.turned import (
    create_copy,
    find_copy,
    list_not_carried,
    list_own_layers,
    put_own_strake,
    read_boxes,
    read_judged_side,
    read_layers,
    read_own_strake,
    read_symmetry,
    write_note,
)
from plankcore.turn.turn import (
    check_symmetry,
    find_turn,
    list_facts,
    note_turn,
    place_copy,
    turn_layers,
    warn_of_joints,
)

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankTurn(PlankExtension):
    """Reads a plank and all that lies on it; writes a new plank beside it, turned or only renamed."""

    ACTION = TURN

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--face_up", default="same", choices=["same", "other", "inboard", "outboard"],
                          help="face that lies up on the board")
        pars.add_argument("--side", default="other", choices=["other", "same", "port", "starboard"])
        pars.add_argument("--symmetry", default="")
        pars.add_argument("--strake", default="")
        pars.add_argument("--clear", default="150 mm")

    def work(self, drawing: Drawing, options: Any) -> None:
        clear_mm = self.read_length_mm("clear", "Clear below the original", least_mm=0, most_mm=5000)
        group = drawing.find_group()
        held = read_layers(drawing, group, stations=read_stations(drawing, group),
                                         saw=read_saw_line(drawing, group))
        plank = held.plank
        turn = find_turn(side=plank.side, forward=plank.forward, face=plank.face, face_up=options.face_up,
                                 to_side=options.side)
        names, strake = drawing.read_names(group), " ".join(options.strake.split())
        naming.refuse_leftovers(names, {"Hull found symmetrical by": options.symmetry if turn.side_changes else "",
                                        "Strake": strake}, meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        symmetry = check_symmetry(options.symmetry, turn, before=read_symmetry(group))
        stays = list_not_carried(group)
        facts = list_facts(plank, turn, symmetry=symmetry, stays=stays)
        copy = find_copy(drawing, group, turn)
        strake = strake or read_own_strake(copy)
        naming.refuse_namesake(replace(names, strake=strake or names.strake, side=turn.side),
                               drawing.list_other_names(group))
        renamed = drawing.read_names(copy).strake if copy is not None and drawing.read_names(copy).strake != (
            strake or names.strake) else ""
        place = place_copy(held, turn, boxes=read_boxes(drawing, group, without=copy),
                                   clear_mm=clear_mm, facts=facts)
        turned, warning = warn_of_joints(turn_layers(held, turn, place, strake=strake),
                                                 judged_side=read_judged_side(group))
        lost = list_own_layers(copy) if copy is not None else []
        new = create_copy(drawing, group, turned, turn, copy=copy, symmetry=symmetry,
                                        asked="face-up=%s side=%s" % (options.face_up, options.side))
        put_own_strake(new, strake)
        if turned.stations:
            write_stations(drawing, new, turned.stations, turned.station_findings, square_to=turned.square_to)
        if turned.saw:
            write_saw_line(drawing, new, turned.saw)
        write_note(drawing, new, *note_turn(turned, facts))
        if warning:
            self.say(warning)
        if stays:
            self.say("Not on the copy: the %s of the fairing, on the original alone." % " and the ".join(stays))
        if renamed:
            self.say("The earlier copy was called strake %s; the new one is strake %s."
                     % (renamed, strake or names.strake))
        if lost:
            self.say("The earlier copy was replaced, and with it what had been made on it: %s. Run those actions on "
                     "the new one." % ", ".join(lost))


if __name__ == "__main__":
    PlankTurn().run()
