"""What feeds a loop: its sections in a ring, what runs of them draw, supplies and feeds."""
