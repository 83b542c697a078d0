"""The command line: files in, words, tables and exit statuses out. Nothing heavy is imported until a command runs."""

from galleyproof.cli.main import main

__all__ = ["main"]
