"""Why a run gives no calibration: a name that the pages have words for, and the figures in them."""


class Unfit(Exception):
    """A run that is refused. `why` is the reason's name, the same every time; `figures` go into its sentence."""

    def __init__(self, why: str, **figures: float) -> None:
        super().__init__(why)
        self.why = why
        self.figures = figures
