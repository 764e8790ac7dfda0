"""Printers and controllers to try things on: what they truly are, and how they speak of it.

Imports nothing of the rooms that it judges, so that an error there cannot cancel out here.
"""
