"""The commands. The only room that prints, opens the user's files or reads the clock.

Rules: an EngraveError is one line on standard error for each fault and exit 2; anything else is our bug and keeps its
traceback (exit 1). Heavy rooms are imported inside the commands, and commands when they are asked for, so that `--help`
is quick.
"""

from __future__ import annotations

import click

from engrave.cli.one_line import OneLine

__all__ = ["COMMANDS", "main"]

_PRINTING, _OTHERS = "engrave.cli.printing_commands", "engrave.cli.other_commands"
COMMANDS = {
    "book": (_PRINTING, "Print the study book of a passage, or again from its own PDF."),
    "handout": (_PRINTING, "Print one or two pages of chosen studies for a student."),
    "week": (_PRINTING, "Print a week of practice: its days, and the studies they need."),
    "reissue": (_PRINTING, "Print what a book trains for another passage."),
    "plan": (_OTHERS, "Write a plan, finished or to be filled in."),
    "log": (_OTHERS, "Write an empty log of practice for a book."),
    "studies": (_OTHERS, "List all ways of practising, or those that suit a passage."),
    "survey": (_OTHERS, "Compare the best fingerings of a passage."),
    "export": (_OTHERS, "Write the variations as MusicXML, MIDI or pictures."),
}
"""name of a command → the module it stands in, and what the list of commands says of it"""


@click.group(
    cls=OneLine,
    offered=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(package_name="passage-studies", prog_name="engrave")
def main() -> None:
    """Turn one passage of guitar music into a printed book of practice.

    A passage is MusicXML (.musicxml, .xml, .mxl), MEI (.mei), Humdrum kern (.krn), MIDI (.mid), ABC (.abc) or text
    tablature (.tab, .txt); - reads standard input. With no passage, the built-in line is used.
    """
