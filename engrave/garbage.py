"""How often Python looks for garbage."""

from __future__ import annotations

import gc


def collect_seldom() -> None:
    """Let this process look for garbage less often: a book makes many values, and hardly any of them in rings.

    Bought a tenth of a book's processor time, for 2 MB more at its peak.
    """
    gc.set_threshold(60_000, 50, 50)
