"""The one family of errors a user can meet.

Every one says what is wrong, what to do, and where. Anything else that escapes is a fault
in the program and is reported as such at the border.
"""
from __future__ import annotations

__all__ = [
    "ChangedPlankError",
    "DocumentError",
    "EmptyPathError",
    "PatternError",
    "PlankError",
    "SelectionError",
    "SettingError",
]


class PlankError(Exception):
    """The work cannot go on, for a reason that the user can put right.

    Parameters
    ----------
    problem : str
        What is wrong, in the trade's words, with the number.
    remedy : str
        What to do about it.
    where : str or tuple of float, optional
        A field, file or label, or a point (x, y) in mm on the page.
    """

    def __init__(self, problem, remedy, where=None):
        self.problem, self.remedy, self.where = problem, remedy, where
        super().__init__(problem)

    def __str__(self):
        text = "Problem: %s\nRemedy: %s" % (self.problem, self.remedy)
        if self.where is None:
            return text
        if isinstance(self.where, str):
            return text + "\nWhere: " + self.where
        return text + "\nWhere: %.1f mm from the left and %.1f mm from the top of the page" % tuple(self.where)


class SelectionError(PlankError):
    """The wrong thing, or nothing, is selected."""


class PatternError(PlankError):
    """The traced shape cannot be read as a plank, or cannot take what is asked of it."""


class EmptyPathError(PatternError):
    """A path without any length: some actions skip it."""


class ChangedPlankError(PatternError):
    """A fair plank was changed since it was faired. A class of its own, since a plank made by turning needs another
    remedy."""


class SettingError(PlankError):
    """A field of a dialog or recipe holds something that cannot be used."""


class DocumentError(PlankError):
    """The drawing as a whole cannot be trusted: no true size, damaged, unreadable."""
