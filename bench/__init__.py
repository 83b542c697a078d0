"""Speed and scale figures; see run.py."""
