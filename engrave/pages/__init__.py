"""Templates and plates to PDF. The only room that knows jinja2 and weasyprint, loaded when a page is printed."""

from engrave.pages.attachments import read_attachments
from engrave.pages.book import press
from engrave.pages.content import Attachment, BookContent, Sheet
from engrave.pages.day_strips import ladder_room
from engrave.pages.handout_pages import HANDOUT_STAFF, HANDOUT_STAVES, HandoutHeights, handout_heights, press_handout
from engrave.pages.images import Impression, impression
from engrave.pages.imposition import booklet, labels_of, page_alone
from engrave.pages.layout import LADDER
from engrave.pages.paper import MOST_SYSTEMS, fits_page, music_width, pages_for, staves_for
from engrave.pages.rasters import music_picture, page_pictures
from engrave.pages.roll import press_class

__all__ = [
    "HANDOUT_STAFF",
    "HANDOUT_STAVES",
    "LADDER",
    "MOST_SYSTEMS",
    "Attachment",
    "BookContent",
    "HandoutHeights",
    "Impression",
    "Sheet",
    "booklet",
    "fits_page",
    "handout_heights",
    "impression",
    "labels_of",
    "ladder_room",
    "music_picture",
    "music_width",
    "page_alone",
    "page_pictures",
    "pages_for",
    "press",
    "press_class",
    "press_handout",
    "read_attachments",
    "staves_for",
]
