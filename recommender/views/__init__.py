"""Ways to print an answer; they read `recommender.results.answer` alone."""
