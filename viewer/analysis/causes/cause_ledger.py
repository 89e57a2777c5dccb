"""The book of causes: how strongly each is indicated, what for, what against and what it costs."""

from viewer.analysis.causes.cause_words import NEXT_CHECKS
from viewer.analysis.results.trace_result import CandidateCause

SUREST = 0.97
"""No signature alone makes a cause surer."""
LEAST_LIKELIHOOD = 0.02
LIKELY = 0.3
"""Causes at least so likely are ranked by what they cost: each may be there beside the others."""


class Ledger:
    """Collects, for each cause, how strongly it is indicated, what for and what against.

    The loss that goes with a share, W, is what the curve lacks for the signature; of a wrong
    reading what it makes the string seem to lack or to yield. All of it counts for a cause that
    is likely behind the signature, for else two likely ones would halve what both explain.
    """

    def __init__(self) -> None:
        self.doubt: dict[str, float] = {}
        self.loss: dict[str, float] = {}
        self.evidence: dict[str, list[str]] = {}
        self.against: dict[str, list[str]] = {}

    def add(self, cause: str, share: float, why: str, loss: float = 0.0) -> None:
        """`share` (0..1) of a signature for a cause; what is indicated twice gains from each."""
        if share <= 0.0:
            return
        self.doubt[cause] = self.doubt.get(cause, 1.0) * (1.0 - min(share, SUREST))
        self.loss[cause] = self.loss.get(cause, 0.0) + (loss if share >= LIKELY else share * loss)
        self._note(self.evidence, cause, why)

    def oppose(self, cause: str, why: str) -> None:
        """What speaks against a cause, in words."""
        self._note(self.against, cause, why)

    @staticmethod
    def _note(book: dict[str, list[str]], cause: str, why: str) -> None:
        texts = book.setdefault(cause, [])
        if why and why not in texts:
            texts.append(why)

    def ranked(self) -> tuple[CandidateCause, ...]:
        """The causes that are not all too unlikely, in their order."""
        return tuple(
            CandidateCause(
                cause=cause,
                likelihood=round(1.0 - self.doubt[cause], 3),
                evidence=" ".join(self.evidence[cause]),
                next_check=NEXT_CHECKS[cause],
                against=" ".join(self.against.get(cause, [])),
            )
            for cause in sorted(self.doubt, key=self._place)
            if 1.0 - self.doubt[cause] >= LEAST_LIKELIHOOD
        )

    def _place(self, cause: str) -> tuple[bool, float, float]:
        """Likely ones first, by what they cost; then the others, by how likely they are."""
        doubt, loss = round(self.doubt[cause], 2), self.loss[cause]
        likely = 1.0 - doubt >= LIKELY
        return not likely, -loss if likely else doubt, doubt if likely else -loss
