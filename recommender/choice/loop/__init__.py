"""Carriers on a loop: places, lap, wear, power, takt, and what its sections draw."""
