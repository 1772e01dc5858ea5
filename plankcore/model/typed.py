"""What people type, read: labels of frames, put in order and counted on, and settings that must lie between two numbers
or be one of a few words.
"""
from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Any, Collection, Iterable, Sequence

__all__ = [
    "MARK_WORDS",
    "FrameLabel",
    "LabelRule",
    "parse_label",
    "parse_labels",
    "read_frame_text",
    "refuse_outside",
    "refuse_unknown",
    "split_mark_word",
]

# words that may end a mark's label, after its edge and frame: `upper 7 knuckle`
MARK_WORDS = ("knuckle", "nail")

_NUMBERED = re.compile(
    r"^(?P<head>.*?)(?P<sign>-?)(?P<digits>\d+)(?: (?P<part>\d{1,2})/(?P<whole>\d{1,2}))?(?P<tail>[A-Za-z]?)$")
_TEXT = re.compile(
    r"^(?:(?:frame|station|fr\.?|no\.?|#)\s*"
    r"([A-Za-z]{0,3}[ -]?\d{1,4}(?: \d{1,2}/\d{1,2})?[A-Za-z]?|-\d{1,4}|[A-Za-z])|"
    r"([A-Za-z]{1,3}[ -]?\d{1,4}[A-Za-z]?|-?\d{1,4}(?: \d{1,2}/\d{1,2})?[A-Za-z]?))$", re.IGNORECASE)


@dataclass(frozen=True)
class FrameLabel:
    """A label taken apart: the text before its number, the number, a letter after it, and to how many digits it is
    padded with zeros.

    A single letter is a label whose number is its place in the alphabet, from 0; is_letter is then True. case : 'upper'
    or 'lower' of that letter.
    """

    text: str
    head: str
    number: Fraction
    tail: str = ""
    digits: int = 0
    is_letter: bool = False

    @property
    def family(self) -> tuple[str, bool]:
        """What two labels must have in common so that their order can be told from the labels alone."""
        return (self.head.lower(), self.is_letter)

    @property
    def rank(self) -> tuple[Any, ...]:
        """Sort key within its family: 7 before 7A before 7 1/2 before 8."""
        return (self.number, self.tail.lower())

    def count_to(self, other: FrameLabel) -> int | None:
        """How many whole steps another label lies further on; None where counting never reaches it, as from 7 to 7A, F7
        to 8, 12 to 12 1/2."""
        steps = other.number - self.number
        alike = self.family == other.family and self.tail.lower() == other.tail.lower()
        return int(steps) if alike and steps.denominator == 1 else None

    def count_on(self, steps: Fraction | int) -> str | None:
        """The text of the label this many steps further on, or None past the ends of the alphabet."""
        number = self.number + steps
        if self.is_letter:
            return chr((ord("A") if self.text.isupper() else ord("a")) + int(number)) if 0 <= number < 26 else None
        size = abs(number)
        whole, part = divmod(size, 1)
        text = str(int(whole)).zfill(self.digits) + (" %d/%d" % (part.numerator, part.denominator) if part else "")
        return self.head + ("-" if number < 0 else "") + text + self.tail


def parse_label(text: str) -> FrameLabel | None:
    """A FrameLabel, or None where the text cannot be counted on from."""
    plain = " ".join(text.split())
    if re.match(r"^[A-Za-z]$", plain):
        return FrameLabel(plain, "", Fraction(ord(plain.upper()) - ord("A")), is_letter=True)
    match = _NUMBERED.match(plain)
    if not match:
        return None
    head, digits = match.group("head"), match.group("digits")
    if re.search(r"\d[./,]?$", head) or head.endswith("/"):
        return None                      # 12.5 or 1/2: not a whole number
    part = Fraction(0)
    if match.group("whole"):
        if not 0 < int(match.group("part")) < int(match.group("whole")):
            return None
        part = Fraction(int(match.group("part")), int(match.group("whole")))
    number, sign = int(digits) + part, match.group("sign")
    # before bare digits a dash is a minus sign, after letters a separator: -2, F-9
    if sign and not head:
        number = -number
    return FrameLabel(plain, head + (sign if head else ""), number=number, tail=match.group("tail"),
                      digits=len(digits) if digits.startswith("0") else 0)


def parse_labels(texts: Sequence[str]) -> list[FrameLabel | None]:
    """A FrameLabel or None for each text; among labels that begin with F, F-1 is one below F0."""
    found = [parse_label(t) for t in texts]
    heads = {f.head.lower() for f in found if f is not None}
    return [replace(f, head=f.head[:-1], number=-f.number) if f is not None and f.head.endswith("-")
            and f.head[:-1].lower() in heads and f.head[:-1] else f for f in found]


def read_frame_text(text: str) -> str:
    """The label in a text that names a frame ('frame 7', 'Fr. 12 1/2', '7A', '-2'), or ''. A single letter counts only
    with the word frame before it, since it may stand for anything."""
    match = _TEXT.match(" ".join(str(text).split()))
    return (match.group(1) or match.group(2)) if match else ""


def split_mark_word(text: str) -> tuple[str, str]:
    """A label without its last word where that is one of MARK_WORDS, and the word in small letters, or ''.

    Examples
    --------
    >>> split_mark_word("7 Knuckle")
    ('7', 'knuckle')
    >>> split_mark_word("F12")
    ('F12', '')
    """
    rest, _, last = (" " + " ".join(str(text).split())).rpartition(" ")
    return (rest.strip(), last.lower()) if last.lower() in MARK_WORDS else (" ".join(str(text).split()), "")


@dataclass(frozen=True)
class LabelRule:
    """How stations are labelled: the first label, and whether its number counts up or down.

    '7' counted up gives 7, 8, 9; 'F12' counted down gives F12, F11; '-1' up -1, 0, 1; '12 1/2' up 12 1/2, 13 1/2; '7A'
    up 7A, 8A; 'A' up A, B.
    from_end : the end of the plank where counting starts.
    """

    first: str = "1"
    step: int = 1
    from_end: str = "fore"

    def name(self, count: int) -> list[str]:
        """Labels of `count` stations in counting order."""
        return self.name_at(range(count))

    def name_at(self, places: Iterable[int]) -> list[str]:
        """Labels at places counted from 0, the first.

        Raises
        ------
        SettingError
            Where counting on from the first label is not possible, or not so far.
        """
        first = parse_label(self.first)
        if first is None:
            raise SettingError("'%s' is not a label that can be counted on from." % self.first,
                               "Give a number, with letters before it if you like, or one letter: 1, 07, F12, -2, 12 "
                               "1/2, 7A, A.", "First label")
        names = [first.count_on(self.step * k) for k in places]
        there = [name for name in names if name is not None]
        if len(there) < len(names):
            raise SettingError("Counting from '%s' runs out of letters after %d frames." % (
                self.first.strip(), names.index(None)), "Give a number, or a letter and a number.", "First label")
        return there


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
