"""When does the search stop?

Work is counted in units of about a million table additions (roughly a
millisecond), never in seconds, so that the same limit gives the same plan on
every machine. A limit in seconds can be set on top for benchmarks; a result cut
short by it need not repeat. A callback may cancel.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from enclosure.nesting.model import SheetPlan

BEAT = 100.0


@dataclass(slots=True)
class Budget:
    """Work spent and allowed.

    Args:
        limit: Work units allowed.
        seconds: Processor seconds allowed on top, or None.
        progress: Called with each better plan or bound, and again every `BEAT` units so that a
            long search can be cancelled between them; returns False to cancel.
    """

    limit: float
    seconds: float | None = None
    progress: Callable[[SheetPlan], bool] | None = None
    spent: float = 0.0
    cancelled: bool = False
    started: float = field(default_factory=time.process_time)
    last: SheetPlan | None = None
    told: float = 0.0

    def spend(self, units: float) -> None:
        """Count work; report the best plan again when that was long ago."""
        self.spent += units
        if self.last is not None and not self.cancelled and self.spent - self.told >= BEAT:
            self.tell(self.last)

    def over(self, share: float = 1.0) -> bool:
        """Return True when `share` of the work, or the time, is used up."""
        if self.cancelled or self.spent >= self.limit * share:
            return True
        return self.seconds is not None and time.process_time() - self.started >= self.seconds * min(1.0, share)

    def used(self) -> float:
        """Return the share of the work, or of the time, that is used up."""
        share = self.spent / self.limit
        if self.seconds is not None:
            share = max(share, (time.process_time() - self.started) / self.seconds)
        return share

    def tell(self, plan: SheetPlan) -> None:
        """Report a plan; remember when the caller wants no more."""
        self.last, self.told = plan, self.spent
        if self.progress is not None and not self.progress(plan):
            self.cancelled = True

    def left(self) -> float | None:
        """Return the processor seconds left, None when they are not limited."""
        if self.seconds is None:
            return None
        return max(0.0, self.seconds - (time.process_time() - self.started))
