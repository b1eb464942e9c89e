"""What a study book is made of, ready for printing. Values only."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.model import Passage, Plan, Regimen, Step, Variation
from engrave.pages.images import Impression


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One variation as it goes to the press."""

    number: int
    """place in practice order, from 1"""
    variation: Variation
    plate: Impression
    """its music, no wider than `music_width(plan)`"""
    step: Step
    loop: Impression | None = None
    """the notes of its hardest spot by themselves, on one small system"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """A file carried inside the PDF."""

    name: str
    """file name, e.g. plan.toml"""
    data: bytes
    description: str = ""
    relationship: str = "Unspecified"
    """what it is to the book: Source, Data, Alternative or Supplement (ISO 32000-2, table 43)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BookContent:
    """Everything a study book prints."""

    passage: Passage
    line: Variation
    """the passage with both hands worked out, as the title page shows it"""
    line_plate: Impression
    sheets: tuple[Sheet, ...]
    """in practice order"""
    regimen: Regimen
    plan: Plan = Plan()
    attachments: tuple[Attachment, ...] = ()

    def __post_init__(self) -> None:
        numbers = [sheet.number for sheet in self.sheets]
        if numbers != list(range(1, len(numbers) + 1)):
            raise ValueError(f"sheets are numbered {numbers}, not 1 to {len(numbers)}")
