"""The `ringside` command, a file for each group of commands.

What may not enter: a rule of the trade or of the book. Here is what is typed and what is printed.
"""

from ringside.cli.command import main

__all__ = ["main"]
