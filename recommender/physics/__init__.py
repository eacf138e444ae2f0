"""Pure functions of the engineering: arrays in, arrays out, SI units, no models, no I/O."""
