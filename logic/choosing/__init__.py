"""Advice before the sale: which charger, battery, cable and fuses, and how a week comes out."""
