"""That nothing is cheaper, wherever stations stand: bounds, and what refutes the rest."""
