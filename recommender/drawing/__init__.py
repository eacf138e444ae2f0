"""The loop drawn to scale: one model in metres, written as SVG, DXF and PNG."""
