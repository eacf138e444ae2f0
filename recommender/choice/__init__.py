"""From a case and a catalogue to the cheapest configuration that passes every check."""
