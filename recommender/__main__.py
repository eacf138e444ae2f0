"""``python -m recommender``."""

from recommender.cli import run

run()
