"""gapwright: a rules engine for wire-mesh barriers round rooftop solar arrays, served over HTTP."""
