"""Prints a book in this process and looks on: for how long each stage runs, and what is handed to the libraries.

    python tests/benchmarks/speed_record.py stages PASSAGE PLAN FOLDER     CPU seconds by stage, as JSON
    python tests/benchmarks/speed_record.py record PASSAGE PLAN FOLDER     writes FOLDER/record.json for speed_floor.py:
                                                                           every staff's MEI and every page description

Run in a process of its own, one book a process: what is loaded on the way is a stage of its own.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).absolute().parents[2]))
clock = time.process_time
LIBRARIES = ("verovio", "weasyprint", "jinja2", "numpy", "highspy", "fontTools", "pydyf", "pypdf")
"""what a book loads from outside"""


class Watch:
    """CPU seconds of functions, each without those watched inside it."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = {}
        self._inner = [0.0]

    def around(self, stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """`function`, its time counted under `stage`."""

        def watched(*args: Any, **extra: Any) -> Any:
            self._inner.append(0.0)
            start = clock()
            try:
                return function(*args, **extra)
            finally:
                taken = clock() - start
                self.spent[stage] = self.spent.get(stage, 0.0) + taken - self._inner.pop()
                self._inner[-1] += taken

        return watched


def everywhere(old: object, new: object) -> None:
    """Put `new` for `old` in every module of the program that holds it."""
    for name, module in sorted(sys.modules.items()):
        if name.partition(".")[0] == "engrave":
            for key, value in sorted(vars(module).items()):
                if value is old:
                    setattr(module, key, new)


def printed(watch: Watch, passage: str, plan: str, folder: Path) -> None:
    """A book from its files to the disk, as the command prints it."""
    from engrave import axes, exchange, plates, reading  # noqa: PLC0415 (a stage of its own)
    from engrave import line as book  # noqa: PLC0415 (as above)
    from engrave.fretting.fingered import fret  # noqa: PLC0415 (as above)
    from engrave.regimen import choose, read_plan  # noqa: PLC0415 (as above)

    stages: dict[str, Callable[..., Any]] = {
        "fret": fret, "choose": choose, "vary": axes.vary, "engrave": plates.draw, "write the music inside":
        exchange.to_musicxml, "press": book.press,
    }  # fmt: skip
    for stage, function in stages.items():
        everywhere(function, watch.around(stage, function))
    data = Path(passage).read_bytes()
    music = watch.around("read", reading.read)(data, Path(passage).name)
    asked = watch.around("read", read_plan)(Path(plan).read_text(encoding="utf-8"), plan)
    pdf = book.press(book.make(music, asked))
    watch.around("write", (folder / "stages.pdf").write_bytes)(pdf)


def stages(passage: str, plan: str, folder: Path) -> dict[str, float]:
    """CPU seconds by stage; "load" is Python's start and all that is imported."""
    watch = Watch()

    def load() -> None:
        for name in LIBRARIES:
            __import__(name)

    watch.around("load", load)()
    start = clock()
    printed(watch, passage, plan, folder)
    watch.spent["rest"] = clock() - start - sum(v for k, v in watch.spent.items() if not k.startswith("load"))
    watch.spent["load"] += clock() - sum(watch.spent.values())
    return {stage: round(seconds, 4) for stage, seconds in watch.spent.items()}


def record(passage: str, plan: str, folder: Path) -> None:
    """Write the MEI of each plate's staff and the page descriptions, with their fonts, to FOLDER."""
    import verovio  # noqa: PLC0415 (loaded here to be looked on at)

    from engrave import plates, resources, typefaces  # noqa: PLC0415 (as above)
    from engrave.pages.fonts import fonts_for  # noqa: PLC0415 (as above)
    from engrave.pages.printing import Printer  # noqa: PLC0415 (as above)
    from engrave.pages.sign_font import SIGNS, sign_font  # noqa: PLC0415 (as above)
    from engrave.pages.templates import SIGNS_URL, font_sheet, style_sheet  # noqa: PLC0415 (as above)
    from engrave.plates import staff  # noqa: PLC0415 (as above)

    engraved: list[tuple[int, str]] = []
    last: dict[str, Any] = {}
    pages: list[str] = []
    styles: list[str] = []
    written = Printer.pdf
    draw = plates.draw

    class Toolkit(verovio.toolkit):
        """Keeps the last music it is given."""

        def setOptions(self, options: dict[str, Any]) -> Any:  # noqa: N802 (verovio's name)
            """As verovio does."""
            last.update(options)
            return super().setOptions(options)

        def loadData(self, data: str) -> Any:  # noqa: N802 (verovio's name)
            """As verovio does."""
            if data != last.get("mei"):
                # a short last line is engraved again, narrower: the floor is the whole width, once
                last.update(mei=data, width=last["pageWidth"])
            return super().loadData(data)

    def laid(self: Printer, html: str, *args: Any, **extra: Any) -> bytes:
        fonts = tuple(fonts_for(html, SIGNS))
        style = f"{font_sheet(fonts)}\n{styles[-1]}"
        cut = {font.url: typefaces.cut(font.face, font.letters) for font in fonts}
        for number, (url, data) in enumerate({SIGNS_URL: sign_font(), **cut}.items()):
            file = folder.absolute() / f"font-{number}.otf"
            file.write_bytes(data)
            style = style.replace(url, file.as_uri())
        pages.append(html.replace("</head>", f"<style>{style}</style></head>"))
        return written(self, html, *args, **extra)

    def styled(*args: Any) -> str:
        styles.append(style_sheet(*args))
        return styles[-1]

    def drawn(*args: Any, **extra: Any) -> Any:
        # the floor engraves every staff, also those that are like another
        staff._engraved.cache_clear()
        made = draw(*args, **extra)
        engraved.append((last.pop("width"), last.pop("mei")))
        return made

    staff.accent_shapes()
    staff._toolkit.cache_clear()
    setattr(verovio, "toolkit", Toolkit)  # noqa: B010 (a class is not assigned to in the eyes of the type checker)
    everywhere(draw, drawn)
    everywhere(style_sheet, styled)
    setattr(Printer, "pdf", laid)  # noqa: B010 (as above)
    printed(Watch(), passage, plan, folder)
    (folder / "fonts.conf").write_text(resources.text("templates/fonts.conf"), encoding="utf-8")
    rows = {
        "options": staff._OPTIONS,
        # the line is drawn first to see how long it is, and again for its page
        "plates": engraved[1:],
        "pages": pages,
    }
    (folder / "record.json").write_text(json.dumps(rows), encoding="utf-8")


if __name__ == "__main__":
    _, what, source, asked, where = sys.argv
    if what == "record":
        record(source, asked, Path(where))
    else:
        print(json.dumps(stages(source, asked, Path(where)), indent=1))
