"""Exact conversion factors to SI. Conversions happen only at the edge: files, sheets, screens.

Source of every factor: NIST Special Publication 811, appendix B, and NIST Handbook 44,
appendix C. All are exact by definition but the pound-force per square inch, which follows from
the pound, the foot and gravity and is given to 13 digits.
"""

MINUTE = 60.0
HOUR = 3600.0
POUND = 0.45359237
TONNE = 1000.0
LITRE = 0.001
US_GALLON = 3.785411784e-3
IMPERIAL_GALLON = 4.54609e-3
FOOT = 0.3048
NAUTICAL_MILE = 1852.0
KILOPASCAL = 1000.0
PSI = 6894.757293168
STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity. [m/s²]"""
