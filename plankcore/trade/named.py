"""Lookup of rows of the trade's tables by the names used in settings."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Any, Sequence

__all__ = ["find_named"]


def find_named(rows: Sequence[Any], name: str, *, problem: str, remedy: str, where: str) -> Any:
    """The row with a name; case and surrounding blanks are ignored.

    Parameters
    ----------
    rows : sequence
        Each with a `name`.
    problem, remedy, where : str
        Of the refusal; %s stands in the problem for the name given, in the remedy for the names known.

    Raises
    ------
    SettingError
    """
    plain = str(name).strip().lower()
    for row in rows:
        if row.name == plain:
            return row
    raise SettingError(problem % name, remedy % ", ".join(row.name for row in rows), where)
