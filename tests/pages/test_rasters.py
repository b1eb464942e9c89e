"""Pictures of pages and of music: what is on them, and how large they are."""

from __future__ import annotations

from io import BytesIO
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from engrave.editions import pictured
from engrave.model import PICTURES, Plan, Study
from engrave.pages import impression
from engrave.pages.rasters import DPI, music_picture, page_pictures
from engrave.plates import draw
from tests.build import passage
from tests.plates.hands import line_of


def opened(data: bytes) -> Image.Image:
    """A PNG as a picture."""
    picture = Image.open(BytesIO(data))
    assert picture.format == "PNG"
    return picture


def test_a_page_is_as_large_as_its_paper_and_shows_what_is_printed(pdf: bytes) -> None:
    """A4 at 150 dots to an inch is 1,240 by 1,754 dots, with ink on them; other pages give other pictures."""
    first, fifth = page_pictures(pdf, [0, 4])
    for data in (first, fifth):
        picture = opened(data)
        assert picture.size == pytest.approx((210 / 25.4 * DPI, 297 / 25.4 * DPI), abs=1)
        assert 0.001 < picture.histogram()[0] / (picture.width * picture.height) < 0.2
    assert first != fifth


def test_the_music_alone_keeps_its_size() -> None:
    """The picture of a plate is as large as its systems and a margin of 4 mm, and none of its ink is cut off."""
    plate = draw(line_of(passage("E4/8 F4/8 G4/8 A4/8 G4/2 | C3+E3+G3+C4/1 | E2/2 E5/2")), width=90)
    assert len(plate.systems) > 1
    picture = opened(music_picture(impression(plate)))
    size = ((90 + 8) / 25.4 * DPI, (plate.height + 8) / 25.4 * DPI)
    assert picture.size == pytest.approx(size, abs=2)
    dark = picture.point(lambda shade: 255 * (shade < 128)).getbbox()
    assert dark is not None
    assert dark[0] >= 20
    assert dark[1] >= 20
    assert dark[2] <= picture.width - 20
    assert dark[3] <= picture.height - 20


@pytest.mark.parametrize("form", PICTURES)
def test_every_variation_has_its_picture(form: str) -> None:
    """One file for each study, named by number and title, that another program can open."""
    plan = Plan(studies=(Study(pluck="m-a"), Study(accent="fretted notes")))
    files = pictured(passage("E4/8 F4/8 E4/8 G4/8 E4/8 F4/8 E4/8 G4/8"), plan, form=form)
    assert [name[:2] for name in files] == ["01", "02", "03"]
    assert all(name.endswith(f".{form}") for name in files)
    for data in files.values():
        if form == "png":
            assert opened(data).width > 500
        else:
            assert ET.fromstring(data).tag.endswith("svg")  # noqa: S314 - of our own making
    assert len(set(files.values())) == 3
