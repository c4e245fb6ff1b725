"""Several recordings of one site, joined in time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from recordings.provenance import ColumnReading, Provenance, Repairs
from recordings.recording import Recording


def joined(recordings: Sequence[Recording]) -> Recording:
    """One recording with the rows of all, in order of time.

    Where several have a row at the same instant, each channel has the reading of the first that gives one.
    """
    stamps = np.unique(np.concatenate([each.time for each in recordings]))
    columns: dict[str, np.ndarray] = {}
    for each in recordings:
        rows = np.searchsorted(stamps, each.time)
        for name in each.channels:
            column = columns.setdefault(name, np.full(len(stamps), np.nan, np.float32))
            column[rows] = np.where(np.isnan(column[rows]), each.column(name), column[rows])
    return Recording.from_columns(stamps, columns, _provenance(recordings, len(stamps)))


def _provenance(recordings: Sequence[Recording], rows: int) -> Provenance:
    told = [each.provenance for each in recordings]
    repairs = Repairs(
        duplicates=sum(each.repairs.duplicates for each in told) + sum(map(len, recordings)) - rows,
        out_of_order=sum(each.repairs.out_of_order for each in told),
        bad_cells=sum(each.repairs.bad_cells for each in told),
        bad_rows=sum(each.repairs.bad_rows for each in told),
        notes=[f"{each.name}: {note}" for each in told for note in each.repairs.notes],
        clock_jumps=[jump for each in told for jump in each.repairs.clock_jumps],
    )
    columns: dict[str, ColumnReading] = {}
    for each in told:
        columns = {**each.columns, **columns}
    return Provenance(
        name=" + ".join(each.name for each in told),
        path=told[0].path,
        columns=columns,
        ignored=list(dict.fromkeys(name for each in told for name in each.ignored)),
        repairs=repairs,
        unclear=list(dict.fromkeys(name for each in told for name in each.unclear)),
        timezone=next((each.timezone for each in told if each.timezone), ""),
    )
