"""Whether the findings are as often right as they say: likelihoods, and ranges of numbers."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.benchmarks.findings_of_folder import share
from viewer.analysis.results.trace_result import TraceResult

TENTHS = 10


@dataclass(frozen=True)
class Known:
    """What is true of a string; the numbers of bypass groups are None where none are to count."""

    causes: Sequence[str]
    limited: int | None
    lost: int | None


def print_certainty(strings: Iterable[tuple[Known, TraceResult]]) -> None:
    """Likelihoods by tenths with how many causes were true, then the ranges of numbers."""
    rows = list(strings)
    by_tenth: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for known, result in rows:
        for one in result.candidate_causes:
            tenth = min(int(one.likelihood * TENTHS), TENTHS - 1)
            by_tenth[tenth].append((one.likelihood, one.cause in known.causes))
    print("causes told with a likelihood of   mean   were true")
    for tenth, told in sorted(by_tenth.items()):
        mean = sum(likelihood for likelihood, _ in told) / len(told)
        low = tenth / TENTHS
        print(
            f"  {low:.1f} to {low + 1 / TENTHS:.1f}{'':22s}{mean:.2f}   {share(t for _, t in told)}"
        )
    for kind, word in (("step", "limited"), ("low_voltage", "lost")):
        found = [one for known, result in rows if (one := _range(known, result, kind))]
        alone = [true == fewest for true, fewest, most in found if fewest == most]
        held = [fewest <= true <= most for true, fewest, most in found]
        print(f"number of {word} groups in the range told: {share(held)}")
        print(f"  where it was told without a range, right: {share(alone)}")


def _range(known: Known, result: TraceResult, kind: str) -> tuple[int, int, int] | None:
    """True, fewest and most groups, where there are some and some are told."""
    true = known.limited if kind == "step" else known.lost
    told = [s.details for s in result.signatures if s.kind == kind and s.details["bypass_groups"]]
    if not true or not told:
        return None
    fewest = sum(int(details["bypass_groups_fewest"]) for details in told)
    most = sum(int(details["bypass_groups_most"]) for details in told)
    return true, fewest, most
