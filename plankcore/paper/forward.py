"""What is lettered of how a board lies on the page: made from the plank's names, and made anew when it is turned."""
from __future__ import annotations

__all__ = ["FORWARD", "tell_forward"]

FORWARD = "forward"       # role of lettering that says which way the bow lies


def tell_forward(forward: str) -> str:
    """'FWD TO THE LEFT', for 'left'."""
    return "FWD TO THE %s" % forward.upper()
