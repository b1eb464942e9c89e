"""A book folded from a pile of sheets: two of its pages on each side, turned over on the short edge.

The pages are made smaller to fit half a sheet: A4 by 0.71, so that a staff of 7.2 mm has 5.1; a plan's `staff` makes
up for it.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pypdf import PdfReader, PdfWriter


def booklet(pdf: bytes) -> bytes:
    """The pages of `pdf`, all of one size, two to a side of the same paper laid across, in the order of folding.

    What the book carries inside comes along.
    """
    from pypdf import PdfReader, PdfWriter, Transformation  # noqa: PLC0415 (loaded only where it is asked for)

    reader, writer = PdfReader(BytesIO(pdf)), PdfWriter()
    wide, high = (float(size) for size in reader.pages[0].mediabox[2:])
    scale = min(high / 2 / wide, wide / high)
    left, bottom = (high / 2 - scale * wide) / 2, (wide - scale * high) / 2
    for pair in folded(len(reader.pages)):
        sheet = writer.add_blank_page(high, wide)
        for half, index in enumerate(pair):
            if index is not None:
                move = Transformation().scale(scale).translate(left + half * high / 2, bottom)
                sheet.merge_transformed_page(reader.pages[index], move)
    for name, contents in reader.attachments.items():
        for content in contents:
            writer.add_attachment(name, content)
    writer.compress_identical_objects()
    return _written(writer, reader)


def _written(writer: PdfWriter, like: PdfReader) -> bytes:
    """A new PDF that says of itself what another does."""
    if like.metadata:
        writer.add_metadata({key: str(value) for key, value in like.metadata.items()})
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def folded(pages: int) -> list[tuple[int | None, int | None]]:
    """For each side of the pile, from the outermost sheet in, the pages on its left and right; None is blank."""
    whole = -(-pages // 4) * 4
    sides: list[tuple[int, int]] = []
    for at in range(0, whole // 2, 2):
        sides += [(whole - 1 - at, at), (at + 1, whole - 2 - at)]
    return [(left if left < pages else None, right if right < pages else None) for left, right in sides]


def page_alone(pdf: bytes, label: str) -> bytes | None:
    """The page of `pdf` that is numbered `label`, as a PDF that carries nothing inside; None where there is none."""
    from pypdf import PdfReader, PdfWriter  # noqa: PLC0415 (as above)

    reader, writer = PdfReader(BytesIO(pdf)), PdfWriter()
    labels = [name.casefold() for name in reader.page_labels]
    if label.casefold() not in labels:
        return None
    writer.add_page(reader.pages[labels.index(label.casefold())])
    page = writer.pages[0]
    if "/Annots" in page:  # its links lead to pages that are not here
        del page["/Annots"]
    return _written(writer, reader)


def labels_of(pdf: bytes) -> list[str]:
    """The numbers of the pages of `pdf`, as printed."""
    from pypdf import PdfReader  # noqa: PLC0415 (as above)

    return list(PdfReader(BytesIO(pdf)).page_labels)
