"""What fills in an answer: options, why, goals, plans, running cost, what is taken and asked."""
