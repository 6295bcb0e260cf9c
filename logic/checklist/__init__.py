"""Checklists as data: their form, their conditions, and a run through one."""
