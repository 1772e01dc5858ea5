"""Rows of the trade's tables found by the names that settings call them by."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Any, Sequence

__all__ = ["find_named"]


def find_named(rows: Sequence[Any], name: str, *, problem: str, remedy: str, where: str) -> Any:
    """The row of a name; case and outer blanks do not count.

    Parameters
    ----------
    rows : sequence
        Each with a `name`.
    problem, remedy, where : str
        Of the refusal; %s in the problem stands for the name that was given, in the remedy for those there are.

    Raises
    ------
    SettingError
    """
    plain = str(name).strip().lower()
    for row in rows:
        if row.name == plain:
            return row
    raise SettingError(problem % name, remedy % ", ".join(row.name for row in rows), where)
