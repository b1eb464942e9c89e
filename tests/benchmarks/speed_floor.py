"""What the libraries take by themselves, and what the plain way takes, on the very pages of a book.

    python tests/benchmarks/speed_floor.py floor FOLDER      verovio engraves the plain staves and writes its pictures,
                                                             WeasyPrint prints the pages with room for the music
    python tests/benchmarks/speed_floor.py plain FOLDER      the same pages with verovio's pictures in the page

Run in a process of its own, without a line of the program; FOLDER is what speed_record.py has written.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

_PICTURE = re.compile(r'<img src="plate:(?P<name>[a-z]+)\d*-(?P<system>\d+)"[^>]* style="(?P<style>[^"]*)"[^>]*>')
_NESTED = re.compile(
    r'^.*?(?P<defs><defs>.*?</defs>).*?<svg class="definition-scale"[^>]*viewBox="0 0 (?P<w>\d+) (?P<h>\d+)"[^>]*>'
    r"(?P<content>.*)</svg>\s*</svg>\s*$",
    re.DOTALL,
)
UNITS = 180 / 1.8
"""verovio's drawing units in a mm, where the staff is 7.2 mm high"""


def engraved(record: dict[str, Any]) -> list[str]:
    """Verovio's own picture of each plate: the staff alone."""
    import verovio  # noqa: PLC0415 (a part of what is measured)

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(record["options"])
    made = []
    for width, mei in record["plates"]:
        toolkit.setOptions({"pageWidth": width})
        assert toolkit.loadData(mei)
        made.append("".join(toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)))
    return made


def without_music(html: str) -> str:
    """The page with empty room for each picture."""
    return _PICTURE.sub(lambda found: f'<div style="{found["style"]}"></div>', html)


def with_plain_music(pages: Iterable[str], pictures: Sequence[str]) -> Iterator[str]:
    """The pages with verovio's pictures in them: that of a plate stands in place of its first system.

    The line's own plate comes first in `pictures`, then the variations' in order; diagrams are left out.
    """
    line, *variations = pictures
    ahead = iter(variations)

    def inline(found: re.Match[str]) -> str:
        if found["name"] not in ("line", "music"):
            return f'<div style="{found["style"]}"></div>'
        if found["system"] != "1":
            return ""
        return flattened(line if found["name"] == "line" else next(ahead))

    return (_PICTURE.sub(inline, html) for html in pages)


def flattened(svg: str) -> str:
    """Verovio's nested picture as one that WeasyPrint draws."""
    found = _NESTED.match(svg)
    assert found, svg[:400]
    wide, high = int(found["w"]), int(found["h"])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide / UNITS:.2f}mm" height="{high / UNITS:.2f}mm"'
        f' viewBox="0 0 {wide} {high}">{found["defs"]}{found["content"]}</svg>'
    )


def printed(pages: Iterable[str]) -> bytes:
    """The pages as WeasyPrint prints them, tagged as a book's are."""
    import weasyprint  # noqa: PLC0415 (a part of what is measured)

    return b"".join(weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1") for html in pages)


def main(what: str, folder: str) -> None:
    """Measure nothing, only do the work; writes the PDF beside the record."""
    home = Path(folder).absolute()
    os.environ["FONTCONFIG_FILE"] = str(home / "fonts.conf")
    record = json.loads((home / "record.json").read_text(encoding="utf-8"))
    pictures = engraved(record)
    pages = record["pages"]
    made = map(without_music, pages) if what == "floor" else with_plain_music(pages, pictures)
    (home / f"{what}.pdf").write_bytes(printed(made))


if __name__ == "__main__":
    main(*sys.argv[1:])
