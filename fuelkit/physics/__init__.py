"""What fuel does: density, tank geometry, pipes and pumps. Pure functions of numbers.

This room knows no aircraft. Everything is in SI units (kg, m³, K, Pa, s) unless a name says
otherwise.
"""
