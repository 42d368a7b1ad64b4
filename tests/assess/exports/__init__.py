"""Tests of what goes to other programs."""
