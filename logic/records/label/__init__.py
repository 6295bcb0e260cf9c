"""The label on the unit: a commissioning in one code."""
