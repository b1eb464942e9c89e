"""Templates and plates to PDF. The only room that knows jinja2 and weasyprint, loaded when a page is printed."""

from engrave.pages.attachments import read_attachments
from engrave.pages.book import press
from engrave.pages.content import Attachment, BookContent, Sheet
from engrave.pages.handout import HANDOUT_STAFF, handout_heights, press_handout
from engrave.pages.images import Impression, impression
from engrave.pages.paper import music_width, staff_for
from engrave.pages.roll import press_class

__all__ = [
    "HANDOUT_STAFF",
    "Attachment",
    "BookContent",
    "Impression",
    "Sheet",
    "handout_heights",
    "impression",
    "music_width",
    "press",
    "press_class",
    "press_handout",
    "read_attachments",
    "staff_for",
]
