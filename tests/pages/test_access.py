"""What a reader with a screen reader, or without any font installed, finds in a book (ISO 14289-1, PDF/UA-1)."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from pypdf.generic import ContentStream, DictionaryObject

from engrave.model import Study
from engrave.pages import BookContent, press
from tests.pages import printed
from tests.pages.conftest import content


def test_the_file_says_it_is_tagged_and_in_which_language(pdf: bytes) -> None:
    """ISO 14289-1: marked, with a language, a title that is shown, and its identifier in the metadata."""
    root: Any = printed.reader(pdf).root_object
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert 'xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"' in metadata
    assert "part" in metadata
    assert printed.reader(pdf).metadata.title == "Heron in the reeds"  # type: ignore[union-attr]


def test_headings_step_down_one_level_at_a_time(pdf: bytes) -> None:
    """One H1 opens the book and no level is skipped on the way down (ISO 14289-1, 7.4.2)."""
    levels = [int(tag.kind[2:]) for tag in printed.tags(pdf) if tag.kind in ("/H1", "/H2", "/H3", "/H4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_picture_says_its_music_in_words(pdf: bytes, book: BookContent) -> None:
    """Each system of each plate is a Figure whose alternative text is the plate's own words."""
    alts = [tag.alt for tag in printed.tags(pdf) if tag.kind == "/Figure"]
    assert all(alts)
    for plate in (book.line_plate, *(sheet.plate for sheet in book.sheets)):
        for system in plate.systems:
            assert system.words
            assert system.words in alts


def test_each_picture_is_framed_where_it_is_drawn(pdf: bytes) -> None:
    """The frame of a Figure (ISO 32000-1, 14.8.5.4.3) holds ink of its page, and lies within the margins."""
    source = printed.reader(pdf)
    framed = 0
    for number, (left, low, right, high) in printed.frames(source):
        page = source.pages[number]
        inside = [
            (x, y) for x, y in printed.ink(page) if left - 0.5 <= x <= right + 0.5 and low - 0.5 <= y <= high + 0.5
        ]
        assert len(inside) > 20
        assert max(x for x, _ in inside) - min(x for x, _ in inside) > 0.9 * (right - left) - 1
        framed += 1
    assert framed == len([tag for tag in printed.tags(pdf) if tag.kind == "/Figure"])


def test_figures_of_both_hands_are_said_too(pdf: bytes) -> None:
    """Neck, ladder and log are told in words."""
    alts = " ".join(tag.alt for tag in printed.tags(pdf))
    assert "Places on the neck: string 1 open" in alts
    assert "Tempo steps: 50, 60, 72; 5 times each." in alts
    assert "room for the teacher’s hand" in alts


def test_tables_have_headers(pdf: bytes) -> None:
    """The index and the legend are tables with header cells."""
    kinds = [tag.kind for tag in printed.tags(pdf)]
    assert kinds.count("/Table") >= 2
    assert "/TH" in kinds
    assert "/TD" in kinds


def test_every_font_is_embedded_and_none_is_the_machines(pdf: bytes) -> None:
    """All fonts are the book's two families, embedded as subsets with a map to Unicode."""
    seen = set()
    for page in printed.reader(pdf).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            row = font.get_object()
            seen.add(str(row["/BaseFont"]).split("+")[1].split(",")[0])
            assert "/ToUnicode" in row
            descriptor = row["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/FontFile3" in descriptor
    assert seen == {"Book", "Signs"}


def test_a_face_is_embedded_once(pdf: bytes) -> None:
    """All pages share one file for each face, and one of signs."""
    files: dict[str, set[int]] = {}
    for page in printed.reader(pdf).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            row = font.get_object()
            descriptor = row["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            files.setdefault(str(row["/BaseFont"]), set()).add(descriptor.raw_get("/FontFile3").idnum)
    assert len(files) == 4
    assert all(len(found) == 1 for found in files.values()), files


def test_pages_are_read_in_the_order_of_their_tags(pdf: bytes) -> None:
    """Every page has a tab order by structure (ISO 14289-1, 7.18.3).

    Its entry in the tree of parents names the tags that hold its marked pieces, in order (ISO 32000-1, 14.7.4.4).
    """
    source = printed.reader(pdf)
    root: Any = source.root_object["/StructTreeRoot"]
    nums = root["/ParentTree"].get_object()["/Nums"]
    parents = dict(zip(map(int, nums[::2]), nums[1::2], strict=True))
    assert list(parents) == sorted(parents)
    links = 0
    for page in source.pages:
        row: Any = page
        assert row["/Tabs"] == "/S"
        for mark, tag in enumerate(parents.pop(row["/StructParents"]).get_object()):
            element = tag.get_object()
            assert element["/Pg"].get_object() == page
            assert mark in element["/K"]
        for annotation in row.get("/Annots", []):
            link = annotation.get_object()
            element = parents.pop(link["/StructParent"]).get_object()
            assert element["/S"] == "/Link"
            kids = [kid.get_object() for kid in element["/K"]]
            assert any(isinstance(kid, DictionaryObject) and kid.raw_get("/Obj") == annotation for kid in kids)
            links += 1
    assert parents == {}
    assert links > 0


def test_no_tag_leads_nowhere(pdf: bytes) -> None:
    """Every tag hangs under the one that names it as its child, and stands on a page of the book (14.7.2)."""
    source = printed.reader(pdf)
    pages = {page.indirect_reference for page in source.pages}
    top: Any = source.root_object["/StructTreeRoot"]["/K"][0]  # type: ignore[index]
    waiting, seen = [(top, kid) for kid in top.get_object()["/K"]], 0
    while waiting:
        parent, kid = waiting.pop()
        row = kid.get_object()
        if not hasattr(row, "get") or row.get("/Type") != "/StructElem":
            continue
        assert row["/P"].get_object() == parent.get_object()
        assert row.raw_get("/Pg") in pages
        waiting += [(kid, below) for below in row["/K"]]
        seen += 1
    assert seen > 100


def test_a_plain_staff_is_stored_once() -> None:
    """Many pages paint the same staff, which names the shapes it needs as its own resources."""
    studies = tuple((Study(pluck=pair), "Pairs") for pair in ("p-i", "i-p", "i-m", "m-i", "m-a"))
    book = printed.reader(press(content(studies=studies)))
    staves: dict[str, set[int]] = {}
    shapes: dict[str, set[int]] = {}
    painted = 0
    for page in book.pages:
        resources: Any = page["/Resources"]
        forms = resources.get("/XObject", {})
        for name in forms:
            form = forms[name]
            if "/Resources" in form:
                staves.setdefault(name, set()).add(forms.raw_get(name).idnum)
                painted += 1
                inner = form["/Resources"]["/XObject"]
                asked = {
                    operands[0] for operands, operator in ContentStream(form, book).operations if operator == b"Do"
                }
                assert asked == set(inner)
                for key in inner:
                    shapes.setdefault(key, set()).add(inner.raw_get(key).idnum)
            else:
                shapes.setdefault(name, set()).add(forms.raw_get(name).idnum)
    assert painted > len(studies) > len(staves) > 0
    assert all(len(numbers) == 1 for numbers in (*staves.values(), *shapes.values()))
