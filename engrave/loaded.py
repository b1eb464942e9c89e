"""Importing this loads the libraries that a book needs, for processes that will be asked for nothing else."""

from importlib import import_module

from engrave.pages.press import warm

for library in ("engrave.book", "engrave.fretting.refingered", "verovio"):
    import_module(library)
warm()
