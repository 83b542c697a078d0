"""The design as a circuit: network, parts, two linear solutions, behaviours to a fixed point, situations."""
