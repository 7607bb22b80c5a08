"""A clock for tests of the store."""


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now_ms = 1_800_000_000_000

    def __call__(self) -> int:
        return self.now_ms

    def forward(self, seconds: float) -> None:
        self.now_ms += round(1000 * seconds)
