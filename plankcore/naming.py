"""A plank's names: those in the drawing come first, typed ones count only where they are known to be meant for this
plank.

A dialog remembers what was last typed into it, for whatever plank that was. So names and measurements from a dialog are
used only if its field "These are for" names the drawing or plank at hand: a field that was left as it was for the last
plank does not match the next. What is typed on a command line or in a recipe was written for its drawing.
Names that the drawing already has stay. Different ones are refused, with a message that gives both, unless the plank
itself is named as the one to rename.
"""
from __future__ import annotations

import os
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from .actions import FAIR
from .errors import DocumentError, SettingError
from .model.plank import Finding, PlankNames

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

__all__ = [
    "FIELD",
    "PlankNames",
    "check_same_thickness",
    "refuse_leftovers",
    "refuse_namesake",
    "settle_names",
    "spell_names",
    "spell_short",
]

FIELD = "These are for"
_KEYS = ("name", "strake", "side", "face", "forward", "thickness_mm")
_WORDS = {"name": "boat", "strake": "strake", "side": "side", "face": "face of the line", "forward": "bow to the",
          "thickness_mm": "thickness"}
_FIELDS = {"side": "Side of the boat", "face": "The line is that of the plank's", "forward": "The bow lies to the"}
_USUAL = {"side": "starboard", "face": "inboard", "forward": "right"}
_SAME_MM = 0.01           # rounding of a thickness that was written in one unit and read in another


def spell_names(names: PlankNames) -> str:
    """What a plank is called, to read and to type: 'Tamsin Grey, strake 5, port'."""
    return ", ".join(w for w in (names.name, "strake %s" % names.strake if names.strake else "", names.side) if w)


def spell_short(names: PlankNames) -> str:
    """Strake and side, which distinguish a plank from the others of its boat: '5 port'."""
    return " ".join(w for w in (names.strake, names.side) if w)


def _split(words):
    return sorted(w for w in re.split(r"[\s,;]+", words.casefold()) if w and w != "strake")


def _fits_plank(words, names, *, short):
    """Whether a text names a plank that has a strake: boat, strake and side, or with `short` strake and side alone."""
    if not names.strake or not words.strip():
        return False
    known = [_split(spell_names(names))] + ([_split(spell_short(names))] if short else [])
    return _split(words) in known


def _fits_file(words, file_name):
    """Whether a text is the drawing's file name, with or without its suffix."""
    words = words.strip().casefold()
    return bool(words) and words in (file_name.casefold(), os.path.splitext(file_name)[0].casefold())


def _same(key, a, b):
    return abs(a - b) <= _SAME_MM if key == "thickness_mm" else " ".join(a.split()).casefold() == " ".join(
        b.split()).casefold()


def _tell(key, value):
    return "%s %s" % (_WORDS[key], "%.4g mm" % value if key == "thickness_mm" else value)


