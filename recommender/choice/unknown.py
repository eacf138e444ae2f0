"""What a model says that ran out of time."""


class Unknown(Exception):  # noqa: N818 - an outcome beside yes and no, not a fault
    """The time limit came before anything was found or refuted."""
