"""What to write into a file after a probe: entries of a site sheet, or a register map to start from."""

from __future__ import annotations

import json
from collections.abc import Sequence

from drivers.probe.report import ProbedValue
from drivers.roles import Role
from drivers.sunspec.roles import RoleGuess

_MOST_ENTRIES = 40


def device_entry(source: str, role: Role | None, guess: RoleGuess | None = None) -> str:
    """An entry for the site sheet; a role that is a guess says so."""
    lines = ["[[device]]", f"source = {json.dumps(source, ensure_ascii=False)}"]
    if role is None and guess is not None:
        lines.append(f'# role = "generator", "grid" or "load": {guess.why}')
    elif guess is not None and role == guess.role:
        lines.append(f'role = "{role}"    # guessed: {guess.why}')
    elif role is not None:
        lines.append(f'role = "{role}"')
    return "\n".join(lines) + "\n"


def map_to_start_from(values: Sequence[ProbedValue], unit: int, most: int) -> str:
    """A register map whose entries are comments: which channel each register is, only a person can tell."""
    lines = [
        "# Take the # away from the entries that you know, name their channels, and look again with &map=THIS.",
        "[device]",
        f"unit = {unit}",
        f"max_registers = {most}",
        "",
    ]
    for value in values[:_MOST_ENTRIES]:
        lines += [
            f"# [[read]]    # {value.raw} = {value.value:.0f}" + (f"; {value.hint}" if value.hint else ""),
            '# channel = ""',
            f"# address = {value.address}",
        ]
        if value.table == "input":
            lines.append('# table = "input"')
    if len(values) > _MOST_ENTRIES:
        lines.append(f"# and {len(values) - _MOST_ENTRIES} more registers that are not 0")
    return "\n".join(lines) + "\n"
