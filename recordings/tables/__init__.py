"""Recordings as text files: reading tables of unknown make, writing our own.

How a table is read: `text` makes UTF-8 blocks of whole lines of whatever the file is; `layout` finds delimiter,
header and unit row in the first of them; `headings`, `words` and `units` say what each header means, `places`
of which place it speaks; `inputs` tells what feeds an AC input, generator or grid; `guesses` and `choice` settle
which column becomes which channel, and `unclear` names those that should have become one; `blocks`, `numbers` and
`stamps` turn cells into columns, `passes` all of them; `dates`, `zones` and `order` settle what only the whole
column of times can settle. `reader` does it all.
"""

from recordings.tables.inspection import ColumnGuess, TableInspection, inspect_table
from recordings.tables.reader import read_table
from recordings.tables.rules import ColumnRule
from recordings.tables.writer import TableWriter, write_csv

__all__ = [
    "ColumnGuess",
    "ColumnRule",
    "TableInspection",
    "TableWriter",
    "inspect_table",
    "read_table",
    "write_csv",
]
