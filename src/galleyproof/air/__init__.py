"""The air side of a job: exhaust, plume, ducts, fans, balance, set-points, commissioning."""
