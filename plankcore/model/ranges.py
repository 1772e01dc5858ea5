"""The one reader of ranges: settings that must lie between two numbers, or be one of a few words, are refused here."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Collection

__all__ = ["refuse_outside", "refuse_unknown"]


def refuse_outside(value: float, least: float, most: float, *, problem: str, remedy: str, field: str,
                   told: str | None = None, above: bool = False, whole: bool = False) -> None:
    """Refuse a number that lies outside its range; NaN lies outside every range.

    Parameters
    ----------
    value, least, most : float
        All in one unit. Both ends are allowed; with `above` the least is not. With `whole` only whole numbers are.
    problem : str
        %g or %s in it stands for the number, or for `told`, the number in words.
    remedy, field : str
        What to give, and where.

    Raises
    ------
    SettingError
    """
    if (least < value if above else least <= value) and value <= most and (not whole or value == int(value)):
        return
    raise SettingError(problem % (value if told is None else told) if "%" in problem else problem, remedy, field)


def refuse_unknown(value: str, known: Collection[str], *, problem: str = "'%s' is not known here.",
                   remedy: str = "Use one of: %s.", field: str) -> None:
    """Refuse a word that is not one of those known.

    Parameters
    ----------
    problem, remedy : str
        %s stands in the problem for the word given, in the remedy for those known.

    Raises
    ------
    SettingError
    """
    if value not in known:
        raise SettingError(problem % value, remedy % ", ".join(known) if "%" in remedy else remedy, field)