def settle_names(typed: PlankNames, known: PlankNames | None, *, meant_for: str, file_name: str, in_dialog: bool,
                 boats: Sequence[str] = ()) -> tuple[PlankNames, list[Finding]]:
    """The names for a plank that is being faired.

    Parameters
    ----------
    typed : PlankNames
        From the dialog, the recipe or the command line; empty fields are not given.
    known : PlankNames or None
        From the drawing, if this plank was faired before.
    meant_for : str
        The field "These are for": the drawing's file name, or the present names of a plank that is to be renamed.
    file_name : str
        The drawing's own, '' where it was never saved.
    in_dialog : bool
        Whether the names come out of a dialog, which may hold those of another plank.
    boats : sequence of str
        Boats of the drawing's other planks.

    Returns
    -------
    names : PlankNames
    findings : list of Finding
        Names that were ignored, changed, taken from other planks or assumed, and names that are missing.

    Raises
    ------
    SettingError, DocumentError
        If a name that is needed is given nowhere, or if the typed names may be another plank's.
    """
    findings = []
    if known is None:
        if in_dialog:
            _refuse_unsaid(typed)
            _refuse_unmeant(typed, _KEYS, meant_for, file_name)
        names = replace(typed, assumed=tuple(k for k in _USUAL if not getattr(typed, k)))
        usual: dict[str, Any] = {k: _USUAL[k] for k in names.assumed}
        names = replace(names, **usual)
    else:
        names, findings = _settle_again(typed, known, meant_for=meant_for, file_name=file_name, in_dialog=in_dialog)
    others = list({" ".join(b.split()).casefold(): " ".join(b.split()) for b in reversed(boats) if b.strip()}.values())
    if not names.name and len(others) == 1:
        names = replace(names, name=others[0])
        findings.append(Finding("Boat: %s, as the other planks of the drawing have it." % others[0],
                                key="boat-of-the-others"))
    elif names.name and others and not any(_same("name", names.name, other) for other in others):
        findings.append(Finding("This plank is said to be of %s, and other planks of the drawing are of %s."
                                % (names.name, " and ".join(others)), key="another-boat"))
    if names.assumed:
        findings.append(Finding("Nobody has said %s: taken as usual. Say so in %s, Names."
                                % (", ".join(_tell(k, getattr(names, k)) for k in names.assumed), FAIR.title),
                                key="taken-as-usual"))
    unnamed = [_WORDS[k] for k in ("name", "strake") if not getattr(names, k)]
    if unnamed:
        findings.append(Finding("Not named yet: no %s. Give it in %s, Names." % (", no ".join(unnamed), FAIR.title),
                                key="not-named"))
    return names, findings


def _refuse_unsaid(typed):
    unsaid = [k for k in _USUAL if not getattr(typed, k)]
    if unsaid:
        raise SettingError("The drawing does not say yet what this plank is: %s."
                           % "; ".join("'%s'" % _FIELDS[k] for k in unsaid),
                           "Choose it under Names, as it is for this plank.", "Names: %s" % _FIELDS[unsaid[0]])


def _refuse_unmeant(typed, keys, meant_for, file_name):
    """Refuse a dialog's names for a new plank, unless they are marked as being for this drawing."""
    if _fits_file(meant_for, file_name):
        return
    told = ", ".join(_tell(k, getattr(typed, k)) for k in keys if getattr(typed, k))
    if not file_name:
        raise DocumentError("The dialog says %s. That may be left over from another plank, and a drawing without a "
                            "file name cannot be told from another." % told,
                            "Save the drawing, look at the Names, and write its file name in the field '%s'." % FIELD,
                            "Names: %s" % FIELD)
    raise SettingError("The dialog says %s. The drawing does not know this plank yet, and these names are %s."
                       % (told, "for '%s'" % meant_for.strip() if meant_for.strip() else "not said to be its own"),
                       "Look at the Names. If they are this plank's, write %s in the field '%s'."
                       % (file_name, FIELD), "Names: %s" % FIELD)


def _settle_again(typed, known, meant_for, file_name, in_dialog):
    """Names and findings for a plank that already has names in the drawing."""
    said = [k for k in _KEYS if getattr(typed, k)]
    open_keys = [k for k in _KEYS if not getattr(known, k) or k in known.assumed]
    differing = [k for k in said if k not in open_keys and not _same(k, getattr(typed, k), getattr(known, k))]
    added = [k for k in said if k in open_keys]
    rename = _fits_plank(meant_for, known, short=False)
    if not rename and meant_for.strip().casefold().endswith(".svg") and not _fits_file(meant_for, file_name):
        left = [k for k in differing + added if not _same(k, getattr(typed, k), getattr(known, k))]
        told = "Names in the dialog are for %s and were left aside: %s. This plank stays %s." % (
            meant_for.strip(), ", ".join(_tell(k, getattr(typed, k)) for k in left), spell_names(known))
        return known, [Finding(told, key="names-left-aside")] * bool(left)
    if rename:
        names = replace(known, assumed=tuple(k for k in known.assumed if k not in said),
                        **{k: getattr(typed, k) for k in said})
        changed = [k for k in differing if getattr(typed, k) != getattr(known, k)]
        was = ", ".join(_tell(k, getattr(known, k)) for k in changed)
        return names, [Finding("Renamed: it was %s." % was, key="renamed")] * bool(changed)
    if differing:
        here, there = (", ".join(_tell(k, getattr(one, k)) for k in differing) for one in (known, typed))
        to_rename = spell_names(known) if known.strake else ""
        raise SettingError("This drawing's plank is %s: %s. The %s: %s."
                           % (spell_names(known), here, "dialog says" if in_dialog else "settings say", there),
                           "Leave those fields empty, or as the drawing says, to go on with the drawing's names. "
                           + ("To rename the plank, write %s in the field '%s'." % (to_rename, FIELD) if to_rename
                              else "To change them, give the plank its strake first."), "Names: %s" % FIELD)
    if in_dialog and added:
        _refuse_unmeant(typed, added, meant_for, file_name)
    return replace(known, assumed=tuple(k for k in known.assumed if k not in added),
                   **{k: getattr(typed, k) for k in added}), []


