"""The course as a site that needs no installation: Python runs in the learner's own browser.

Standard library only, as all of this room; what builds the site runs as a program in an
environment of its own.
"""
