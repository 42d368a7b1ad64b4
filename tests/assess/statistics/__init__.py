"""Tests of what the marks of a class say, and how surely."""
