"""How often an address gave a wrong key lately, in a bounded memory."""

from __future__ import annotations

from collections import OrderedDict, deque

__all__ = ["Tries"]


class Tries:
    """Counts wrong keys by address: after `most` within `seconds` an address has to wait.

    At most `addresses` are remembered, the one heard of longest ago is dropped first.
    """

    def __init__(self, most: int = 10, seconds: float = 300.0, addresses: int = 256) -> None:
        self.most, self.seconds, self.addresses = most, seconds, addresses
        self._wrong: OrderedDict[str, deque[float]] = OrderedDict()

    def must_wait(self, address: str, now: float) -> bool:
        """Say whether this address gave too many wrong keys."""
        times = self._wrong.get(address)
        return times is not None and sum(now - t < self.seconds for t in times) >= self.most

    def wrong(self, address: str, now: float) -> None:
        """Remember a wrong key."""
        self._wrong.setdefault(address, deque(maxlen=self.most)).append(now)
        self._wrong.move_to_end(address)
        while len(self._wrong) > self.addresses:
            self._wrong.popitem(last=False)

    def right(self, address: str) -> None:
        """Forget what this address did wrong."""
        self._wrong.pop(address, None)
