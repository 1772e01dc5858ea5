"""An invented plank of 2.4 m whose lower edge turns at a knuckle: its marks at eleven frames, and both ends."""
import numpy as np

__all__ = ["AT", "LENGTH", "NAMES", "PAGE", "TURN", "draw_shapes", "lower", "upper"]

LENGTH, AT, TURN = 2400.0, 1200.0, 0.06
PAGE = 'width="2600mm" height="400mm" viewBox="0 0 2600 400"'
NAMES = {"boat": "Tern of Nowhere", "strake": "5", "side": "starboard", "face": "inboard", "forward": "right",
         "thickness": "22 mm"}


def upper(x):
    """y of the upper edge over x, mm."""
    return 100 - 50 * np.sin(np.pi * x / 2600)


def lower(x):
    """y of the lower edge over x, mm."""
    return upper(x) + 125 - np.where(x > AT, TURN * (x - AT), 0.0)


def draw_shapes():
    """A group 'all' of marks at eleven frames, the sixth of the lower edge a knuckle, and both ends."""
    parts = []
    for name, function in (("upper", upper), ("lower", lower)):
        for k, x in enumerate(np.linspace(LENGTH - 5, 5, 11), 1):
            x = AT if k == 6 else x
            word = " knuckle" if (name, k) == ("lower", 6) else ""
            parts.append('<circle id="%s%d" cx="%.6f" cy="%.6f" r="2" inkscape:label="%s %d%s"/>' % (
                name, k, x + 100, function(x), name, k, word))
    parts += ['<path id="%s" d="M %g,20 L %g,260"/>' % (n, x + 100, x + 100) for n, x in (("fore", LENGTH), ("aft", 0))]
    return '<g id="all">%s</g>' % "".join(parts)
