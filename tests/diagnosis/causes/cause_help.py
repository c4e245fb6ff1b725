"""Recordings brought to the chains of their findings."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np

from desktop.diagnosis.causes.book import CauseBook, CauseEvidence
from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.causes.judging import chains_of
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.findings import Diagnosis
from desktop.flow.learned import learn
from desktop.flow.minutes import Minutes
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND
DEMOS = Path(__file__).parents[3] / "recordings" / "demo"


def demo(name: str) -> tuple[Recording, Site]:
    site = Site.load(DEMOS / f"{name}.toml")
    return read_table(DEMOS / f"{name}.csv", timezone=site.site.timezone), site


def only(recording: Recording, keep, every: int = 1, first: int = 0) -> Recording:
    """Every nth row of the channels that `keep` says."""
    rows = slice(first, None, every)
    columns = {name: recording.column(name)[rows] for name in recording.channels if keep(name)}
    return Recording.from_columns(recording.time[rows].copy(), columns)


def evidence_of(recording: Recording, site: Site, cuts: tuple[int, ...] = ()) -> CauseEvidence:
    learned = learn(recording, site)
    worker, book = Worker(learned, site), CauseBook(learned, site)
    for start, stop in pairwise((0, *sorted(set(cuts)), len(recording))):
        book.extend(worker.work(recording, start, stop))
    return book.evidence()


def found(recording: Recording, site: Site) -> tuple[tuple[Finding, ...], tuple[Chain, ...], CauseEvidence]:
    learned = learn(recording, site)
    diagnosis = Diagnosis(learned, site)
    diagnosis.extend(Worker(learned, site).work(recording, 0, len(recording)))
    evidence = evidence_of(recording, site)
    findings = diagnosis.findings()
    return findings, chains_of(findings, evidence, Minutes(), ()), evidence


def chain(kind: str, recording: Recording, site: Site) -> Chain:
    """The first chain of a kind of finding."""
    _, chains, _ = found(recording, site)
    return next(one for one in chains if one.finding == kind)


def load_of(pieces: list[tuple[int, float]], seed: int = 0, noise: float = 5.0) -> np.ndarray:
    """Load made of (rows, W)."""
    flat = np.concatenate([np.full(rows, watts) for rows, watts in pieces])
    return flat + np.random.default_rng(seed).normal(0, noise, len(flat))


def every_second(rows: int, step_s: float = 1.0) -> np.ndarray:
    return START + np.round(np.arange(rows) * step_s * SECOND).astype(np.int64)
