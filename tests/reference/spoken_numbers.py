"""Prints `figures<tab>words` lines from num2words, for tests/numbers.rs.

num2words is a reference only; README here says how it is installed.
"""
from decimal import Decimal

from num2words import num2words

for whole in range(10000):
    print(f"{whole}\t{num2words(whole)}")
for hundredths in range(0, 100000, 37):
    # num2words says digits one by one after the point, and drops zeros at the end.
    figures = str(Decimal(hundredths) / 100)
    print(f"{figures}\t{num2words(Decimal(figures))}")
for whole in range(10000, 1000000, 7919):
    print(f"{-whole}\t{num2words(-whole)}")
