"""A permit's calibration jobs from its entries: each axis with its readings, corrections and results."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from permits.calibration.rules.facts import Fact
from permits.records.entries import UNREADABLE, Told
from permits.records.telling.calibration import certificate, features, off_by, outcome, overdue, size
from permits.records.telling.line import Voice


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One reading on one test piece; `stage`: "as found", or "as left, after change 2". `note`: what else is
    to be said of it, such as that it was struck out."""

    number: int
    stage: str
    nominal: str
    measured: str
    deviation: str
    person: str
    at: datetime
    entry: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class PreCheckRow:
    """First pieces measured before an axis was opened: the features, and which axis they point to."""

    features: tuple[str, ...]
    outcome: str
    grounds: str
    person: str
    at: datetime
    entry: int


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A changed parameter: `verdict` is what the readings said, `override` why it was changed anyway."""

    parameter: str
    old: str
    new: str
    verdict: str
    grounds: str
    override: str
    person: str
    at: datetime
    entry: int
    goes_back: bool = False


@dataclass(frozen=True, slots=True)
class ResultRow:
    """An as-left check, or how the work on the axis ended."""

    what: str
    decision: str
    grounds: str
    worse: bool
    person: str
    at: datetime
    entry: int


@dataclass(slots=True)
class AxisAccount:
    name: str
    tolerance: str
    instrument: str
    certificate: str
    pieces: list[PieceRow] = field(default_factory=list)
    changes: list[ChangeRow] = field(default_factory=list)
    results: list[ResultRow] = field(default_factory=list)
    end: str = "open"


@dataclass(slots=True)
class JobAccount:
    number: int
    machine: str
    settings_before: str
    reference_board: str
    test_piece: str
    person: str
    at: datetime
    entry: int
    settings_after: str = ""
    pre_checks: list[PreCheckRow] = field(default_factory=list)
    axes: list[AxisAccount] = field(default_factory=list)


def jobs_in(told: Iterable[Told], voice: Voice) -> list[JobAccount]:
    """The jobs in order. An entry that can't be read is passed over: the story shows it as it stands."""
    jobs: dict[int, JobAccount] = {}
    open_axes: dict[tuple[int, str], AxisAccount] = {}
    for one in told:
        try:
            add(jobs, open_axes, one, voice)
        except UNREADABLE:
            continue
    return list(jobs.values())


def add(
    jobs: dict[int, JobAccount], axes: dict[tuple[int, str], AxisAccount], told: Told, voice: Voice
) -> None:
    data, person = told.data, voice.names.author(told.by)
    match told.kind:
        case Fact.JOB_DESCRIBED:
            jobs[data["job"]] = JobAccount(
                data["job"], voice.names.machine(data["machine"]), data["settings_before"],
                data["reference_board"], data["test_piece"], person, told.at, told.number,
            )  # fmt: skip
        case Fact.SETTINGS_SAVED:
            jobs[data["job"]].settings_after = data["settings_after"]
        case Fact.AXIS_OPENED:
            axis = AxisAccount(
                data["name"], f"±{size(data['tolerance'])}", voice.names.instrument(data["instrument"]),
                certificate(data),
            )  # fmt: skip
            axes[data["job"], data["axis"]] = axis
            jobs[data["job"]].axes.append(axis)
        case Fact.PIECE_READ:
            axis = axes[data["job"], data["axis"]]
            after = f", after change {len(axis.changes)}" if axis.changes else ""
            axis.pieces.append(
                PieceRow(
                    data["piece"], f"{data['stage']}{after}", size(data["nominal"]), size(data["measured"]),
                    off_by(data["measured"], data["nominal"]), person, told.at, told.number, overdue(data),
                )
            )  # fmt: skip
        case Fact.PIECE_STRUCK:
            strike(axes[data["job"], data["axis"]].pieces, data["piece"], f"STRUCK OUT: {data['why']}", told)
        case Fact.PRE_CHECKED:
            *measured, grounds = features(data)
            jobs[data["job"]].pre_checks.append(
                PreCheckRow(
                    tuple(measured), outcome(data, voice.names), grounds, person, told.at, told.number
                )
            )
        case Fact.CORRECTION_ENTERED:
            axes[data["job"], data["axis"]].changes.append(
                ChangeRow(
                    data["parameter"], size(data["old"]), size(data["new"]), data["decision"],
                    data["grounds"], data["override"], person, told.at, told.number, bool(data.get("back")),
                )
            )  # fmt: skip
        case Fact.RESULT_JUDGED:
            axes[data["job"], data["axis"]].results.append(
                ResultRow(
                    f"as-left check owed since {data['owed']}, as found"
                    if data.get("owed")
                    else "as-left check",
                    data["decision"],
                    data["grounds"],
                    data["worse"],
                    person,
                    told.at,
                    told.number,
                )
            )
        case Fact.AXIS_ENDED:
            axis = axes[data["job"], data["axis"]]
            axis.end = data["state"]
            what = f"{data['state']}, {data['stage']}"
            axis.results.append(
                ResultRow(what, data["decision"], data["grounds"], False, person, told.at, told.number)
            )


def strike(pieces: list[PieceRow], number: int, words: str, told: Told) -> None:
    """Mark the piece with this number as struck out, by which entry and why."""
    for place, piece in enumerate(pieces):
        if piece.number == number:
            note = f"{words} (entry {told.number})"
            pieces[place] = replace(piece, note="; ".join(filter(None, (piece.note, note))))
