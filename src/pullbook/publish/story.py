"""Story: what a session says, in sentences; the terminal and the page print the same ones."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Paragraph", "Section", "Story", "Tone"]


class Tone(StrEnum):
    """How a paragraph is meant."""

    PLAIN = "plain"
    DECIDED = "decided"
    OPEN = "open"  # not decided, or cannot be answered
    WARNING = "warning"  # look at this before relying on the rest


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """One or more sentences that belong together.

    Attributes
    ----------
    text : str
        Plain text.
    about : str
        What it is about: a pair as "B-A", a claim, a pull; empty for the session.
    tone : Tone
        How it is meant.
    """

    text: str
    about: str = ""
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Paragraphs under one heading.

    Attributes
    ----------
    key : str
        Stable name, as in "findings".
    title : str
        The heading.
    paragraphs : tuple of Paragraph
        In reading order.
    """

    key: str
    title: str
    paragraphs: tuple[Paragraph, ...]

    def about(self, subject: str) -> tuple[Paragraph, ...]:
        """Paragraphs about one subject."""
        return tuple(paragraph for paragraph in self.paragraphs if paragraph.about == subject)


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Everything that a session says.

    Attributes
    ----------
    headlines : tuple of str
        The session in one to three sentences, the most important one first.
    deck : str
        What stands under it: how much was run, how many claims were decided.
    sections : tuple of Section
        In reading order; a section without anything to say is absent.
    """

    headlines: tuple[str, ...]
    deck: str
    sections: tuple[Section, ...]

    @property
    def headline(self) -> str:
        """The session in one to three sentences, as one text."""
        return " ".join(self.headlines)

    def section(self, key: str) -> Section:
        """Section by its key; an empty one where the session has nothing to say about it."""
        found = next((section for section in self.sections if section.key == key), None)
        return found or Section(key=key, title="", paragraphs=())
