"""WeasyPrint is loaded without what it seldom needs, and finds that when it does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SELDOM = ("fontTools.subset", "fontTools.varLib.instancer")
ASKED = """
import sys
sys.path.insert(0, {root!r})
from engrave.pages.loading import weasyprint
weasyprint()
seldom = {seldom}
print([name for name in seldom if name in sys.modules])
from weasyprint.pdf import fonts
options = fonts.subset.Options(retain_gids=True)
print(type(options).__module__, options.retain_gids, hasattr(fonts.subset, "__path__"))
try:
    fonts.instantiateVariableFont(None, None)
except Exception:
    print([name for name in seldom if name in sys.modules])
import fontTools.subset
print(type(options) is fontTools.subset.Options)
"""


def test_what_is_seldom_needed_is_loaded_when_it_is_called() -> None:
    """In a process of its own: not while WeasyPrint is loaded, and what is called then is the library's own."""
    run = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", ASKED.format(root=str(ROOT), seldom=SELDOM)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.splitlines() == ["[]", "fontTools.subset True False", str(list(SELDOM)), "True"]
