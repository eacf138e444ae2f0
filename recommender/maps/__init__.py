"""Which variant is cheapest over two inputs of a case, and where none works."""
