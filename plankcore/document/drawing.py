"""One drawing: what is selected in it, the planks in it, and the layers our actions own."""
from __future__ import annotations

import os
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from lxml import etree

from ..actions import FAIR
from ..errors import PatternError, SelectionError
from ..geometry.curve import Curve
from . import names
from .planks import (
    create_group,
    describe_group,
    find_original,
    label_group,
    move_to_source,
    read_names,
    read_plank,
    write_fair,
)
from .read import collect_shapes, describe, find_total_map, list_candidates, read_trace, read_traces, refuse_many
from .transforms import read_page_scale
from .write import LayerWriter, make_layer

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..model.page import SheetBlock
    from ..model.plank import Comb, Plank, PlankNames, Trace
    from .names import Element

__all__ = ["Drawing"]

_T = TypeVar("_T")


class Drawing:
    """A drawing as an action sees it.

    Parameters
    ----------
    root : inkex svg element
    selected : sequence of str
        Ids of the selected objects, in order.
    path : str
        Where the drawing is kept, or '' if it has not been saved.
    home : str
        Folder that names of tables are relative to; that of `path` where it is not given.
    """

    def __init__(self, root, selected=(), path="", home=""):
        self.root, self.path = root, path
        self.home = home or (os.path.dirname(os.path.abspath(path)) if path else "")
        self.page = read_page_scale(root)
        self._known = {}                      # cache: element to (its state when it was read, what was read)
        self.selected = []
        by_id = {}
        for element in root.iter() if selected else ():
            by_id.setdefault(element.get("id"), element)
        for key in selected:
            element = by_id.get(key)
            if element is None:
                raise SelectionError("No object in the drawing is called '%s'." % key,
                                     "Select it in the editor, or give an id that the drawing has.", key)
            self.selected.append(element)

    # -- planks -------------------------------------------------------------------------------------------

    def find_groups(self) -> list[Element]:
        """All plank groups, in order."""
        return names.find_roles(self.root, "plank")

    def _groups_of_selection(self):
        found = []
        for element in self.selected:
            for parent in [element] + list(element.iterancestors()):
                if names.get(parent, "role") == "plank" and not any(parent is g for g in found):
                    found.append(parent)
        return found

    def find_group(self) -> Element:
        """The plank group meant: the one selected, or the only one.

        Raises
        ------
        SelectionError
            If there is none, or more than one could be meant.
        """
        groups = self._groups_of_selection()
        if len(groups) > 1:
            raise SelectionError("Two planks are selected: %s." % " and ".join(describe_group(g) for g in groups[:2]),
                                 "Select one plank and run the action once for each.", None)
        if groups:
            return groups[0]
        groups = self.find_groups()
        if not groups:
            raise SelectionError("There is no fair plank in the drawing.", FAIR.first)
        if len(groups) > 1:
            raise SelectionError("There are %d planks in the drawing: %s." % (
                len(groups), "; ".join(describe_group(g) for g in groups)), "Select the one that is meant.")
        return groups[0]

    def find_groups_meant(self, *, otherwise_all: bool = True) -> list[Element]:
        """The plank groups that are selected, in order; where none is, all, or else the only one.

        Raises
        ------
        SelectionError
            If there is none.
        """
        groups = self._groups_of_selection() or (self.find_groups() if otherwise_all else [self.find_group()])
        if not groups:
            raise SelectionError("There is no fair plank in the drawing.", FAIR.first)
        return groups

    def read_plank(self, group: Element) -> Plank:
        """The plank of a group, checked against its guard."""
        fair = names.find_layer(group, "fair")
        if fair is None:
            return read_plank(group, self.page)
        others = [names.get(g, "fairing") for g in self.find_groups()] if names.get(group, "turned-from") else ()
        return self.remember(fair, lambda: read_plank(group, self.page), (*group.attrib.items(), *others))

    def remember(self, element: Element, read: Callable[[], _T], *more: Any) -> _T:
        """The result of `read()` on an element, cached: it is read again only where the element, anything in it, a
        transform of a group round it, or a value in `more` has changed."""
        state = (etree.tostring(element, with_tail=False), [e.attrib.get("transform")
                                                            for e in element.iterancestors()], more)
        known = self._known.get(element)
        if known is None or known[0] != state:
            known = self._known[element] = (state, read())
        return known[1]

    def read_names(self, group: Element) -> PlankNames:
        """PlankNames of a group, as the drawing has them."""
        return read_names(group)

    def list_other_names(self, group: Element | None = None) -> list[tuple[PlankNames, str]]:
        """(PlankNames, words) of all other planks, without those that this one was turned from or that were turned from
        it."""
        def find_first(one):
            seen = []
            while one is not None and not any(one is s for s in seen):
                seen.append(one)
                one = find_original(one)
            return seen[-1]
        own = None if group is None else find_first(group)
        return [(read_names(g), describe_group(g)) for g in self.find_groups() if find_first(g) is not own]

    @property
    def file_name(self) -> str:
        """The drawing's own file name, '' where it was never saved."""
        return os.path.basename(self.path)

    @property
    def own_file_name(self) -> str:
        """The drawing's own file name where it can stand for one plank; '' where several were faired in it."""
        return self.file_name if sum(not names.get(g, "turned-from") for g in self.find_groups()) == 1 else ""

    def find_source(self) -> tuple[list[Trace], Element | None, str]:
        """What Fair Plank is to read.

        Returns
        -------
        traces : list of Trace
        group : plank group to write to again, or None for a new one
        said : str
            A sentence on what was read because nothing was selected, else ''.
        """
        group, said = None, ""
        groups = self._groups_of_selection()
        if len(groups) > 1:
            self.find_group()
        if groups:
            group = groups[0]
            elements = self._source_elements(group)
        elif self.selected:
            elements = self.selected
        else:
            candidates = self._list_large_candidates()
            groups = [g for g in self.find_groups() if not names.get(g, "turned-from")]
            if len(candidates) == 1:
                elements = candidates
                said = "Nothing was selected; %s was read." % describe(candidates[0])
            elif not candidates and len(groups) == 1:
                group = groups[0]
                elements = self._source_elements(group)
                said = "Nothing was selected; the plank %s was faired again." % describe_group(group)
            else:
                what = "; ".join(describe(c) for c in candidates[:4]) + (" and more" if len(candidates) > 4 else "")
                problem = "Nothing is selected, and the page holds %d lines that might be meant: %s." % (
                    len(candidates),
                    what) if candidates else "Nothing is selected, and the page holds no line that might be a plank."
                raise SelectionError(problem, "Select the traced outline, the four edge lines, or the marks and the "
                                              "end lines.")
        # crosses that Read Marks wrote count as shapes to read; the rings and words beside them do not
        shapes = [s for s in collect_shapes(elements)
                  if names.get(s, "role") not in ("ring", "note", "label", "control")]
        drawn = [s for s in shapes if names.get(s, "role") not in ("", "source", "mark", "trued")]
        if drawn or not shapes:
            raise SelectionError("The selection holds lines that these actions have drawn.",
                                 "Select the original trace.", describe((drawn or elements)[0]))
        return read_traces(shapes, self.page), group, said

    def find_line(self, name: str) -> Curve:
        """A drawn line by its label, or its id, as a Curve in mm on the page.

        Raises
        ------
        SelectionError
            If there is none, or more than one could be meant, or it is no single open line.
        """
        paths = [e for e in self.root.iter() if names.read_kind(e) in ("path", "line", "polyline")]
        wanted = " ".join(name.split()).casefold()
        called = [(e, " ".join((e.get("{%s}label" % names.INKSCAPE) or "").split())) for e in paths]
        found = [e for e, label in called if label.casefold() == wanted] or [e for e in paths if e.get("id") == name]
        if len(found) != 1:
            labels = sorted({label for _, label in called if label})
            raise SelectionError("%s in the drawing is called '%s'." % (
                "No line" if not found else "More than one line", name),
                                 "Give the line a label of its own (Object > Object Properties), and write that.%s" % (
                                     " There are: %s." % ", ".join(labels[:6]) if labels else ""),
                                 describe(found[0]) if found else None)
        runs = read_trace(found[0], self.page).runs
        if len(runs) != 1 or runs[0][1]:
            raise SelectionError("%s is no single open line." % describe(found[0]),
                                 "Draw the line that is to be followed in one piece, from end to end.",
                                 describe(found[0]))
        return Curve(runs[0][0])

    def read_fair_setting(self, group: Element | None, name: str) -> str:
        """A setting that the plank was last faired with, by its name; '' where it was not given, or for a new plank."""
        layer = None if group is None else names.find_layer(group, FAIR.layer)
        return "" if layer is None else names.get(layer, name.replace("_", "-"))

    def _source_elements(self, group):
        layer = names.find_layer(group, "source")
        if names.get(group, "turned-from"):
            raise SelectionError("The plank %s was made by turning another and has no trace of its own."
                                 % describe_group(group),
                                 "Select the plank it was made from (%s) and run %s there; then turn that "
                                 "again." % (names.get(group, "turned-from"), FAIR.title), describe_group(group))
        if layer is None or not len(layer):
            raise SelectionError("The plank %s has lost its Source layer." % describe_group(group),
                                 "Select the original trace instead.", describe_group(group))
        return list(layer)

    def _list_large_candidates(self):
        """Visible shapes at least a third as long as the longest."""
        sized = []
        candidates = list_candidates(self.root)
        refuse_many(len(candidates),
                    "Nothing is selected, and the page holds too many lines to look for the plank among them")
        for element in candidates:
            try:
                trace = read_trace(element, self.page)
            except PatternError:
                continue
            points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs])
            sized.append((float(np.ptp(points, axis=0).max()), element))
        longest = max((s for s, _ in sized), default=0.0)
        return [e for s, e in sized if s > longest / 3]

    def write_fair(self, plank: Plank, *, group: Element | None, sources: Sequence[Element], settings: Any,
                   comb: Sequence[Comb] | None = None,
                   report: SheetBlock | None = None) -> tuple[Element, Element]:
        """Write a fair plank, in a new group unless one is given; the original goes to its Source layer."""
        if group is None:
            group = create_group(self.root, self.page, label="")
        label_group(group, plank)
        move_to_source(group, sources, self.page)
        return group, write_fair(group, plank, page=self.page, settings=settings, comb=comb,
                                 report=report)

    # -- layers of the later actions ------------------------------------------------------------------------

    def replace_layer(self, group: Element, *, layer: str, label: str) -> LayerWriter:
        """An empty layer of this name in the plank's group, in place of the old one, and a writer for it."""
        old = names.find_layer(group, layer)
        following = old.getnext() if old is not None else None
        if old is not None:
            group.remove(old)
        new = make_layer(group, label=label, layer=layer, before=following)
        fair = names.find_layer(group, FAIR.layer)
        names.put(new, fairing=names.get(fair, "fairing", "0"))
        return LayerWriter(new, find_total_map(new, self.page))

    def find_fresh_layer(self, group: Element, *, layer: str, action: str) -> Element | None:
        """A layer of an earlier action, or None; refused if the plank has been faired again since.

        Raises
        ------
        PatternError
        """
        found = names.find_layer(group, layer)
        fair = names.find_layer(group, FAIR.layer)
        if found is not None and names.get(found, "fairing") != names.get(fair, "fairing"):
            raise PatternError("The plank %s has been faired again since its %s was made."
                               % (describe_group(group), found.get("{%s}label" % names.INKSCAPE)),
                               "Run %s again." % action, describe_group(group))
        return found

    def read_selected_lines(self) -> list[Trace]:
        """Selected shapes that our actions did not make, as Traces; the plank itself may be selected with them."""
        shapes = [e for e in self.selected
                  if not any(names.get(p, "role") == "plank" for p in [e] + list(e.iterancestors()))]
        return read_traces(collect_shapes(shapes), self.page) if shapes else []
