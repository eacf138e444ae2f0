"""Ways to print an answer; they read `recommender.answer` alone."""
