"""A group of commands whose every end is one line, and whose commands are loaded when they are asked for."""

from __future__ import annotations

import gc
import importlib
import signal
import sys
from collections.abc import Mapping
from typing import Any

import click

from engrave.cli.stopping import Stopped, give_way, heard, stoppable, stopped_by
from engrave.model import EngraveError, Fault


class OneLine(click.Group):
    """A group of commands whose every error is one line: ours, and those of wrong words on the command line.

    Args:
        offered: name of a command → the module it stands in, and what the list of commands says of it. A module is
            loaded when one of its commands is asked for, which is a fifth of the time that `--help` takes.
        others: what a group of click's takes.
    """

    def __init__(self, *, offered: Mapping[str, tuple[str, str]], **others: Any) -> None:
        super().__init__(**others)
        self.offered = offered

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (the signature is click's)
        """Names of the commands, as they are listed."""
        return list(self.offered)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 (as above)
        """The command of that name."""
        if cmd_name not in self.offered:
            return None
        found: click.Command = getattr(importlib.import_module(self.offered[cmd_name][0]), cmd_name)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 (as above)
        """Write the list of commands."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, says) for name, (_, says) in self.offered.items()])

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line `args`; exits 0, 2 for wrong input, 128 and the signal's number when stopped."""
        extra |= {"standalone_mode": False, "prog_name": "engrave"}
        # a book makes many values, and hardly any in rings: up to a tenth of its time went into looking for those
        gc.disable()
        with stoppable():
            self._answered(*args, **extra)

    def _answered(self, *args: Any, **extra: Any) -> None:
        try:
            with heard():
                code = self._invoked(*args, **extra)
        except EngraveError as error:
            _fail(str(error))
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message(), err=True)
            sys.exit(2)
        except click.UsageError as error:
            from engrave.cli.wrong_words import led_on

            path = error.ctx.command_path if error.ctx else "engrave"
            _fail(f"{led_on(error, self).replace(chr(10), ' ')} (see {path} --help)")
        except click.ClickException as error:
            _fail(error.format_message().replace("\n", " "))
        except (click.Abort, KeyboardInterrupt, Stopped):
            number = stopped_by()
            what = "interrupted" if number == signal.SIGINT else "stopped"
            if sys.stderr and sys.stderr.isatty():
                click.echo(err=True)  # a terminal shows ^C, or the progress, on this line
            click.echo(f"engrave: {what}; nothing was written", err=True)
            sys.exit(128 + number)
        except OSError as problem:
            from engrave.cli import files

            if problem.errno not in files.MACHINE:
                raise
            _fail(str(files.refused(problem)))
        except MemoryError:
            _fail(str(Fault(fact="there is not enough memory for this", hint="choose fewer bars with --bars")))
        sys.exit(code if isinstance(code, int) else 0)

    def _invoked(self, *args: Any, **extra: Any) -> Any:
        try:
            return super().main(*args, **extra)
        except Exception:
            give_way()  # a stop inside a library's own import or callback may come back as any error at all
            raise


def _fail(lines: str) -> None:
    for line in lines.splitlines():
        click.echo(f"engrave: {line}", err=True)
    sys.exit(2)
