"""Importing this loads what a book needs, and lays a page out, for processes that will be asked for nothing else.

They are copies of one that has done so while the passage was still being read: what the first page of a process takes
more than others, a quarter of a second, is then taken once, and by the way.
"""

from contextlib import suppress
from importlib import import_module

from engrave.pages.press import warm

for library in ("engrave.book", "engrave.fretting.refingered", "verovio"):
    import_module(library)
# whatever is wrong is met again where it can be told
with suppress(Exception):
    warm()
