"""Recipes, numbering and panel contents: a job becomes a Design, and everything else is computed from it."""
