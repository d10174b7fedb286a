"""The version of the program."""

VERSION = "0.3.0"
