"""Tools and tests for the notebooks of the course."""
