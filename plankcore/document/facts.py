"""Facts as attributes of a layer, written and read back: fact-1-key, fact-1-words and so on, and `facts`, how many
there are. What stands on the drawing itself, at its place, is one of them, with `fact-1-lettered`.
"""
from __future__ import annotations

import numpy as np

from ..actions import STATIONS
from ..errors import PatternError
from ..model.facts import VERDICTS, Fact, Place, list_words
from ..model.plank import Finding
from . import names
from .places import measure_box

__all__ = ["drop_facts", "put_facts", "read_facts", "read_findings", "read_words"]

_WORDS = ("key", "words", "brief", "verdict", "unit", "source", "about")
_NUMBERS = ("number", "limit")
_UNNAMED = "told"                                         # the key of what an older drawing tells without one
_NO_DOUBT = ("what-was-read", "corner-marks")             # of those that an older drawing tells, these are no doubts


def put_facts(layer, facts, findings=(), *, plank=None):
    """Let a layer carry facts, and the Findings that are lettered on it; of each only what it tells. Places of findings
    are kept along the plank's baseline and square to it, so that they go with the plank.
    """
    rows = [_spell_fact(fact) for fact in facts] + [_spell_finding(one, plank) for one in findings]
    if rows:
        values = {"fact_%d_%s" % (number, name): value for number, row in enumerate(rows, 1)
                  for name, value in row.items() if value}
        names.put(layer, facts=len(rows), **values)


def _spell_fact(fact):
    told = {name: getattr(fact, name) for name in _WORDS}
    told.update((name, _spell_number(getattr(fact, name))) for name in _NUMBERS)
    if fact.place is not None:
        told.update(place_station=fact.place.station, place_edge=fact.place.edge,
                    place_along_mm=_spell_number(fact.place.along_mm))
    return told


def _spell_finding(finding, plank):
    told = {"key": finding.key or _UNNAMED, "words": finding.text, "verdict": finding.verdict, "unit": finding.unit,
            "lettered": "yes", "place_station": finding.station, "place_edge": finding.edge}
    told.update((name, _spell_number(getattr(finding, name))) for name in _NUMBERS)
    if finding.where is not None:
        start, along, across = plank.find_axes()
        away = np.asarray(finding.where, float) - start
        told.update(place_along_mm="%.6f" % (away @ along), place_across_mm="%.6f" % (away @ across))
    return told


def _spell_number(value):
    return "" if value is None else "%.9g" % value


def read_facts(layer, *, action):
    """The facts that a layer carries, a tuple of Fact, without those that are lettered on it.

    Raises
    ------
    PatternError
        If it was made before facts were written, or carries others than were written; the remedy is to run `action`
        again.
    """
    return tuple(_read_fact(row) for row in _read_rows(layer, action) if not row["lettered"])


def read_findings(layer, plank, page, *, action):
    """What is lettered on a layer of a plank, each at its place: a tuple of Finding.

    Raises
    ------
    PatternError
        As read_facts.
    """
    start, along, across = plank.find_axes()
    found = []
    for row in _read_rows(layer, action):
        if row["lettered"]:
            fact = _read_fact(row)
            place = fact.place or Place()
            where = None if place.along_mm is None else tuple(
                map(float, start + place.along_mm * along + float(row["place-across-mm"]) * across))
            found.append(Finding(fact.words, where, "" if fact.key == _UNNAMED else fact.key, number=fact.number,
                                 unit=fact.unit,
                                 limit=fact.limit, station=place.station, edge=place.edge, verdict=fact.verdict))
    return tuple(found) or _read_older(layer, page)


def _read_rows(layer, action):
    """What each fact of a layer tells, name to text; refused where one is not whole."""
    label = layer.get("{%s}label" % names.INKSCAPE) or names.get(layer, "layer")
    if names.get(layer, "row-1"):
        raise PatternError("The layer %s was made by an older version of these actions." % label,
                           "Run %s again." % action, label)
    try:
        count = int(names.get(layer, "facts", "0"))
        if names.get(layer, "fact-%d-key" % (count + 1)):
            raise ValueError
        return [_read_row(layer, number) for number in range(1, count + 1)]
    except ValueError:
        raise PatternError("The layer %s no longer tells what was found when it was made." % label,
                           "Run %s again." % action, label) from None


def _read_row(layer, number):
    row = {name: names.get(layer, "fact-%d-%s" % (number, name))
           for name in (*_WORDS, *_NUMBERS, "lettered", "place-station", "place-edge", "place-along-mm",
                        "place-across-mm")}
    numbers = [row[name] for name in (*_NUMBERS, "place-along-mm", "place-across-mm") if row[name]]
    if not row["key"] or row["verdict"] not in VERDICTS or not np.isfinite([float(one) for one in numbers]).all():
        raise ValueError
    if row["lettered"] and bool(row["place-along-mm"]) != bool(row["place-across-mm"]):
        raise ValueError
    return row


def _read_fact(row):
    told = {name: row[name] for name in _WORDS}
    told.update((name, float(row[name]) if row[name] else None) for name in _NUMBERS)
    station, edge, along = row["place-station"], row["place-edge"], row["place-along-mm"]
    place = Place(station, edge, float(along) if along else None) if station or edge or along else None
    return Fact(place=place, **told)


def _read_older(layer, page):
    """What a drawing made before 2026-11-29 has lettered: words, and the middle of the ring that goes before them;
    words alone stand nowhere, but for those on the frame lines, which stand where they are lettered.
    """
    found, box = [], None
    for element in layer:
        if not isinstance(element.tag, str):
            continue
        role, words = names.get(element, "role"), names.get(element, "text")
        if role == "ring":
            box = measure_box([element], page)
        elif role == "note" and words and names.get(element, "look") in ("", "finding"):
            if box is None and names.get(layer, "layer") == STATIONS.layer:
                box = measure_box([element], page)
                if box is not None:
                    box[0, 1] = box[1, 1]                          # the foot of the letters
            found.append((words, box, names.get(element, "key"), names.get(element, "number")))
            box = None
    return tuple(Finding(words, None if box is None else tuple(map(float, box.mean(axis=0))), key, _read_number(number),
                         verdict="" if key in _NO_DOUBT else "doubt") for words, box, key, number in found)


def _read_number(text):
    try:
        return float(text)
    except ValueError:
        return None


def read_words(layer):
    """The sentences of the facts that an action has just written on a layer, to be shown: a tuple of str."""
    return list_words(read_facts(layer, action="the action that made it"))


def drop_facts(values):
    """Attributes of a layer, as names.list_values gives them, without those that carry facts."""
    return {name: value for name, value in values.items() if name != "facts" and not name.startswith("fact_")}
