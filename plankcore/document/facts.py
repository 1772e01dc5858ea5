"""Facts as attributes of a layer, written and read back: fact-1-key, fact-1-words and so on, and `facts`, how many
there are.
"""
from __future__ import annotations

from ..errors import PatternError
from ..model.facts import VERDICTS, Fact, Place, list_words
from . import names

__all__ = ["drop_facts", "put_facts", "read_facts", "read_words"]

_WORDS = ("key", "words", "brief", "verdict", "unit", "source", "about")
_NUMBERS = ("number", "limit")


def put_facts(layer, facts):
    """Let a layer carry facts; of each only what it tells."""
    if not facts:
        return
    values = {"facts": len(facts)}
    for number, fact in enumerate(facts, 1):
        told = {name: getattr(fact, name) for name in _WORDS}
        told.update((name, _spell_number(getattr(fact, name))) for name in _NUMBERS)
        if fact.place is not None:
            told.update(place_station=fact.place.station, place_edge=fact.place.edge,
                        place_along_mm=_spell_number(fact.place.along_mm))
        values.update(("fact_%d_%s" % (number, name), value) for name, value in told.items() if value)
    names.put(layer, **values)


def _spell_number(value):
    return "" if value is None else "%.9g" % value


def read_facts(layer, *, action):
    """The facts that a layer carries, a tuple of Fact.

    Raises
    ------
    PatternError
        If it was made before facts were written, or carries others than were written; the remedy is to run `action`
        again.
    """
    label = layer.get("{%s}label" % names.INKSCAPE) or names.get(layer, "layer")
    if names.get(layer, "row-1"):
        raise PatternError("The layer %s was made by an older version of these actions." % label,
                           "Run %s again." % action, label)
    try:
        count = int(names.get(layer, "facts", "0"))
        if names.get(layer, "fact-%d-key" % (count + 1)):
            raise ValueError
        return tuple(_read_fact(layer, number) for number in range(1, count + 1))
    except ValueError:
        raise PatternError("The layer %s no longer tells what was found when it was made." % label,
                           "Run %s again." % action, label) from None


def _read_fact(layer, number):
    def get(name):
        return names.get(layer, "fact-%d-%s" % (number, name))
    told = {name: get(name) for name in _WORDS}
    if not told["key"] or told["verdict"] not in VERDICTS:
        raise ValueError
    told.update((name, float(get(name)) if get(name) else None) for name in _NUMBERS)
    station, edge, along = get("place-station"), get("place-edge"), get("place-along-mm")
    place = Place(station, edge, float(along) if along else None) if station or edge or along else None
    return Fact(place=place, **told)


def read_words(layer):
    """The sentences of the facts that an action has just written on a layer, to be shown: a tuple of str."""
    return list_words(read_facts(layer, action="the action that made it"))


def drop_facts(values):
    """Attributes of a layer, as names.list_values gives them, without those that carry facts."""
    return {name: value for name, value in values.items() if name != "facts" and not name.startswith("fact_")}
