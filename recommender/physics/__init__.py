"""Pure functions of the engineering: numpy arrays in, numpy arrays out, SI units, no models, no I/O."""
