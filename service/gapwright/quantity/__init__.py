"""Quantities at the edge: text with a unit comes in, numbers with a unit and text go out.

Inside the service a length is an integer count of nanometers, so that every inch fraction and
every metric length is exact. `units` names the units, `parse` reads text, `kinds` bounds what a
field may hold, `show` writes answers.
"""
