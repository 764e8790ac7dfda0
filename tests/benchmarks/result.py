"""One measured figure, and the table of all."""

from __future__ import annotations

import json
import platform
import statistics
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path

_PARTS = (
    "paho-mqtt",
    "aiohttp",
    "pydantic",
    "structlog",
    "ruamel.yaml",
    "jsonpath-rfc9535",
    "z3-solver",
    "datalogic-py",
    "zen-engine",
    "rule-engine",
    "simpleeval",
)


@dataclass(frozen=True, slots=True)
class Result:
    """``ratio`` is ours over ``against``; ``spread`` is least to most over the repeats.

    ``goal`` is the most that the ratio (or, without a peer, the value) may be.
    """

    name: str
    value: float
    unit: str
    against: str
    ratio: float | None
    spread: tuple[float, float]
    goal: float
    #: Where more is better, the goal is a least.
    goal_is_least: bool = False

    @property
    def met(self) -> bool:
        """Whether the goal is reached."""
        figure = self.value if self.ratio is None else self.ratio
        return figure >= self.goal if self.goal_is_least else figure <= self.goal


def paired(
    name: str,
    unit: str,
    against: str,
    pairs: Sequence[tuple[float, float]],
    goal: float,
    *,
    goal_is_least: bool = False,
) -> Result:
    """From interleaved pairs (ours, theirs): the median of the ratios, and their spread."""
    ratios = [ours / theirs for ours, theirs in pairs]
    return Result(
        name=name,
        value=statistics.median(ours for ours, _ in pairs),
        unit=unit,
        against=against,
        ratio=statistics.median(ratios),
        spread=(min(ratios), max(ratios)),
        goal=goal,
        goal_is_least=goal_is_least,
    )


def table(results: Sequence[Result]) -> str:
    """A plain table."""
    rows = [("name", "value", "against", "ratio", "spread", "goal", "met")]
    for each in results:
        low, high = each.spread
        ratio = "" if each.ratio is None else f"{each.ratio:.3g}"
        sign = ">=" if each.goal_is_least else "<="
        rows.append(
            (
                each.name,
                f"{each.value:.4g} {each.unit}",
                each.against,
                ratio,
                f"{low:.3g}–{high:.3g}",
                f"{sign} {each.goal:g}",
                "yes" if each.met else "NO",
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )


def _row(result: Result) -> dict[str, object]:
    row: dict[str, object] = {**asdict(result), "spread": list(result.spread), "met": result.met}
    del row["goal_is_least"]
    return row


def write(path: Path, results: Sequence[Result]) -> None:
    """The results as JSON, with the machine and the versions."""
    cpus = [
        line.partition(":")[2].strip()
        for line in Path("/proc/cpuinfo").read_text("utf-8").splitlines()
        if line.startswith(("model name", "CPU part"))
    ]
    content: dict[str, object] = {
        "machine": {"cpu": cpus[0] if cpus else platform.machine(), "cores": len(cpus)},
        "versions": {"python": platform.python_version()}
        | {name: version(name) for name in _PARTS},
        "results": [_row(each) for each in results],
    }
    path.write_text(json.dumps(content, indent=2) + "\n", "utf-8")
