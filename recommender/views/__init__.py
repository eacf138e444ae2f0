"""Ways to print an answer; they read `recommender.result` alone."""
