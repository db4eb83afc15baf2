"""A driver's, owner's and installer's tool for combination primary tillage."""

__version__ = "0.1.0"
