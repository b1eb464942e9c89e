"""Templates and plates to PDF. The only room that knows jinja2 and weasyprint, loaded when a page is printed."""

from engrave.pages.attachments import read_attachments
from engrave.pages.book import press
from engrave.pages.content import Attachment, BookContent, Sheet
from engrave.pages.paper import music_width

__all__ = ["Attachment", "BookContent", "Sheet", "music_width", "press", "read_attachments"]