def refuse_namesake(names: PlankNames, others: Sequence[tuple[PlankNames, str]]) -> None:
    """Refuse names that another plank of the drawing has already.

    Parameters
    ----------
    names : PlankNames
    others : sequence of (PlankNames, str)
        The other planks' names, and a description of each for the message.

    Raises
    ------
    SettingError
    """
    for other, words in others:
        if all(_same(k, getattr(names, k), getattr(other, k)) for k in ("name", "strake", "side")):
            raise SettingError("The drawing has a plank that is called the same: %s." % words,
                               "Call this one otherwise; lengths of one strake are told apart by a letter behind it, "
                               "such as 5f and 5a. To run the action on that plank again, select it.", "Strake")


def refuse_leftovers(names: PlankNames, typed: Mapping[str, str], *, meant_for: str, file_name: str,
                     in_dialog: bool) -> None:
    """Refuse typed data of one plank unless they are marked as being for this plank.

    Parameters
    ----------
    names : PlankNames
        As the drawing has them.
    typed : dict
        {field: text} for all fields that apply to one plank only; '' where nothing was typed.
    meant_for : str
        The field "These are for": '5 port', 'Tamsin Grey, strake 5, port'; or the drawing's file name.
    file_name : str
        The drawing's own, or '' where it does not identify one plank.
    in_dialog : bool
        As in settle_names.

    Raises
    ------
    SettingError
        With the fields named.
    """
    told = {field: text.strip() for field, text in typed.items() if text.strip()}
    if not told or _fits_plank(meant_for, names,
                               short=True) or _fits_file(meant_for, file_name) or not (in_dialog or meant_for.strip()):
        return
    answer = spell_short(names) if names.strake else file_name
    said = "; ".join("%s (%s)" % (field, text if len(text) <= 40 else text[:37] + "...")
                     for field, text in told.items())
    raise SettingError("%s, and what the dialog holds is %s: %s." % (
        "This plank is " + spell_names(names) if spell_names(names) else "No one plank is named by the drawing",
        "for '%s'" % meant_for.strip() if meant_for.strip() else "not said to be for it", said),
                       ("Look at those fields. If they are this plank's, write %s in the field '%s'; else empty "
                        "them, or set them as they are for this plank and write it." % (answer, FIELD)) if answer
                       else "Give the plank its strake in %s, then write it here." % FAIR.title, FIELD)


def check_same_thickness(typed_mm: float, names: PlankNames, *, field: str) -> None:
    """Refuse a thickness, mm, that differs from the drawing's; 0 means not given.

    Raises
    ------
    SettingError
    """
    if typed_mm and names.thickness_mm and not _same("thickness_mm", typed_mm, names.thickness_mm):
        raise SettingError("The plank %s is %.4g mm thick by the drawing, and %.4g mm by the dialog."
                           % (spell_names(names), names.thickness_mm, typed_mm),
                           "Leave the field empty, or 0, for the drawing's; if that is wrong, mend it in %s, "
                           "Names." % FAIR.title, field)
