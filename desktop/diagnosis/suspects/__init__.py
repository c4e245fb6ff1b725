"""Which meter lies: a book of evidence, the verdict, and what to do about it."""

from desktop.diagnosis.suspects.book import Snapshot, SuspectBook
from desktop.diagnosis.suspects.correction import column_rules, correctable, corrected
from desktop.diagnosis.suspects.evidence import Evidence, evidence
from desktop.diagnosis.suspects.findings import suspect_findings
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.diagnosis.suspects.verdict import find_suspects

__all__ = [
    "Evidence",
    "Snapshot",
    "Suspect",
    "SuspectBook",
    "column_rules",
    "correctable",
    "corrected",
    "evidence",
    "find_suspects",
    "suspect_findings",
]
